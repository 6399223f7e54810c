"""All that is known of a person's levels on a day: what a role asks, what else they hold, what they say. Pure.

Each level stands with what it rests on: source, who, day, age; and with the last day on which it counts as it does now.
What someone says of themselves stands apart and counts nowhere.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Final

from ontology.analysis.profiles.belonging import get_person_on
from ontology.analysis.profiles.gap import GapResult, GapRow, compute_gap
from ontology.analysis.profiles.levels import build_levels, find_days_of_change, get_level
from ontology.analysis.profiles.own_levels import LevelOnDate, LevelState
from ontology.model.identity import PersonId
from ontology.model.records import Assessment
from ontology.snapshot.snapshot import Snapshot

__all__ = ["KnownLevel", "PersonLevels", "SaidLevel", "list_person_levels"]

_SAID: Final = ("self", "unstated")


@dataclass(frozen=True, slots=True)
class KnownLevel:
    """What is known of one competency; without an assessment that counts only `state` and what is asked are."""

    competency: Annotated[str, "Id of the competency."]
    asked: Annotated[int | None, "The full level that the role asks; null where it asks for none."]
    necessity: Annotated[str | None, "How necessary it is there; null where the role asks for none."]
    level: Annotated[int | None, "The level that counts; null where it was never assessed."]
    gap: Annotated[int, "Levels missing."]
    state: Annotated[LevelState, "Whether it still counts."]
    source: Annotated[str | None, "Who assessed what counts: certificate, assessor or manager."]
    assessor: Annotated[PersonId | None, "The one who did, as recorded; null where nobody is named."]
    date: Annotated[dt.date | None, "The day it was assessed."]
    age_days: Annotated[int | None, "Days since then."]
    until: Annotated[dt.date | None, "The last day on which it counts as it does now; null: no end is known."]
    then: Annotated[LevelState | None, "The state on the day after that; null without an end."]
    by_equivalence: Annotated[str | None, "The other competency that it counts by; null: held itself."]
    carried_from: Annotated[
        str | None, "The retired competency that what counts was recorded of; null: this one, or the one it counts by."
    ]


@dataclass(frozen=True, slots=True)
class SaidLevel:
    """The latest that someone says of themselves, or that nobody stands for: shown, never counted."""

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level said."]
    date: Annotated[dt.date, "The day it was said."]
    source: Annotated[str, "self or unstated."]
    assessor: Annotated[PersonId, "Who is named with it, as recorded; empty where nobody is."]


@dataclass(frozen=True, slots=True)
class PersonLevels:
    """What is known of a person's levels; without a role there is nothing asked."""

    person: Annotated[PersonId, "Id of the person."]
    role: Annotated[str | None, "The role compared with; null where none is recorded."]
    on: Annotated[dt.date, "The day asked about."]
    blocking_met: Annotated[int, "Blocking requirements at full level."]
    blocking_total: Annotated[int, "Blocking requirements."]
    essential_met: Annotated[int, "Essential requirements at full level."]
    essential_total: Annotated[int, "Essential requirements."]
    assess_first: Annotated[tuple[str, ...], "What the role asks and nobody has assessed."]
    asked: Annotated[
        tuple[KnownLevel, ...], "Every requirement; unmet and not assessed first, then as the gap has them."
    ]
    others: Annotated[tuple[KnownLevel, ...], "What else is held or was held, by competency."]
    said: Annotated[tuple[SaidLevel, ...], "What the person says of themselves, by competency: never counted."]
    remarks: Annotated[tuple[str, ...], "What else should be known."] = ()


