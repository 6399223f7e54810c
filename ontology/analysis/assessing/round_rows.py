"""What is to be assessed in a round, why, how long it takes and who may do it. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal

from ontology.analysis.cover.presence import is_employed
from ontology.analysis.paths.aims import get_minutes, get_whole_minutes
from ontology.analysis.profiles.belonging import get_person_on
from ontology.analysis.profiles.levels import get_levels, get_ranks
from ontology.analysis.profiles.own_levels import LevelOnDate
from ontology.model.agreement_records import Assessor
from ontology.model.records import Competency, Requirement
from ontology.model.validity import add_months
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Double", "RoundAsked", "RoundRow", "WhyDue", "build_rows", "find_assessors"]

WhyDue = Literal["not-assessed", "lapsed", "review-due", "old"]
Double = Literal["none", "safety", "all"]

#: Where nobody has said how long an assessment takes.
_USUAL_HOURS: Final = 1.0
_NECESSARY: Final = ("blocking", "essential")


@dataclass(frozen=True, slots=True)
class RoundAsked:
    """Which round: levels are those of `on`, it is done on `by`; `team` "": of everyone."""

    on: date
    by: date
    team: str = ""
    older_than_months: int = 24
    double: Double = "safety"


@dataclass(frozen=True, slots=True)
class RoundRow:
    """One competency of one person; `wanted` assessors, each for so many `minutes`, of those who are `able`, by id."""

    person: str
    competency: str
    why: WhyDue
    minutes: int
    wanted: int
    able: tuple[str, ...]


def find_assessors(snapshot: Snapshot, by: date) -> dict[str, int]:
    """Return those who may assess on a day, employed and in force, each with their minutes for a round, by id."""
    rows: Mapping[tuple[str], Assessor] = snapshot.get_table("assessors")
    return {
        row.person: get_whole_minutes(row.hours_per_round) or 0
        for row in rows.values()
        if is_employed(snapshot.people[row.person], by)
        and (row.from_date is None or row.from_date <= by)
        and (row.to_date is None or by <= row.to_date)
    }


def build_rows(snapshot: Snapshot, asked: RoundAsked) -> list[RoundRow]:
    """Return what is to be assessed, by person and competency.

    Of everyone employed with a role: what it asks as blocking or essential and is no certificate, where it was never
    assessed, lapsed, is due for review, or rests on something dated more than some months ago. O(requirements of all
    roles held, and for each kind of row one look at every assessor).
    """
    rights = _Rights(snapshot, asked)
    return [row for person_id in sorted(snapshot.people) for row in _iterate_person(snapshot, asked, person_id, rights)]


def _iterate_person(snapshot: Snapshot, asked: RoundAsked, person_id: str, rights: _Rights) -> Iterator[RoundRow]:
    person = get_person_on(snapshot, person_id, asked.on)
    if not person.role or not is_employed(person, asked.on) or (asked.team and person.team != asked.team):
        return
    known = snapshot.competencies
    required = sorted(
        (
            row
            for row in snapshot.get_requirements(person.role)
            if row.necessity in _NECESSARY and not known[row.competency].is_certificate
        ),
        key=lambda row: row.competency,
    )
    levels = get_levels(snapshot, person_id, [known[row.competency] for row in required], asked.on)
    for row, level in zip(required, levels, strict=True):
        why = find_why(level, asked)
        if why is not None:
            competency = known[row.competency]
            able = tuple([i for i in rights.get(row, person.team) if i != person_id])
            yield RoundRow(
                person_id, competency.id, why, _get_minutes(competency), _get_wanted(competency, asked), able
            )


def find_why(level: LevelOnDate, asked: RoundAsked) -> WhyDue | None:
    """Return why a level is to be assessed again, or None where it is not."""
    if level.state in ("not-assessed", "lapsed", "review-due"):
        return level.state
    if level.basis is None:
        return None
    try:
        is_old = add_months(level.basis.date, asked.older_than_months) < asked.on
    except OverflowError:
        return None
    return "old" if is_old else None


def _get_minutes(competency: Competency) -> int:
    return get_minutes(_USUAL_HOURS if competency.assessment_hours is None else competency.assessment_hours)


def _get_wanted(competency: Competency, asked: RoundAsked) -> int:
    return 2 if asked.double == "all" or (asked.double == "safety" and competency.safety) else 1


class _Rights:
    """Who may assess what in which team: looked at once for each requirement and team."""

    def __init__(self, snapshot: Snapshot, asked: RoundAsked) -> None:
        self._rows = [snapshot.get_table("assessors")[(i,)] for i in find_assessors(snapshot, asked.by)]
        self._ranks = get_ranks(snapshot, asked.on)
        self._known: dict[tuple[str, int, str], list[str]] = {}

    def get(self, required: Requirement, team: str) -> list[str]:
        """Return who may assess a requirement of a team's people, by id."""
        key = required.competency, required.level, team
        if key not in self._known:
            self._known[key] = [row.person for row in self._rows if self._may(row, required, team)]
        return self._known[key]

    def _may(self, assessor: Assessor, required: Requirement, team: str) -> bool:
        if assessor.teams and team not in assessor.teams:
            return False
        if assessor.competencies:
            return required.competency in assessor.competencies
        return self._ranks[assessor.person, required.competency] >= required.level
