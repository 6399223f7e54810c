"""The tables by name, and the columns that are refused.

Everything that reads or writes rows, triples or JSON goes through this description.
"""

from __future__ import annotations

from typing import Final

from ontology.model.agreement_tables import AGREED_COURSES, AGREED_PLANS, ASSESSORS, REQUESTS
from ontology.model.columns import Table
from ontology.model.company_tables import ABSENCES, ASSESSMENTS, COVER_NEEDS, PEOPLE, PLACES, SHIFTS, TEAMS
from ontology.model.framework_itself import FRAMEWORK
from ontology.model.framework_tables import (
    COMPETENCIES,
    COURSES,
    ENTRY_CONDITIONS,
    OUTCOMES,
    REQUIREMENTS,
    ROLES,
    SCALES,
)
from ontology.model.keeping_tables import LEVEL_MAPS, REPLACEMENTS, TRANSLATIONS
from ontology.model.mapping_tables import MAPPINGS
from ontology.model.work_tables import (
    APPOINTMENTS,
    BOOKINGS,
    DUTIES,
    EQUIVALENCES,
    MEMBERSHIPS,
    OBLIGATIONS,
    ORIENTATION_DONE,
    ORIENTATION_ITEMS,
    PRACTICES,
    SESSIONS,
    SITES,
)
from ontology.rdf import namespaces as ns

TABLES: Final[dict[str, Table]] = {
    table.name: table
    for table in (
        FRAMEWORK,
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
        SITES,
        EQUIVALENCES,
        MAPPINGS,
        MEMBERSHIPS,
        DUTIES,
        APPOINTMENTS,
        PRACTICES,
        OBLIGATIONS,
        SESSIONS,
        BOOKINGS,
        ORIENTATION_ITEMS,
        ORIENTATION_DONE,
        REQUESTS,
        ASSESSORS,
        AGREED_PLANS,
        AGREED_COURSES,
        REPLACEMENTS,
        LEVEL_MAPS,
        TRANSLATIONS,
    )
}

#: The tables whose records are nodes of their own in the graph.
NODE_TABLES: Final = {name: table for name, table in TABLES.items() if table is not TRANSLATIONS}

#: The tables whose records are about people: they live in the graph of people, and nowhere else.
PERSONAL_TABLES: Final = frozenset(name for name, table in TABLES.items() if table.graph == ns.GRAPH_PEOPLE)

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
        (
            ("potential", "talent", "performance_rating", "flight_risk", "engagement", "personality"),
            "verdicts and guesses about a person are not kept: only what was seen to be done, by whom and when",
        ),
        (("salary", "pay", "wage"), "what a person earns plays no part in what they can do"),
    )
    for name in names
}


def get_reference_segment(table_name: str) -> str:
    """Return the IRI segment a reference to this table points into (a scale is more than its level rows)."""
    return "scale" if table_name == "scales" else TABLES[table_name].segment
