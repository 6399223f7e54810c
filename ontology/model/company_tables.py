"""The tables of a company: teams, shifts, people, absences, assessments, cover needs, places."""

from __future__ import annotations

from typing import Final

from ontology.model import records
from ontology.model.columns import ID_COLUMN, LABEL_COLUMN, Column, Table, make_level, make_own, make_ref
from ontology.rdf import namespaces as ns

TEAMS: Final = Table(
    "teams",
    records.Team,
    "team",
    ns.NW + "Team",
    ns.GRAPH_TEAMS,
    (
        ID_COLUMN,
        LABEL_COLUMN,
        make_ref("part_of", "teams", "The team it is part of.", ns.ORG + "subOrganizationOf", default=""),
        make_own(
            "absence_rate",
            "number",
            "Share of days on which a member is away: one figure for the whole team, 0 to 1.",
            default=None,
            minimum=0,
            maximum=1,
        ),
        make_ref("site", "sites", "Where it works; empty: where the team it is part of does.", default=""),
    ),
    ("id",),
)

SHIFTS: Final = Table(
    "shifts",
    records.Shift,
    "shift",
    ns.NW + "Shift",
    ns.GRAPH_TEAMS,
    (ID_COLUMN, make_ref("team", "teams", "The team whose crew it is."), LABEL_COLUMN),
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
        make_ref("team", "teams", "The team.", ns.ORG + "memberOf", default=""),
        make_ref("shift", "shifts", "The shift.", default=""),
        make_ref("role", "roles", "The present role.", default=""),
        make_own("study_hours_per_week", "number", "Hours a week free for learning.", default=4.0, minimum=0),
        make_own("start_date", "date", "First day.", default=None),
        make_own("end_date", "date", "Last day.", default=None),
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
        make_ref("person", "people", "Who is away."),
        make_own("from", "date", "First day away.", field="from_date"),
        make_own("to", "date", "Last day away.", field="to_date"),
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
        make_ref("person", "people", "Whose level."),
        make_ref("competency", "competencies", "Of what."),
        make_level("level", "The level seen; 0 = assessed, and below level 1.", minimum=0),
        Column("date", "date", ns.DCTERMS + "date", "The day it was seen."),
        make_own("source", "choice", "Who says so.", default="unstated", choices=records.SOURCES),
        make_own("valid_until", "date", "The last day it counts.", default=None),
        make_own("assessor", "text", "Who assessed (an id is best).", default=""),
        make_own("recorded_on", "date", "The day it was written down.", default=None),
        make_own("evidence", "text", "Where it can be seen: a certificate's number, a file.", default=""),
        make_own("withdrawn_on", "date", "The day it was taken back; it counts nowhere then.", default=None),
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
        make_ref("team", "teams", "The team that needs it."),
        make_ref("competency", "competencies", "What must be there."),
        make_level("level", "At which level."),
        make_own("minimum", "integer", "People present at the least.", default=1, minimum=1),
        make_own(
            "target",
            "integer",
            "People qualified.",
            default=lambda values: max(2, values["minimum"]),
            minimum=1,
        ),
        make_own("criticality", "integer", "5 = life, law or supply within hours.", default=3, minimum=1, maximum=5),
        make_own("applies", "text", "team, each-shift, or the id of one shift.", default=records.APPLIES_TEAM),
        make_own("together", "text", "Needs of one group must be met by different people at once.", default=""),
        make_own("occasions_per_year", "number", "How often a year the work comes up.", default=None, minimum=0),
        make_own("hours_per_year", "number", "Hours a year it must be covered.", default=None, minimum=0, maximum=8784),
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
        ID_COLUMN,
        make_ref("team", "teams", "The team that must fill it."),
        make_ref("role", "roles", "What its holder must be able to do."),
        Column("label", "text", ns.SKOS + "prefLabel", "What people read; empty: its role and shift.", default=""),
        make_ref("shift", "shifts", "The shift, where it belongs to one.", default=""),
        make_own("count", "integer", "How many people at once.", default=1, minimum=1),
        make_own("hours_per_year", "number", "Hours a year it must be filled.", default=None, minimum=0, maximum=8784),
        make_own(
            "strain", "integer", "How hard it is on its holder: 1 = light, 5 = heavy.", default=3, minimum=1, maximum=5
        ),
        make_own("trainees", "integer", "How many may learn there beside those who fill it.", default=0, minimum=0),
        make_own("trainees_per_able", "integer", "Trainees for each who fills it.", default=1, minimum=0),
    ),
    ("id",),
)
