"""The compiled graph: every record of one revision, indexed, immutable. Imports records and tables.

A request is answered from exactly one Snapshot. Indexes are built on first use and kept; two threads that
build the same one at once build equal values, so no lock is needed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from functools import cached_property
from typing import Any, TypeVar

from ontology.errors import UnknownIdError
from ontology.model.records import (
    Absence,
    Assessment,
    Competency,
    Course,
    CoverNeed,
    EntryCondition,
    Outcome,
    Person,
    Place,
    Requirement,
    Role,
    ScaleLevel,
    Shift,
    Team,
)
from ontology.snapshot.record_tables import RecordTables

_R = TypeVar("_R")


class Snapshot(RecordTables):
    """Every record of one revision of the store, with its indexes.

    Indexes are built on first use, O(n) for n records of a table, and kept.
    """

    def _by_id(self, name: str) -> dict[str, Any]:
        return {key[0]: record for key, record in self._tables[name].items()}

    def _group(self, name: str, field: str) -> dict[str, tuple[Any, ...]]:
        groups: defaultdict[str, list[Any]] = defaultdict(list)
        for record in self._tables[name].values():
            groups[getattr(record, field)].append(record)
        return {key: tuple(group) for key, group in groups.items()}

    @cached_property
    def derived(self) -> dict[str, Any]:
        """What analyses have derived from this Snapshot and want again, by a name of theirs; it goes with it."""
        return {}

    # ---- single records by id (sorted by id) ----

    @cached_property
    def scales(self) -> Mapping[str, tuple[ScaleLevel, ...]]:
        """Scale id -> its levels by rank."""
        return self._group("scales", "scale")

    @cached_property
    def competencies(self) -> Mapping[str, Competency]:
        """Competency id -> competency."""
        return self._by_id("competencies")

    @cached_property
    def roles(self) -> Mapping[str, Role]:
        """Role id -> role."""
        return self._by_id("roles")

    @cached_property
    def courses(self) -> Mapping[str, Course]:
        """Course id -> course."""
        return self._by_id("courses")

    @cached_property
    def teams(self) -> Mapping[str, Team]:
        """Team id -> team."""
        return self._by_id("teams")

    @cached_property
    def shifts(self) -> Mapping[str, Shift]:
        """Shift id -> shift."""
        return self._by_id("shifts")

    @cached_property
    def people(self) -> Mapping[str, Person]:
        """Person id -> person."""
        return self._by_id("people")

    @cached_property
    def places(self) -> Mapping[str, Place]:
        """Place id -> place."""
        return self._by_id("places")

    # ---- records that hang on another (each group in the order of keys; () where there is none) ----

    @cached_property
    def _requirements_by_role(self) -> dict[str, tuple[Requirement, ...]]:
        return self._group("requirements", "role")

    @cached_property
    def _requirements_by_competency(self) -> dict[str, tuple[Requirement, ...]]:
        return self._group("requirements", "competency")

    @cached_property
    def _outcomes_by_course(self) -> dict[str, tuple[Outcome, ...]]:
        return self._group("outcomes", "course")

    @cached_property
    def _outcomes_by_competency(self) -> dict[str, tuple[Outcome, ...]]:
        return self._group("outcomes", "competency")

    @cached_property
    def _conditions_by_course(self) -> dict[str, tuple[EntryCondition, ...]]:
        return self._group("entry_conditions", "course")

    @cached_property
    def _assessments_by_person(self) -> dict[str, tuple[Assessment, ...]]:
        return self._group("assessments", "person")

    @cached_property
    def _assessments_by_pair(self) -> dict[tuple[str, str], tuple[Assessment, ...]]:
        pairs: defaultdict[tuple[str, str], list[Assessment]] = defaultdict(list)
        for record in self._tables["assessments"].values():
            pairs[record.person, record.competency].append(record)
        return {key: tuple(group) for key, group in pairs.items()}

    @cached_property
    def _absences_by_person(self) -> dict[str, tuple[Absence, ...]]:
        return self._group("absences", "person")

    @cached_property
    def _people_by_team(self) -> dict[str, tuple[Person, ...]]:
        return self._group("people", "team")

    @cached_property
    def _shifts_by_team(self) -> dict[str, tuple[Shift, ...]]:
        return self._group("shifts", "team")

    @cached_property
    def _needs_by_team(self) -> dict[str, tuple[CoverNeed, ...]]:
        return self._group("cover_needs", "team")

    @cached_property
    def _places_by_team(self) -> dict[str, tuple[Place, ...]]:
        return self._group("places", "team")

    @cached_property
    def _narrower(self) -> dict[str, tuple[str, ...]]:
        children: defaultdict[str, list[str]] = defaultdict(list)
        for competency in self.competencies.values():
            for parent in competency.broader:
                children[parent].append(competency.id)
        return {key: tuple(group) for key, group in children.items()}

    def get_requirements(self, role_id: str) -> tuple[Requirement, ...]:
        """Return a role's requirements by competency id."""
        return self._requirements_by_role.get(role_id, ())

    def get_requirements_of_competency(self, competency_id: str) -> tuple[Requirement, ...]:
        """Return every requirement that asks for this competency, by role id."""
        return self._requirements_by_competency.get(competency_id, ())

    def get_outcomes(self, course_id: str) -> tuple[Outcome, ...]:
        """Return a course's outcomes by competency id."""
        return self._outcomes_by_course.get(course_id, ())

    def get_outcomes_of_competency(self, competency_id: str) -> tuple[Outcome, ...]:
        """Return every outcome that reaches a level of this competency, by course id."""
        return self._outcomes_by_competency.get(competency_id, ())

    def get_entry_conditions(self, course_id: str) -> tuple[EntryCondition, ...]:
        """Return a course's entry conditions by competency id."""
        return self._conditions_by_course.get(course_id, ())

    def get_assessments(self, person_id: str, competency_id: str | None = None) -> tuple[Assessment, ...]:
        """Return a person's assessments (of one competency), in the order of keys."""
        if competency_id is None:
            return self._assessments_by_person.get(person_id, ())
        return self._assessments_by_pair.get((person_id, competency_id), ())

    def get_absences(self, person_id: str) -> tuple[Absence, ...]:
        """Return a person's absences by first day."""
        return self._absences_by_person.get(person_id, ())

    def get_members(self, team_id: str) -> tuple[Person, ...]:
        """Return the people of a team itself (not of its parts), by id."""
        return self._people_by_team.get(team_id, ())

    def get_shifts(self, team_id: str) -> tuple[Shift, ...]:
        """Return the shifts of a team, by id."""
        return self._shifts_by_team.get(team_id, ())

    def get_cover_needs(self, team_id: str) -> tuple[CoverNeed, ...]:
        """Return the cover needs of a team, in the order of keys."""
        return self._needs_by_team.get(team_id, ())

    def get_places(self, team_id: str) -> tuple[Place, ...]:
        """Return the places of a team, by id."""
        return self._places_by_team.get(team_id, ())

    def get_narrower(self, competency_id: str) -> tuple[str, ...]:
        """Return the ids of the competencies whose broader is this one."""
        return self._narrower.get(competency_id, ())

    # ---- rules that need more than one record ----

    def is_learned_on_job(self, requirement: Requirement) -> bool:
        """Whether time in the role brings the requirement to its full level.

        Default: yes, unless it is desirable or a certificate. A certificate never comes by time, whatever is said.
        """
        if self.competencies[requirement.competency].is_certificate:
            return False
        if requirement.learned_on_job is None:
            return requirement.necessity != "desirable"
        return requirement.learned_on_job

    # ---- ids that must exist ----

    def require_role(self, role_id: str) -> Role:
        """Return a role, or raise UnknownIdError."""
        return _require(self.roles, "roles", role_id)

    def require_person(self, person_id: str) -> Person:
        """Return a person, or raise UnknownIdError."""
        return _require(self.people, "people", person_id)

    def require_team(self, team_id: str) -> Team:
        """Return a team, or raise UnknownIdError."""
        return _require(self.teams, "teams", team_id)

    def require_competency(self, competency_id: str) -> Competency:
        """Return a competency, or raise UnknownIdError."""
        return _require(self.competencies, "competencies", competency_id)

    def require_course(self, course_id: str) -> Course:
        """Return a course, or raise UnknownIdError."""
        return _require(self.courses, "courses", course_id)


def _require(index: Mapping[str, _R], table: str, record_id: str) -> _R:
    try:
        return index[record_id]
    except KeyError:
        raise UnknownIdError(table, record_id) from None
