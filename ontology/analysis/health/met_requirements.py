"""Requirements that nobody has been assessed in, that all who hold the role meet, or that none does. Pure.

People are counted, none is named; of fewer than the least number of holders nothing is told.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import Final

from ontology.analysis.cover.holders import get_assessed_people
from ontology.analysis.cover.presence import is_employed
from ontology.analysis.health.faults import Fault, HealthRule, Looked, join_labels
from ontology.analysis.profiles.belonging import get_person_on
from ontology.analysis.profiles.levels import get_level
from ontology.model.records import Person, Requirement

__all__ = ["HELD_BY_NONE", "MET_BY_ALL", "MET_BY_NONE"]


def _find_employed(looked: Looked) -> list[Person]:
    """Return who is employed on the day, as they are then."""
    people = (get_person_on(looked.snapshot, person_id, looked.on) for person_id in looked.snapshot.people)
    return [person for person in people if is_employed(person, looked.on)]


def _find_holders(looked: Looked) -> dict[str, list[str]]:
    """Return role -> the people who hold it on the day, employed then."""
    found: defaultdict[str, list[str]] = defaultdict(list)
    for person in _find_employed(looked):
        if person.role:
            found[person.role].append(person.id)
    return dict(found)


def _find_unassessed(looked: Looked) -> Iterator[Fault]:
    snapshot, on = looked.snapshot, looked.on
    employed = {person.id for person in _find_employed(looked)}
    asking: defaultdict[str, list[str]] = defaultdict(list)
    for role_id in _find_holders(looked):
        for row in snapshot.get_requirements(role_id):
            if row.necessity in ("blocking", "essential"):
                asking[row.competency].append(snapshot.roles[role_id].label)
    for competency_id, roles in sorted(asking.items()):
        competency = snapshot.competencies[competency_id]
        assessed = (i for i in get_assessed_people(snapshot, competency_id) if i in employed)
        if all(get_level(snapshot, i, competency, on).level is None for i in assessed):
            asks, them = ("asks", "that role") if len(roles) == 1 else ("ask", "these roles")
            reason = (
                f"{join_labels(sorted(roles))} {asks} for it, people hold {them}, and nobody has an assessment of it "
                "that counts: that is unknown, not unable."
            )
            yield Fault("held by none", "competencies", competency_id, competency.label, reason)


def _find_met(looked: Looked) -> Iterator[tuple[Requirement, int, list[int]]]:
    """Yield each requirement of a role that enough people hold: how many, and the level of each."""
    snapshot = looked.snapshot
    for role_id, people in sorted(_find_holders(looked).items()):
        if len(people) >= looked.limits.least_people:
            for row in snapshot.get_requirements(role_id):
                competency = snapshot.competencies[row.competency]
                levels = [get_level(snapshot, i, competency, looked.on).level or 0 for i in people]
                yield row, len(people), levels


def _find_met_by_all(looked: Looked) -> Iterator[Fault]:
    for row, n, levels in _find_met(looked):
        if row.necessity != "blocking" and min(levels) >= row.level:
            reason = f"All {n} who hold the role are at level {row.level} or higher: it tells nobody apart."
            yield _build("met by all", looked, row, reason)


def _find_met_by_none(looked: Looked) -> Iterator[Fault]:
    for row, n, levels in _find_met(looked):
        if max(levels) < row.entry_level:
            reason = f"None of the {n} who hold the role is at level {row.entry_level}, asked on the first day."
            yield _build("met by none", looked, row, reason)


def _build(rule: str, looked: Looked, row: Requirement, reason: str) -> Fault:
    label = f"{looked.snapshot.competencies[row.competency].label} for {looked.snapshot.roles[row.role].label}"
    return Fault(rule, "requirements", f"{row.role}~{row.competency}", label, reason)


HELD_BY_NONE: Final = HealthRule("held by none", _find_unassessed)
MET_BY_ALL: Final = HealthRule("met by all", _find_met_by_all)
MET_BY_NONE: Final = HealthRule("met by none", _find_met_by_none)
