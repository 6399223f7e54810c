"""The tables of the weekly work: memberships, duties, appointments, obligations, sessions, orientation, practice."""

from __future__ import annotations

from typing import Final

from ontology.model import work_records as records
from ontology.model.columns import (
    ID_COLUMN,
    LABEL_COLUMN,
    Column,
    Table,
    make_from,
    make_level,
    make_own,
    make_ref,
    make_to,
)
from ontology.rdf import namespaces as ns

_RECORDED_ON: Final = make_own("recorded_on", "date", "The day it was written down.", default=None)
_DATE: Final = Column("date", "date", ns.DCTERMS + "date", "The day it was done.")


SITES: Final = Table("sites", records.Site, "site", ns.NW + "Site", ns.GRAPH_TEAMS, (ID_COLUMN, LABEL_COLUMN), ("id",))

EQUIVALENCES: Final = Table(
    "equivalences",
    records.Equivalence,
    "equivalence",
    ns.NW + "Equivalence",
    ns.GRAPH_FRAMEWORK,
    (
        make_ref("competency", "competencies", "What is held."),
        make_ref("counts_as", "competencies", "What it counts as.", ns.NW + "countsAs"),
        make_level("level", "The level of it that must be held.", default=1),
        make_level("as_level", "The level it counts as.", default=1),
        make_from("First day it counts; empty: always.", default=None),
        make_to("Last day it counts; empty: no end.", default=None),
    ),
    ("competency", "counts_as"),
)

MEMBERSHIPS: Final = Table(
    "memberships",
    records.Membership,
    "membership",
    ns.NW + "Membership",
    ns.GRAPH_PEOPLE,
    (
        make_ref("person", "people", "Who belongs there."),
        make_from("First day there."),
        make_ref("team", "teams", "The team.", ns.ORG + "organization"),
        make_to("Last day there; empty: no end.", default=None),
        make_ref("role", "roles", "The role there; empty: the person's own.", default=""),
        make_ref("shift", "shifts", "The shift there; empty: the person's own in their own team.", default=""),
        make_own(
            "kind",
            "choice",
            "own = of the team, lent = for a while, contractor = of another company.",
            default="own",
            choices=records.MEMBERSHIP_KINDS,
        ),
    ),
    ("person", "from_date"),
)

DUTIES: Final = Table(
    "duties",
    records.Duty,
    "duty",
    ns.NW + "Duty",
    ns.GRAPH_PEOPLE,
    (
        make_ref("person", "people", "Who stands there."),
        make_ref("place", "places", "The place."),
        make_from("First day."),
        make_to("Last day; empty: the first.", default=lambda values: values["from_date"]),
        make_ref("supervised_by", "people", "Who watches over them.", ns.NW + "supervisedBy", default=""),
        _RECORDED_ON,
    ),
    ("person", "place", "from_date"),
)

APPOINTMENTS: Final = Table(
    "appointments",
    records.Appointment,
    "appointment",
    ns.NW + "Appointment",
    ns.GRAPH_PEOPLE,
    (
        make_ref("person", "people", "Who is appointed."),
        make_ref("competency", "competencies", "For what."),
        make_from("First day in force."),
        make_to("Last day in force; empty: no end.", default=None),
        make_level("level", "Up to which level; empty: any.", default=None),
        make_own("appointed_by", "text", "Who appointed them (an id is best).", default=""),
        _RECORDED_ON,
    ),
    ("person", "competency", "from_date"),
)

PRACTICES: Final = Table(
    "practices",
    records.Practice,
    "practice",
    ns.NW + "Practice",
    ns.GRAPH_PEOPLE,
    (
        make_ref("person", "people", "Who did it."),
        make_ref("competency", "competencies", "What was done."),
        _DATE,
        make_own("count", "integer", "How often that day.", default=1, minimum=0),
        _RECORDED_ON,
    ),
    ("person", "competency", "date"),
)

