"""The tables of what people ask for and what is agreed with them: requests, assessors, agreed plans and courses."""

from __future__ import annotations

from typing import Final

from ontology.model import agreement_records as records
from ontology.model.columns import ID_COLUMN, Column, Table, make_from, make_own, make_ref, make_to
from ontology.rdf import namespaces as ns

REQUESTS: Final = Table(
    "requests",
    records.Request,
    "request",
    ns.NW + "Request",
    ns.GRAPH_PEOPLE,
    (
        make_ref("person", "people", "Who asks."),
        make_ref("course", "courses", "The course asked for."),
        make_own("by", "date", "The day by which it is wished for; empty: any.", default=None),
        make_own("asked_on", "date", "The day it was asked for.", default=None),
    ),
    ("person", "course"),
)

ASSESSORS: Final = Table(
    "assessors",
    records.Assessor,
    "assessor",
    ns.NW + "Assessor",
    ns.GRAPH_PEOPLE,
    (
        make_ref("person", "people", "Who may assess."),
        Column(
            "competencies",
            "refs",
            ns.NW + "competencies",
            "What they may assess; empty: what they hold.",
            default=(),
            refers_to="competencies",
        ),
        Column(
            "teams",
            "refs",
            ns.NW + "teams",
            "The teams whose people they assess; empty: all.",
            default=(),
            refers_to="teams",
        ),
        make_own("hours_per_round", "number", "Hours of assessing in one round.", default=8.0, minimum=0),
        make_from("First day they may; empty: always.", default=None),
        make_to("Last day they may; empty: no end.", default=None),
    ),
    ("person",),
)

AGREED_PLANS: Final = Table(
    "agreed_plans",
    records.AgreedPlan,
    "agreed-plan",
    ns.NW + "AgreedPlan",
    ns.GRAPH_PEOPLE,
    (
        ID_COLUMN,
        make_ref("person", "people", "With whom it was agreed."),
        make_ref("role", "roles", "The role it leads to."),
        make_own("agreed_on", "date", "The day it was agreed."),
        make_own("agreed_with", "text", "Who agreed to it for the company (an id is best).", default=""),
        make_own("note", "text", "What else was agreed.", default="", is_long=True),
        make_own("ended_on", "date", "The day it ended, reached or given up; empty: it is open.", default=None),
    ),
    ("id",),
)

AGREED_COURSES: Final = Table(
    "agreed_courses",
    records.AgreedCourse,
    "agreed-course",
    ns.NW + "AgreedCourse",
    ns.GRAPH_PEOPLE,
    (
        make_ref("plan", "agreed_plans", "The agreed plan."),
        make_ref("course", "courses", "The course."),
        make_own("first_day", "date", "The day it was to begin."),
        make_own("last_day", "date", "The day by which it was to be done."),
    ),
    ("plan", "course"),
)
