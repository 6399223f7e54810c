"""All that is known of a person's levels on a day: what a role asks, what else they hold, what they say. Pure.

Each level stands with what it rests on: source, who, day, age; and with the last day on which it counts as it does now.
What someone says of themselves stands apart and counts nowhere.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Annotated, Final

from ontology.analysis.profiles.belonging import get_person_on
from ontology.analysis.profiles.levels import build_levels, find_days_of_change, get_level
from ontology.analysis.profiles.own_levels import LevelOnDate, LevelState
from ontology.analysis.profiles.required import Required, count_met, list_remarks, list_required, list_unassessed
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
    rows = list_required(snapshot, role_id, person_id, on, known) if role_id else []
    named = {row.requirement.competency for row in rows}
    others = [level for i, level in known.items() if i not in named and level.basis]
    blocking_met, blocking_total = count_met(rows, "blocking")
    essential_met, essential_total = count_met(rows, "essential")
    return PersonLevels(
        person=person_id,
        role=role_id or None,
        on=on,
        blocking_met=blocking_met,
        blocking_total=blocking_total,
        essential_met=essential_met,
        essential_total=essential_total,
        assess_first=list_unassessed(rows),
        asked=tuple([_build(snapshot, person_id, row.held, on, row) for row in sorted(rows, key=_is_settled)]),
        others=tuple([_build(snapshot, person_id, level, on) for level in others]),
        said=tuple(_iterate_said(snapshot, person_id, on)),
        remarks=list_remarks(rows) if role_id else (),
    )


def _is_settled(row: Required) -> bool:
    return row.gap == 0


def _build(
    snapshot: Snapshot, person_id: str, level: LevelOnDate, on: dt.date, row: Required | None = None
) -> KnownLevel:
    basis, asked = level.basis, row.requirement if row else None
    until, then = _find_end(snapshot, person_id, level, on)
    return KnownLevel(
        level.competency,
        asked.level if asked else None,
        asked.necessity if asked else None,
        level.level,
        row.gap if row else 0,
        level.state,
        basis.source if basis else None,
        (basis.assessor or None) if basis else None,
        basis.date if basis else None,
        (on - basis.date).days if basis else None,
        until,
        then,
        level.by_equivalence or None,
        level.carried_from or None,
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
