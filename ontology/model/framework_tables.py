"""The tables of the framework and its offers: scales, competencies, roles, requirements, courses."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from ontology.model import records
from ontology.model.columns import ID_COLUMN, LABEL_COLUMN, Column, Table, make_level, make_own, make_ref
from ontology.rdf import namespaces as ns

_DEFINITION = Column(
    "definition", "text", ns.SKOS + "definition", "What is meant, in a sentence or two.", "", is_long=True
)
_RETIRED_ON = make_own(
    "retired_on", "date", "Since when it is retired: it stays readable, and no answer uses it.", default=None
)
_EXACT_MATCH = Column("exact_match", "iris", ns.SKOS + "exactMatch", "The same concept elsewhere (IRIs).", default=())


#: Methods held in one piece: everyone is there from its first hour to its last.
BLOCK_METHODS: Final = ("block", "classroom", "exercise", "seminar", "simulator", "site visit", "workshop")


def _is_block_method(values: Mapping[str, Any]) -> bool:
    return values["method"].strip().casefold() in BLOCK_METHODS


def _same_as_level(values: Mapping[str, Any]) -> int:
    return int(values["level"])


SCALES: Final = Table(
    "scales",
    records.ScaleLevel,
    "level",
    ns.NW + "Level",
    ns.GRAPH_FRAMEWORK,
    (
        make_ref("scale", "scales", "The scale this level belongs to."),
        make_level("rank", "Position in the scale: 1, 2, 3 ... without a hole."),
        LABEL_COLUMN,
        Column(
            "description", "text", ns.SKOS + "definition", "What is seen in someone at this level.", "", is_long=True
        ),
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
        ID_COLUMN,
        LABEL_COLUMN,
        make_ref("scale", "scales", "The scale its levels are measured on."),
        _DEFINITION,
        Column(
            "broader",
            "refs",
            ns.SKOS + "broader",
            "Wider competencies it belongs to.",
            default=(),
            refers_to="competencies",
        ),
        make_own("kind", "choice", "What it is.", default="skill", choices=records.KINDS),
        make_own(
            "expiry",
            "choice",
            "After its validity: hard = no level any more; review = the level stays, marked review due.",
            default=lambda values: "hard" if values["kind"] == "certificate" else "review",
            choices=records.EXPIRIES,
        ),
        make_own("validity_months", "integer", "How many months an assessment counts.", default=None, minimum=1),
        make_own(
            "validity_rule",
            "choice",
            "Whether validity ends on the same day or at the end of that month.",
            default="same-day",
            choices=records.VALIDITY_RULES,
        ),
        make_own(
            "refresher_months",
            "integer",
            "How many months after a lapse a refresher still restores it; empty: only while held.",
            default=None,
            minimum=0,
        ),
        make_own("safety", "flag", "Whether an error can hurt someone.", default=False),
        make_own("assessment_hours", "number", "Hours an assessment takes.", default=None, minimum=0),
        Column("alt_labels", "texts", ns.SKOS + "altLabel", "Other names.", default=()),
        _EXACT_MATCH,
        make_own(
            "practices_per_year",
            "number",
            "How often a year a holder must do it to stay current.",
            default=None,
            minimum=0,
        ),
        make_own(
            "renewal_window_months",
            "integer",
            "Months before the last day within which a renewal counts from that day; empty: from its own.",
            default=None,
            minimum=0,
        ),
        Column(
            "holds_while",
            "refs",
            ns.NW + "holdsWhile",
            "It is suspended while one of these is not held.",
            default=(),
            refers_to="competencies",
        ),
        make_own(
            "appointment", "flag", "Whether only those whom the employer has appointed count for cover.", default=False
        ),
        _RETIRED_ON,
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
        ID_COLUMN,
        LABEL_COLUMN,
        make_own("family", "text", "The family of roles it belongs to.", default=""),
        _DEFINITION,
        make_own(
            "months_to_full",
            "integer",
            "Months in the role until its full levels are normally reached.",
            default=12,
            minimum=0,
        ),
        _EXACT_MATCH,
        _RETIRED_ON,
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
        make_ref("role", "roles", "The role that asks."),
        make_ref("competency", "competencies", "What it asks for."),
        make_level("level", "The full level."),
        make_level("entry_level", "The level needed on the first day; 0 = none.", default=_same_as_level, minimum=0),
        make_level(
            "unsupervised_level",
            "The level that fills a place without supervision; 0 = none.",
            default=_same_as_level,
            minimum=0,
        ),
        make_own("weight", "number", "Importance, 1 to 5.", default=3.0, minimum=1, maximum=5),
        make_own(
            "necessity",
            "choice",
            "blocking = law or safety, nothing begins without it.",
            default="essential",
            choices=records.NECESSITIES,
        ),
        make_own(
            "learned_on_job",
            "flag",
            "Whether time in the role brings it to full level (default: yes unless desirable or a certificate).",
            default=None,
        ),
        make_own("measured_level", "number", "Decimal level of an outside source.", default=None, minimum=0),
        make_own("remark", "text", "A remark of the architect.", default="", is_long=True),
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
        ID_COLUMN,
        LABEL_COLUMN,
        make_own("hours", "number", "Hours of the learner.", minimum=0),
        make_own("coach_hours", "number", "Hours of a coach for one learner.", default=0.0, minimum=0),
        make_own("cost", "number", "Cost for one learner.", default=0.0, minimum=0),
        make_own("weeks", "number", "Weeks from its first to its last day.", default=None, minimum=0),
        make_own("method", "text", "How it is delivered.", default=""),
        make_own("strand", "choice", "Experience, social or formal learning.", default="", choices=records.STRANDS),
        make_own("seats", "integer", "Learners at once.", default=None, minimum=1),
        make_own("lead_weeks", "number", "Weeks from asking for it to its first day.", default=0.0, minimum=0),
        make_own(
            "is_block",
            "flag",
            "Whether it is held in one piece: it takes its own weeks, whatever the learner's hours a week.",
            default=_is_block_method,
        ),
        make_own("group_minimum", "integer", "Fewest learners it is held for.", default=1, minimum=1),
        make_own(
            "pass_share", "number", "Share of those who attend that pass, 0 to 1.", default=1.0, minimum=0, maximum=1
        ),
        _RETIRED_ON,
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
        make_ref("course", "courses", "The course."),
        make_ref("competency", "competencies", "What is learned."),
        make_level("level", "The level it reaches."),
        make_own(
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
        make_ref("course", "courses", "The course."),
        make_ref("competency", "competencies", "What its learners must bring."),
        make_level("level", "The level they must bring."),
    ),
    ("course", "competency"),
)
