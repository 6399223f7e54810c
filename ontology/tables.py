"""The fourteen tables: columns, defaults, keys, and where each lives in the graph. Imports records and namespaces.

Everything that reads or writes rows, triples or JSON goes through this description.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from ontology import namespaces as ns
from ontology import records
from ontology.records import Column, Table


def _ref(name: str, table: str, about: str, iri: str = "", **more: Any) -> Column:
    return Column(name, "ref", iri or ns.NW + name, about, refers_to=table, **more)


def _level(name: str, about: str, **more: Any) -> Column:
    return Column(name, "integer", ns.NW + camel_case(name), about, minimum=1, **more)


def get_reference_segment(table_name: str) -> str:
    """Return the IRI segment a reference to this table points into (a scale is more than its level rows)."""
    return "scale" if table_name == "scales" else TABLES[table_name].segment


def camel_case(name: str) -> str:
    """Return the Turtle local name of a column: ``entry_level`` becomes ``entryLevel``."""
    head, *tail = name.split("_")
    return head + "".join(part.capitalize() for part in tail)


def _own(name: str, kind: records.ColumnKind, about: str, **more: Any) -> Column:
    return Column(name, kind, ns.NW + camel_case(name), about, **more)


_ID = Column("id", "id", ns.DCTERMS + "identifier", "Short text without spaces, unique in its table.")
_LABEL = Column("label", "text", ns.SKOS + "prefLabel", "What people read.")
_DEFINITION = Column("definition", "text", ns.SKOS + "definition", "What is meant, in a sentence or two.", "")


def _same_as_level(values: Mapping[str, Any]) -> int:
    return int(values["level"])


SCALES: Final = Table(
    "scales",
    records.ScaleLevel,
    "level",
    ns.NW + "Level",
    ns.GRAPH_FRAMEWORK,
    (
        _ref("scale", "scales", "The scale this level belongs to."),
        _level("rank", "Position in the scale: 1, 2, 3 ... without a hole."),
        _LABEL,
        Column("description", "text", ns.SKOS + "definition", "What is seen in someone at this level.", ""),
    ),
    ("scale", "rank"),
)

COMPETENCIES: Final = Table(
    "competencies",
    records.Competency,
    "competency",
    ns.NW + "Competency",
    ns.GRAPH_FRAMEWORK,
    (
        _ID,
        _LABEL,
        _ref("scale", "scales", "The scale its levels are measured on."),
        _DEFINITION,
        Column(
            "broader",
            "refs",
            ns.SKOS + "broader",
            "Wider competencies it belongs to.",
            default=(),
            refers_to="competencies",
        ),
        _own("kind", "choice", "What it is.", default="skill", choices=records.KINDS),
        _own(
            "expiry",
            "choice",
            "After its validity: hard = no level any more; review = the level stays, marked review due.",
            default=lambda values: "hard" if values["kind"] == "certificate" else "review",
            choices=records.EXPIRIES,
        ),
        _own("validity_months", "integer", "How many months an assessment counts.", default=None, minimum=1),
        _own(
            "validity_rule",
            "choice",
            "Whether validity ends on the same day or at the end of that month.",
            default="same-day",
            choices=records.VALIDITY_RULES,
        ),
        _own(
            "refresher_months",
            "integer",
            "How many months after a lapse a refresher still restores it; empty: only while held.",
            default=None,
            minimum=0,
        ),
        _own("safety", "flag", "Whether an error can hurt someone.", default=False),
        _own("assessment_hours", "number", "Hours an assessment takes.", default=None, minimum=0),
        Column("alt_labels", "texts", ns.SKOS + "altLabel", "Other names.", default=()),
        Column("exact_match", "iris", ns.SKOS + "exactMatch", "The same concept elsewhere (IRIs).", default=()),
    ),
    ("id",),
)

ROLES: Final = Table(
    "roles",
    records.Role,
    "role",
    ns.NW + "Role",
    ns.GRAPH_FRAMEWORK,
    (
        _ID,
        _LABEL,
        _own("family", "text", "The family of roles it belongs to.", default=""),
        _DEFINITION,
        _own(
            "months_to_full",
            "integer",
            "Months in the role until its full levels are normally reached.",
            default=12,
            minimum=0,
        ),
    ),
    ("id",),
)

REQUIREMENTS: Final = Table(
    "requirements",
    records.Requirement,
    "requirement",
    ns.NW + "Requirement",
    ns.GRAPH_FRAMEWORK,
    (
        _ref("role", "roles", "The role that asks."),
        _ref("competency", "competencies", "What it asks for."),
        _level("level", "The full level."),
        _level("entry_level", "The level needed on the first day.", default=_same_as_level),
        _level("unsupervised_level", "The level that fills a place without supervision.", default=_same_as_level),
        _own("weight", "number", "Importance, 1 to 5.", default=3.0, minimum=1, maximum=5),
        _own(
            "necessity",
            "choice",
            "blocking = law or safety, nothing begins without it.",
            default="essential",
            choices=records.NECESSITIES,
        ),
        _own(
            "learned_on_job",
            "flag",
            "Whether time in the role brings it to full level (default: yes unless desirable or a certificate).",
            default=None,
        ),
        _own("measured_level", "number", "Decimal level of an outside source.", default=None, minimum=0),
        _own("remark", "text", "A remark of the architect.", default=""),
    ),
    ("role", "competency"),
)

COURSES: Final = Table(
    "courses",
    records.Course,
    "course",
    ns.NW + "Course",
    ns.GRAPH_OFFERS,
    (
        _ID,
        _LABEL,
        _own("hours", "number", "Hours of the learner.", minimum=0),
        _own("coach_hours", "number", "Hours of a coach for one learner.", default=0.0, minimum=0),
        _own("cost", "number", "Cost for one learner.", default=0.0, minimum=0),
        _own("weeks", "number", "Weeks from its first to its last day.", default=None, minimum=0),
        _own("method", "text", "How it is delivered.", default=""),
        _own("strand", "choice", "Experience, social or formal learning.", default="", choices=records.STRANDS),
        _own("seats", "integer", "Learners at once.", default=None, minimum=1),
    ),
    ("id",),
)

OUTCOMES: Final = Table(
    "outcomes",
    records.Outcome,
    "outcome",
    ns.NW + "Outcome",
    ns.GRAPH_OFFERS,
    (
        _ref("course", "courses", "The course."),
        _ref("competency", "competencies", "What is learned."),
        _level("level", "The level it reaches."),
        _own(
            "renews",
            "flag",
            "Whether it only renews what is held or was lost lately.",
            default=False,
        ),
    ),
    ("course", "competency"),
)

ENTRY_CONDITIONS: Final = Table(
    "entry_conditions",
    records.EntryCondition,
    "entry-condition",
    ns.NW + "EntryCondition",
    ns.GRAPH_OFFERS,
    (
        _ref("course", "courses", "The course."),
        _ref("competency", "competencies", "What its learners must bring."),
        _level("level", "The level they must bring."),
    ),
    ("course", "competency"),
)

TEAMS: Final = Table(
    "teams",
    records.Team,
    "team",
    ns.NW + "Team",
    ns.GRAPH_TEAMS,
    (
        _ID,
        _LABEL,
        _ref("part_of", "teams", "The team it is part of.", ns.ORG + "subOrganizationOf", default=""),
    ),
    ("id",),
)

SHIFTS: Final = Table(
    "shifts",
    records.Shift,
    "shift",
    ns.NW + "Shift",
    ns.GRAPH_TEAMS,
    (_ID, _ref("team", "teams", "The team whose crew it is."), _LABEL),
    ("id",),
)

PEOPLE: Final = Table(
    "people",
    records.Person,
    "person",
    ns.NW + "Person",
    ns.GRAPH_PEOPLE,
    (
        Column("id", "id", ns.DCTERMS + "identifier", "A neutral id, not a name."),
        Column("name", "text", ns.SCHEMA + "name", "The name others know."),
        _ref("team", "teams", "The team.", ns.ORG + "memberOf", default=""),
        _ref("shift", "shifts", "The shift.", default=""),
        _ref("role", "roles", "The present role.", default=""),
        _own("study_hours_per_week", "number", "Hours a week free for learning.", default=4.0, minimum=0),
        _own("start_date", "date", "First day.", default=None),
        _own("end_date", "date", "Last day.", default=None),
    ),
    ("id",),
)

ABSENCES: Final = Table(
    "absences",
    records.Absence,
    "absence",
    ns.NW + "Absence",
    ns.GRAPH_PEOPLE,
    (
        _ref("person", "people", "Who is away."),
        _own("from", "date", "First day away.", field="from_date"),
        _own("to", "date", "Last day away.", field="to_date"),
    ),
    ("person", "from_date"),
)

ASSESSMENTS: Final = Table(
    "assessments",
    records.Assessment,
    "assessment",
    ns.NW + "Assessment",
    ns.GRAPH_PEOPLE,
    (
        _ref("person", "people", "Whose level."),
        _ref("competency", "competencies", "Of what."),
        _level("level", "The level seen."),
        Column("date", "date", ns.DCTERMS + "date", "The day it was seen."),
        _own("source", "choice", "Who says so.", default="unstated", choices=records.SOURCES),
        _own("valid_until", "date", "The last day it counts.", default=None),
        _own("assessor", "text", "Who assessed (an id is best).", default=""),
        _own("recorded_on", "date", "The day it was written down.", default=None),
    ),
    ("person", "competency", "date", "source", "assessor", "level"),
)

COVER_NEEDS: Final = Table(
    "cover_needs",
    records.CoverNeed,
    "cover-need",
    ns.NW + "CoverNeed",
    ns.GRAPH_TEAMS,
    (
        _ref("team", "teams", "The team that needs it."),
        _ref("competency", "competencies", "What must be there."),
        _level("level", "At which level."),
        _own("minimum", "integer", "People present at the least.", default=1, minimum=1),
        _own(
            "target",
            "integer",
            "People qualified.",
            default=lambda values: max(2, values["minimum"]),
            minimum=1,
        ),
        _own("criticality", "integer", "5 = life, law or supply within hours.", default=3, minimum=1, maximum=5),
        _own("applies", "text", "team, each-shift, or the id of one shift.", default=records.APPLIES_TEAM),
        _own("together", "text", "Needs of one group must be met by different people at once.", default=""),
    ),
    ("team", "competency", "level", "applies"),
)

PLACES: Final = Table(
    "places",
    records.Place,
    "place",
    ns.NW + "Place",
    ns.GRAPH_TEAMS,
    (
        _ID,
        _ref("team", "teams", "The team that must man it."),
        _ref("role", "roles", "What its holder must be able to do."),
        _ref("shift", "shifts", "The shift, where it belongs to one.", default=""),
        _own("count", "integer", "How many people at once.", default=1, minimum=1),
    ),
    ("id",),
)

TABLES: Final[dict[str, Table]] = {
    table.name: table
    for table in (
        SCALES,
        COMPETENCIES,
        ROLES,
        REQUIREMENTS,
        COURSES,
        OUTCOMES,
        ENTRY_CONDITIONS,
        TEAMS,
        SHIFTS,
        PEOPLE,
        ABSENCES,
        ASSESSMENTS,
        COVER_NEEDS,
        PLACES,
    )
}

#: Columns that must not exist, each with the reason it is refused.
REFUSED_COLUMNS: Final[dict[str, str]] = {
    name: reason
    for names, reason in (
        (
            ("birth_date", "birthdate", "date_of_birth", "birthday", "age"),
            "age plays no part in what a person can do",
        ),
        (("sex", "gender"), "sex plays no part in what a person can do"),
        (("nationality", "ethnicity", "religion", "origin"), "origin plays no part in what a person can do"),
        (("health", "disability", "illness", "diagnosis"), "health data do not belong in a competency graph"),
        (
            ("reason", "absence_reason", "reason_of_absence", "absence_type"),
            "the reason of an absence is nobody's business here: dates are enough",
        ),
    )
    for name in names
}
