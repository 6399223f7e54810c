"""What a record is called in a sentence, and its columns as cells: plain words, names instead of ids."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from typing import Any, Final

from api.desk.names import Names
from api.desk.sheet import Cell, Quantity, Ref, Refs
from api.pages.cells import say_day
from api.pages.forms.words import tell_one
from ontology.checks.rules.levels import LEVEL_COLUMNS, get_measured
from ontology.model.columns import Column, Table
from ontology.model.records import APPLIES_EACH_SHIFT, APPLIES_TEAM
from ontology.model.references import NAMING_COLUMNS, get_named_table
from ontology.snapshot.names import get_place_name
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "add_article",
    "build_cell",
    "get_record_id",
    "list_key",
    "list_named_fields",
    "name_record",
    "name_reference",
]

#: Table -> what a record is called; {field} is the name of what a field refers to, or its day.
_SENTENCES: Final = {
    "requirements": "{role} asks {competency}",
    "outcomes": "{course} teaches {competency}",
    "entry_conditions": "{course} builds on {competency}",
    "absences": "{person} away from {from_date}",
    "assessments": "{person}: {competency} seen on {date}",
    "cover_needs": "{team} needs {competency} at level {level}",
    "equivalences": "{competency} counts as {counts_as}",
    "memberships": "{person} in {team} from {from_date}",
    "duties": "{person} at {place} from {from_date}",
    "appointments": "{person} appointed for {competency} from {from_date}",
    "practices": "{person} did {competency} on {date}",
    "sessions": "{course} from {from_date}",
    "bookings": "{person} in {session}",
    "orientation_done": "{person} through {item}",
    "requests": "{person} wishes for {course}",
    "assessors": "{person} as assessor",
    "agreed_plans": "{person} on the way to {role}",
    "agreed_courses": "{course} in the plan of {plan}",
}
_FIELD: Final = re.compile(r"\{(\w+)\}")
_WHERE: Final = {APPLIES_TEAM: "the whole team", APPLIES_EACH_SHIFT: "each shift"}
#: Texts that may be the id of a person.
_PEOPLE_AS_TEXT: Final = ("assessor", "appointed_by", "agreed_with", "done_by", "owner")


def add_article(word: str) -> str:
    """Return a word with its article.

    Examples
    --------
    >>> add_article("absence"), add_article("place")
    ('an absence', 'a place')
    """
    return f"{'an' if word[0] in 'aeiou' else 'a'} {word}"


def list_named_fields(table: Table) -> tuple[str, ...]:
    """Return the fields of a record that stand in what it is called."""
    return tuple(_FIELD.findall(_SENTENCES.get(table.name, "")))


def get_record_id(table: Table, record: Any) -> str:
    """Return the id of a record as its address holds it; of a scale's levels that of the scale."""
    return "~".join(list_key(table, record))


def list_key(table: Table, record: Any) -> tuple[str, ...]:
    """Return the parts of a record's key as texts; of a scale's levels the id of the scale."""
    return (str(record[0].scale),) if table.name == "scales" else tuple(map(str, table.get_key(record)))


def name_record(snapshot: Snapshot, table: Table, record: Any) -> str:
    """Return what a record is called in the sentence that it makes: "Sampler asks Water chemistry"."""
    if table.name == "scales":
        return f"Scale {record[0].scale}"
    if table.name == "places":
        return get_place_name(snapshot, record.id)
    sentence = _SENTENCES.get(table.name)
    if sentence is None:
        named = getattr(record, "label", None) or getattr(record, "name", None)
        return str(named or f"{tell_one(table)} {get_record_id(table, record)}")
    told = _FIELD.sub(lambda match: _say_field(snapshot, table, record, match[1]), sentence)
    where = getattr(record, "applies", APPLIES_TEAM)
    if where == APPLIES_TEAM:
        return told
    return f"{told}, {_WHERE.get(where) or Names(snapshot).shift(where)}"


def _say_field(snapshot: Snapshot, table: Table, record: Any, attribute: str) -> str:
    value = getattr(record, attribute)
    if isinstance(value, dt.date):
        return say_day(value)
    refers_to = next(column.refers_to for column in table.columns if column.attribute == attribute)
    return name_reference(snapshot, refers_to, str(value)) if refers_to else str(value)


def name_reference(snapshot: Snapshot, table_name: str, record_id: str) -> str:
    """Return what people read for an id of a table; the id itself where no record has it."""
    if table_name == "scales":
        return record_id
    if table_name == "places":
        return get_place_name(snapshot, record_id)
    if table_name == "sessions" and record_id in snapshot.sessions:
        session = snapshot.sessions[record_id]
        return f"{Names(snapshot).course(session.course)}, {say_day(session.from_date)}"
    if table_name == "agreed_plans" and record_id in snapshot.agreed_plans:
        return Names(snapshot).person(snapshot.agreed_plans[record_id].person)
    return Names(snapshot).get(table_name, record_id)


def build_cell(snapshot: Snapshot, table: Table, column: Column, record: Any) -> Cell:
    """Return a column of a record as a cell: levels with their words, ids as links by name, None for nothing."""
    value = getattr(record, column.attribute)
    refers_to = column.refers_to or _find_named(snapshot, table, column, record)
    if value in (None, "", ()):
        return None
    if column.kind == "refs":
        return Refs(tuple(Ref(refers_to, one, name_reference(snapshot, refers_to, one)) for one in value))
    if refers_to:
        return Ref(refers_to, value, name_reference(snapshot, refers_to, value))
    if column.kind in ("texts", "iris"):
        return ", ".join(value)
    if column.name in LEVEL_COLUMNS.get(table.name, ()):
        return Names(snapshot).level(getattr(record, get_measured(column.name)), value)
    if column.kind in ("integer", "number"):
        return Quantity(value, decimals=4)
    return _WHERE.get(value, value) if column.name == "applies" else value  # type: ignore[no-any-return]


def _find_named(snapshot: Snapshot, table: Table, column: Column, record: Any) -> str:
    """Return the table that a text is an id of: what a rule names, who did something; "" where it is just a text."""
    if column.name == NAMING_COLUMNS.get(table.name, ("",))[0]:
        named = get_named_table(table.name, record)
        known: Mapping[str, Any] = getattr(snapshot, named) if named else {}
        return named if getattr(record, column.attribute) in known else ""
    is_person = column.name in _PEOPLE_AS_TEXT and getattr(record, column.attribute) in snapshot.people
    return "people" if is_person else ""