def list_person_levels(snapshot: Snapshot, person_id: str, on: dt.date, *, role: str | None = None) -> PersonLevels:
    """Return all that is known of a person's levels on a day, beside what a role asks.

    Parameters
    ----------
    snapshot : Snapshot
    person_id : str
    on : date
        Assessments after this day do not count.
    role : str, optional
        The one of that day where left out.

    Raises
    ------
    UnknownIdError
        There is no such person or role.

    Notes
    -----
    O(k log k) for k assessments of the person, as often again for each level that changes later.
    """
    snapshot.require_person(person_id)
    role_id = role or get_person_on(snapshot, person_id, on).role
    known = build_levels(snapshot, person_id, on)
    gap = compute_gap(snapshot, role_id, person_id=person_id, on=on, levels=known) if role_id else None
    rows = gap.gaps if gap else ()
    asked = [_build_asked(snapshot, person_id, row, on, known) for row in sorted(rows, key=_is_settled)]
    named = {row.competency for row in rows}
    others = [_build(snapshot, person_id, level, on) for i, level in known.items() if i not in named and level.basis]
    return PersonLevels(
        person=person_id,
        role=role_id or None,
        on=on,
        **_count(gap),
        assess_first=gap.assess_first if gap else (),
        asked=tuple(asked),
        others=tuple(others),
        said=tuple(_iterate_said(snapshot, person_id, on)),
        remarks=gap.remarks if gap else (),
    )


def _is_settled(row: GapRow) -> bool:
    return row.gap == 0


def _count(gap: GapResult | None) -> dict[str, int]:
    blocking = [row for row in gap.gaps if row.necessity == "blocking"] if gap else []
    unmet = gap.blocking_unmet if gap else 0
    return {
        "blocking_met": len(blocking) - unmet,
        "blocking_total": len(blocking),
        "essential_met": gap.essential_met if gap else 0,
        "essential_total": gap.essential_total if gap else 0,
    }


def _build_asked(
    snapshot: Snapshot, person_id: str, row: GapRow, on: dt.date, known: Mapping[str, LevelOnDate]
) -> KnownLevel:
    level = known.get(row.competency)
    if level is None:  # nobody has assessed it, but the level says more than that
        level = get_level(snapshot, person_id, snapshot.competencies[row.competency], on)
    return _build(snapshot, person_id, level, on, row)


def _build(
    snapshot: Snapshot, person_id: str, level: LevelOnDate, on: dt.date, row: GapRow | None = None
) -> KnownLevel:
    basis = level.basis
    until, then = _find_end(snapshot, person_id, level, on)
    return KnownLevel(
        competency=level.competency,
        asked=row.level if row else None,
        necessity=row.necessity if row else None,
        level=level.level,
        gap=row.gap if row else 0,
        state=level.state,
        source=basis.source if basis else None,
        assessor=(basis.assessor or None) if basis else None,
        date=basis.date if basis else None,
        age_days=(on - basis.date).days if basis else None,
        until=until,
        then=then,
        by_equivalence=level.by_equivalence or None,
        carried_from=level.carried_from or None,
    )


def _find_end(
    snapshot: Snapshot, person_id: str, known: LevelOnDate, on: dt.date
) -> tuple[dt.date | None, LevelState | None]:
    """Return the last day on which a level counts as it does now, and the state on the day after."""
    if not known.level or known.state != "ok":
        return None, None
    competency = snapshot.competencies[known.competency]
    for day in find_days_of_change(snapshot, person_id, competency, on):
        later = get_level(snapshot, person_id, competency, day)
        if later.state != "ok" or (later.level or 0) < known.level:
            return day - dt.timedelta(days=1), later.state
    return None, None


def _iterate_said(snapshot: Snapshot, person_id: str, on: dt.date) -> Iterator[SaidLevel]:
    said: dict[str, list[Assessment]] = {}
    for one in snapshot.get_assessments(person_id):
        if one.source in _SAID and one.date <= on and one.withdrawn_on is None:
            said.setdefault(one.competency, []).append(one)
    for competency_id, rows in sorted(said.items()):
        one = _pick_latest(rows)
        yield SaidLevel(competency_id, one.level, one.date, one.source, one.assessor)


def _pick_latest(rows: Iterable[Assessment]) -> Assessment:
    # as `get_level` picks what is declared
    return min(rows, key=lambda one: (-one.date.toordinal(), _SAID.index(one.source), one.level))