OBLIGATIONS: Final = Table(
    "obligations",
    records.Obligation,
    "obligation",
    ns.NW + "Obligation",
    ns.GRAPH_TEAMS,
    (
        ID_COLUMN,
        LABEL_COLUMN,
        make_ref("competency", "competencies", "What must be held."),
        make_level("level", "At which level.", default=1),
        make_own("rule", "choice", "Whom it binds.", default="everyone", choices=records.OBLIGATION_RULES),
        make_own("of", "text", "Id of the role, place, team or site that the rule names.", default=""),
        make_own("days_after", "integer", "Days of grace for newcomers; 0 = none.", default=0, minimum=0),
        make_from("First day it binds; empty: always.", default=None),
        make_to("Last day it binds; empty: no end.", default=None),
        make_own("legal_basis", "text", "Law, standard or rule of the company that asks it.", default=""),
        make_own("change", "text", "The change of plant or law it belongs to.", default=""),
    ),
    ("id",),
)

SESSIONS: Final = Table(
    "sessions",
    records.Session,
    "session",
    ns.NW + "Session",
    ns.GRAPH_OFFERS,
    (
        ID_COLUMN,
        make_ref("course", "courses", "The course that is held."),
        make_from("First day."),
        make_to("Last day; empty: the first.", default=lambda values: values["from_date"]),
        make_own("seats", "integer", "Learners at once; empty: as the course says.", default=None, minimum=1),
        make_ref("site", "sites", "The site it is held at.", default=""),
        make_own("where", "text", "Room or address.", default=""),
        make_own("state", "choice", "How it stands.", default="planned", choices=records.SESSION_STATES),
        make_own("book_by", "date", "Last day to book; empty: as the lead weeks of the course say.", default=None),
        make_own("fixed_cost", "number", "Cost of holding it, however many come.", default=0.0, minimum=0),
        make_own("trip_cost", "number", "Cost of the way for one learner.", default=0.0, minimum=0),
    ),
    ("id",),
)

BOOKINGS: Final = Table(
    "bookings",
    records.Booking,
    "booking",
    ns.NW + "Booking",
    ns.GRAPH_PEOPLE,
    (
        make_ref("session", "sessions", "The session."),
        make_ref("person", "people", "Whose seat."),
        make_own("state", "choice", "How it stands.", default="booked", choices=records.BOOKING_STATES),
        make_own("booked_on", "date", "The day it was asked for or booked.", default=None),
        _RECORDED_ON,
    ),
    ("session", "person"),
)

ORIENTATION_ITEMS: Final = Table(
    "orientation_items",
    records.OrientationItem,
    "orientation-item",
    ns.NW + "OrientationItem",
    ns.GRAPH_TEAMS,
    (
        ID_COLUMN,
        LABEL_COLUMN,
        make_own("rule", "choice", "For whom it is.", default="everyone", choices=records.ORIENTATION_RULES),
        make_own("of", "text", "Id of the role, team or site that the rule names.", default=""),
        make_own("owner", "text", "Who sees to it.", default=""),
        make_own("offset_days", "integer", "Days from the start date; below 0: before it.", default=0),
        make_own("before_work", "flag", "Whether it must be done before work begins.", default=False),
        make_ref("competency", "competencies", "Holding it shows that the item is done.", default=""),
        make_level("level", "At which level.", default=1),
        make_own("hours", "number", "Hours it takes.", default=None, minimum=0),
    ),
    ("id",),
)

ORIENTATION_DONE: Final = Table(
    "orientation_done",
    records.OrientationDone,
    "orientation-done",
    ns.NW + "OrientationDone",
    ns.GRAPH_PEOPLE,
    (
        make_ref("person", "people", "The newcomer."),
        make_ref("item", "orientation_items", "What was done."),
        _DATE,
        make_own("done_by", "text", "Who did it with them (an id is best).", default=""),
        _RECORDED_ON,
    ),
    ("person", "item"),
)
