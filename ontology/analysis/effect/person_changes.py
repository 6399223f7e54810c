"""What changed about a person between a state and another: gap and standing in the role held, levels. Pure."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Annotated

from ontology.analysis.effect.between import Between
from ontology.analysis.effect.touching import Touching
from ontology.analysis.effect.why import Tell, Touched, Why
from ontology.analysis.profiles.belonging import get_person_on
from ontology.analysis.profiles.gap import GapResult, GapRow, Standing, compute_gap
from ontology.analysis.profiles.levels import build_levels
from ontology.analysis.profiles.own_levels import LevelOnDate, LevelState
from ontology.model.identity import PersonId
from ontology.snapshot.snapshot import Snapshot

__all__ = ["GapChange", "LevelChange", "PersonChanges", "StandingChange", "find_person_changes"]


@dataclass(frozen=True, slots=True)
class StandingChange:
    """The standing in the role held, then and now; null where no role is held."""

    role_before: Annotated[str | None, "The role held then; null where none is recorded."]
    role_after: Annotated[str | None, "The role held now; null where none is recorded."]
    before: Annotated[Standing | None, "The standing then."]
    after: Annotated[Standing | None, "The standing now."]
    why: Why


@dataclass(frozen=True, slots=True)
class GapChange:
    """What the role held asks of a competency, and what is held of it; null on a side on which it is not asked."""

    competency: Annotated[str, "Id of the competency."]
    asked_before: Annotated[int | None, "The full level that was asked."]
    asked_after: Annotated[int | None, "The full level that is asked."]
    necessity_before: Annotated[str | None, "How necessary it was."]
    necessity_after: Annotated[str | None, "How necessary it is."]
    gap_before: Annotated[int | None, "Levels that were missing."]
    gap_after: Annotated[int | None, "Levels that are missing."]
    why: Why


@dataclass(frozen=True, slots=True)
class LevelChange:
    """A level that differs, or that still counts otherwise; null where it was never assessed."""

    competency: Annotated[str, "Id of the competency."]
    level_before: Annotated[int | None, "The level that counted."]
    level_after: Annotated[int | None, "The level that counts."]
    state_before: Annotated[LevelState, "Whether it still counted."]
    state_after: Annotated[LevelState, "Whether it still counts."]
    why: Why


@dataclass(frozen=True, slots=True)
class PersonChanges:
    """What changed about a person since a state."""

    person: Annotated[PersonId, "The person."]
    since: Annotated[str, "The state before, as it was named."]
    before_on: Annotated[dt.date, "The day on which the state before is judged: its own."]
    on: Annotated[dt.date, "The day on which it is judged now."]
    standing: Annotated[StandingChange, "The standing in the role held; the reasons are empty where it is the same."]
    gaps: Annotated[tuple[GapChange, ...], "What the role held asks otherwise, or what is missing of it otherwise."]
    levels: Annotated[tuple[LevelChange, ...], "Levels that differ, by competency."]
    remarks: Annotated[tuple[str, ...], "What else should be known."] = ()


def find_person_changes(between: Between, person_id: str) -> PersonChanges:
    """Return what changed about a person from a state on its day to another on another.

    Parameters
    ----------
    person_id : str
        Of the state after; they need not be in the state before.

    Raises
    ------
    UnknownIdError
        There is no such person in the state after.

    Notes
    -----
    Two gaps and the levels of two days; O(records of the tables that differ).
    """
    before, after, before_on, on = between.before, between.after, between.before_on, between.on
    after.require_person(person_id)
    touching = Touching(before, after, before_on, on)
    then, now = _find_gap(before, person_id, before_on), _find_gap(after, person_id, on)
    roles = tuple(gap.role for gap in (then, now) if gap is not None)
    moved = touching.of_belonging(person_id) if (then and then.role) != (now and now.role) else frozenset()
    rows = _pair_rows(then, now)
    of_row = {i: moved | touching.of_requirement(person_id, roles, i) for i in rows}
    levels = _pair_levels(before, after, person_id, before_on, on)
    of_level = {i: touching.of_level(person_id, i) for i in levels}
    of_standing = moved.union(*of_row.values())
    tell = between.reasons.read([*of_level.values(), of_standing])
    changed = [(i, old, new) for i, (old, new) in rows.items() if _get_told(old) != _get_told(new)]
    return PersonChanges(
        person=person_id,
        since=between.since,
        before_on=before_on,
        on=on,
        standing=_tell_standing(then, now, of_standing, tell),
        gaps=tuple(
            GapChange(
                i,
                old.level if old else None,
                new.level if new else None,
                old.necessity if old else None,
                new.necessity if new else None,
                old.gap if old else None,
                new.gap if new else None,
                tell(of_row[i]),
            )
            for i, old, new in changed
        ),
        levels=tuple(
            LevelChange(i, old.level, new.level, old.state, new.state, tell(of_level[i]))
            for i, (old, new) in levels.items()
        ),
        remarks=() if person_id in before.people else ("Nothing is recorded of this person then.",),
    )


def _find_gap(snapshot: Snapshot, person_id: str, on: dt.date) -> GapResult | None:
    """Return the gap to the role held on a day; None where there is none, or no such person."""
    if person_id not in snapshot.people:
        return None
    role = get_person_on(snapshot, person_id, on).role
    return compute_gap(snapshot, role, person_id=person_id, on=on) if role else None


def _pair_rows(then: GapResult | None, now: GapResult | None) -> dict[str, tuple[GapRow | None, GapRow | None]]:
    """Return competency -> its rows then and now; those of now first, in the order of the gap."""
    old = {row.competency: row for row in then.gaps} if then else {}
    new = {row.competency: row for row in now.gaps} if now else {}
    return {i: (old.get(i), new.get(i)) for i in (*new, *(i for i in old if i not in new))}


def _get_told(row: GapRow | None) -> tuple[int, str, int] | None:
    return None if row is None else (row.level, row.necessity, row.gap)


def _pair_levels(
    before: Snapshot, after: Snapshot, person_id: str, before_on: dt.date, on: dt.date
) -> dict[str, tuple[LevelOnDate, LevelOnDate]]:
    """Return competency -> what is known then and now, where level or state differ, by competency."""
    old = build_levels(before, person_id, before_on) if person_id in before.people else {}
    new = build_levels(after, person_id, on)

    def get(levels: dict[str, LevelOnDate], competency_id: str) -> LevelOnDate:
        return levels.get(competency_id) or LevelOnDate(competency_id, None, "not-assessed")

    pairs = {i: (get(old, i), get(new, i)) for i in sorted(old.keys() | new.keys())}
    return {i: pair for i, pair in pairs.items() if (pair[0].level, pair[0].state) != (pair[1].level, pair[1].state)}


def _tell_standing(then: GapResult | None, now: GapResult | None, touched: Touched, tell: Tell) -> StandingChange:
    sides = [(gap.role, gap.standing) if gap else (None, None) for gap in (then, now)]
    (role_before, old), (role_after, new) = sides
    why = () if sides[0] == sides[1] else tell(touched)
    return StandingChange(role_before, role_after, old, new, why)
