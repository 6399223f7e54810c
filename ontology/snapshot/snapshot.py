"""The compiled graph: every record of one revision, indexed, immutable.

A request is answered from exactly one Snapshot. Indexes are built on first use and kept; two threads that
build the same one at once build equal values, so no lock is needed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from operator import attrgetter
from typing import TypeVar

from ontology.errors import UnknownIdError
from ontology.model.agreement_records import AgreedCourse, AgreedPlan, Assessor, Request
from ontology.model.framework_itself import Framework
from ontology.model.keeping_records import Replacement, Translation
from ontology.model.mapping_tables import Mapping as ConceptMapping
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
from ontology.model.work_records import (
    Appointment,
    Booking,
    Duty,
    Equivalence,
    Membership,
    Obligation,
    OrientationDone,
    OrientationItem,
    Practice,
    Session,
    Site,
)
from ontology.snapshot.carried import Carried, read_carried
from ontology.snapshot.indexes import ById, GroupedBy
from ontology.snapshot.name_index import ByName
from ontology.snapshot.record_tables import RecordTables
from ontology.snapshot.translated_names import ByTranslatedName

_R = TypeVar("_R")


class Snapshot(RecordTables):
    """Every record of one revision of the store, with its indexes."""

    # ---- single records by id (sorted by id) ----

    competencies = ById[Competency]("competencies")
    roles = ById[Role]("roles")
    courses = ById[Course]("courses")
    teams = ById[Team]("teams")
    shifts = ById[Shift]("shifts")
    framework = ById[Framework]("framework")
    people = ById[Person]("people")
    places = ById[Place]("places")
    sites = ById[Site]("sites")
    obligations = ById[Obligation]("obligations")
    sessions = ById[Session]("sessions")
    orientation_items = ById[OrientationItem]("orientation_items")
    agreed_plans = ById[AgreedPlan]("agreed_plans")
    #: Scale id -> its levels by rank.
    scales = GroupedBy[ScaleLevel]("scales", "scale")

    # ---- names, searched by words ----

    names_of_competencies = ByName("competencies")
    names_of_courses = ByName("courses")
    names_of_people = ByName("people")
    names_of_roles = ByName("roles")
    names_of_shifts = ByName("shifts")
    names_of_teams = ByName("teams")
    names_in_other_languages = ByTranslatedName("translations")

    # ---- records that hang on another: called with its id they give the group in the order of keys, () for none ----

    get_requirements = GroupedBy[Requirement]("requirements", "role")
    get_requirements_of_competency = GroupedBy[Requirement]("requirements", "competency")
    get_competencies_of_scale = GroupedBy[Competency]("competencies", "scale")
    get_courses_of_method = GroupedBy[Course]("courses", "method")
    get_roles_of_family = GroupedBy[Role]("roles", "family")
    get_outcomes = GroupedBy[Outcome]("outcomes", "course")
    get_outcomes_of_competency = GroupedBy[Outcome]("outcomes", "competency")
    get_entry_conditions = GroupedBy[EntryCondition]("entry_conditions", "course")
    get_absences = GroupedBy[Absence]("absences", "person")
    #: The people of a team itself, not of its parts.
    get_members = GroupedBy[Person]("people", "team")
    get_shifts = GroupedBy[Shift]("shifts", "team")
    get_cover_needs = GroupedBy[CoverNeed]("cover_needs", "team")
    get_places = GroupedBy[Place]("places", "team")
    get_places_of_role = GroupedBy[Place]("places", "role")
    #: What a competency counts as, and what counts as it.
    get_equivalences_of = GroupedBy[Equivalence]("equivalences", "competency")
    get_equivalences_to = GroupedBy[Equivalence]("equivalences", "counts_as")
    get_mappings = GroupedBy[ConceptMapping]("mappings", "competency")
    get_memberships = GroupedBy[Membership]("memberships", "person")
    #: Memberships in a team itself, not in its parts.
    get_memberships_of_team = GroupedBy[Membership]("memberships", "team")
    get_duties = GroupedBy[Duty]("duties", "person")
    get_duties_at_place = GroupedBy[Duty]("duties", "place")
    get_sessions = GroupedBy[Session]("sessions", "course")
    get_bookings = GroupedBy[Booking]("bookings", "person")
    get_bookings_of_session = GroupedBy[Booking]("bookings", "session")
    get_orientation_done = GroupedBy[OrientationDone]("orientation_done", "person")
    get_requests = GroupedBy[Request]("requests", "person")
    get_requests_of_course = GroupedBy[Request]("requests", "course")
    get_agreed_plans = GroupedBy[AgreedPlan]("agreed_plans", "person")
    get_agreed_courses = GroupedBy[AgreedCourse]("agreed_courses", "plan")
    #: By table and id, what took the place of a record, and what it took the place of.
    get_replacements = GroupedBy[Replacement]("replacements", "table", "old")
    get_replaced = GroupedBy[Replacement]("replacements", "table", "new")
    #: By table and id (the parts of the key joined by ~), the texts of a record in other languages than the main one.
    get_translations = GroupedBy[Translation]("translations", "table", "id")

    _get_assessments_of_person = GroupedBy[Assessment]("assessments", "person")
    _get_assessments_of_pair = GroupedBy[Assessment]("assessments", "person", "competency")
    get_appointments_of_person = GroupedBy[Appointment]("appointments", "person")
    _get_appointments_of_pair = GroupedBy[Appointment]("appointments", "person", "competency")
    _get_practices_of_pair = GroupedBy[Practice]("practices", "person", "competency")
    _get_narrower = GroupedBy[Competency]("competencies", "broader", each=True)

    def get_assessments(self, person_id: str, competency_id: str | None = None) -> tuple[Assessment, ...]:
        """Return a person's assessments (of one competency), in the order of keys.

        Behind them come those of retired competencies that are read for one in use; `get_recorded_of` tells which.
        """
        if competency_id is None:
            own = self._get_assessments_of_person(person_id)
            return own + self._carried.of_person.get(person_id, ()) if self.retired else own
        own = self._get_assessments_of_pair((person_id, competency_id))
        return own + self._carried.of_pair.get((person_id, competency_id), ()) if self.retired else own

    def get_recorded_assessments(self, person_id: str, competency_id: str | None = None) -> tuple[Assessment, ...]:
        """Return a person's assessments (of one competency) of what is in use, as recorded, in the order of keys."""
        if competency_id is None:
            return self._get_assessments_of_person(person_id)
        return self._get_assessments_of_pair((person_id, competency_id))

    def list_assessments(self) -> Sequence[Assessment]:
        """Return all assessments, by person and competency, those read for another competency behind its own."""
        own = self.get_table("assessments").values()
        if not self.retired or not self._carried.recorded:
            return tuple(own)
        carried = (row for rows in self._carried.of_pair.values() for row in rows)
        return sorted([*own, *carried], key=attrgetter("person", "competency"))

    def get_recorded_of(self, assessment: Assessment) -> Assessment | None:
        """Return what was recorded where an assessment is one of a retired competency, read for another; else None.

        It is told by identity: two may say the same.
        """
        return self._carried.recorded.get(id(assessment)) if self.retired else None

    @property
    def _carried(self) -> Carried:
        return self.keep("carried assessments", lambda: read_carried(self))

    def get_appointments(self, person_id: str, competency_id: str) -> tuple[Appointment, ...]:
        """Return a person's appointments for a competency, by first day."""
        return self._get_appointments_of_pair((person_id, competency_id))

    def get_practices(self, person_id: str, competency_id: str) -> tuple[Practice, ...]:
        """Return what a person did of a competency, by day."""
        return self._get_practices_of_pair((person_id, competency_id))

    def get_assessor(self, person_id: str) -> Assessor | None:
        """Return what someone may assess, or None where they may assess nobody."""
        assessor: Assessor | None = self.get_table("assessors").get((person_id,))
        return assessor

    def get_narrower(self, competency_id: str) -> tuple[str, ...]:
        """Return the ids of the competencies whose broader is this one."""
        return tuple([competency.id for competency in self._get_narrower(competency_id)])

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

    def require_session(self, session_id: str) -> Session:
        """Return a session, or raise UnknownIdError."""
        return _require(self.sessions, "sessions", session_id)


def _require(index: Mapping[str, _R], table: str, record_id: str) -> _R:
    try:
        return index[record_id]
    except KeyError:
        raise UnknownIdError(table, record_id) from None
