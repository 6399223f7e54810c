"""Tables and columns in words for people who fill them in: meaning, default, what is allowed."""

from __future__ import annotations

from typing import Final

from ontology.mapping.writer import format_number
from ontology.model.columns import Column, Table
from ontology.model.framework_tables import BLOCK_METHODS

TABLE_MEANINGS: Final[dict[str, str]] = {
    "framework": "The framework itself, in one row with the id this: its title, whose it is, its language and licence.",
    "scales": "The levels of each proficiency scale, from 1 up, with what is seen in someone at each.",
    "competencies": "What people must know, be able to do or hold: each is measured on one scale.",
    "roles": "The roles of the organisation; what they ask stands in requirements.",
    "requirements": "What a role asks of a competency: the full level, and less on the first day where that is enough.",
    "courses": "All ways to learn, off or on the job, with the learner's hours.",
    "outcomes": "The level of a competency that a course leads to.",
    "entry_conditions": "The level of a competency that the learners of a course must bring.",
    "teams": "The teams; a team may be part of another.",
    "shifts": "The crews of a team that work together.",
    "people": "Who works in which team, shift and role. Use neutral ids: they appear in addresses and exports.",
    "absences": "Who is away from when to when. Dates only, never a reason.",
    "assessments": "The level seen in a person on a day, and who says so.",
    "cover_needs": "How many people of a team must be able to do what.",
    "places": "The posts that must be filled, by someone able to do their role.",
    "sites": "Where teams work.",
    "mappings": "What a competency is to a concept of another framework: the same, wider, narrower, or not the same.",
    "equivalences": "Who holds one competency counts as holding another: one direction, one step.",
    "memberships": "Days on which people belong to another team, role or shift than their own.",
    "duties": "Who stood or will stand at which place, from when to when.",
    "appointments": "Whom the employer has appointed for a competency, from when to when.",
    "practices": "How often a person did on a day what a competency is about.",
    "obligations": "What must be held by whom, by law or by your own rule. The list is yours; it is no legal advice.",
    "sessions": "When a course is held, where, and for how many.",
    "bookings": "Whose seat is in which session, and what became of it.",
    "orientation_items": "What a newcomer meets, and on which day from the start.",
    "orientation_done": "The day on which a newcomer was through an item.",
    "requests": "Who wishes for which course, before there is a session with a seat.",
    "assessors": "Who may assess whom in what, and for how many hours in one round of assessments.",
    "agreed_plans": "What was agreed with a person about the way into a role.",
    "agreed_courses": "The courses of an agreed plan, with the days agreed for each.",
    "translations": "Texts in other languages than the main one; a column label@de of a sheet does as well.",
    "replacements": "What took the place of a competency, role or course that was retired.",
    "level_maps": "Which rank of one scale a rank of another is read as: every rank once, never falling.",
}

#: Defaults that hang on other columns of the row.
_COMPUTED: Final[dict[tuple[str, str], str]] = {
    ("competencies", "expiry"): "hard for a certificate, otherwise review",
    ("requirements", "entry_level"): "the full level",
    ("requirements", "unsupervised_level"): "the full level",
    ("requirements", "learned_on_job"): "yes, unless desirable or a certificate",
    ("courses", "is_block"): f"yes where the method is {' or '.join(BLOCK_METHODS)}, otherwise no",
    ("cover_needs", "target"): "the minimum, but at least 2",
    ("duties", "to"): "the first day",
    ("sessions", "to"): "the first day",
}

_ID: Final = "letters, digits, point, hyphen, underscore; no blanks; begins with a letter or digit"
_SEVERAL: Final = "; several are separated by |"


def tell_default(table: Table, column: Column) -> str:
    """Return what an empty cell means; empty for a required column.

    Raises
    ------
    KeyError
        The default is computed and has no words yet.
    """
    if column.is_required:
        return ""
    if callable(column.default) or (table.name, column.name) in _COMPUTED:
        return _COMPUTED[table.name, column.name]
    if column.default in (None, "", ()):
        return "none"
    if isinstance(column.default, bool):
        return "yes" if column.default else "no"
    return format_number(column.default) if isinstance(column.default, int | float) else str(column.default)


def tell_allowed(column: Column) -> str:
    """Return what a cell may hold."""
    if column.kind == "choice":
        return " or ".join(column.choices)
    if column.kind in ("integer", "number"):
        what = "a whole number" if column.kind == "integer" else "a number, decimals with a point"
        least = "" if column.minimum is None else f", at least {column.minimum:g}"
        most = "" if column.maximum is None else f", at most {column.maximum:g}"
        return what + least + most
    return {
        "id": _ID,
        "ref": f"an id of {column.refers_to}" if column.refers_to != "scales" else "the name of a scale, like an id",
        "refs": f"ids of {column.refers_to}{_SEVERAL}",
        "text": "text",
        "texts": f"text{_SEVERAL} (a bar inside a text: \\|)",
        "iri": "an address (IRI)",
        "iris": f"addresses (IRIs){_SEVERAL}",
        "flag": "yes or no",
        "date": "a date as 2026-11-24",
    }[column.kind]
