"""What a record is called in a sentence: plain words, names instead of ids."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from operator import attrgetter
from typing import Any, Final

from api.desk.names import Names
from api.desk.plain_cells import say_day
from api.desk.table_words import tell_one
from ontology.model.columns import Table
from ontology.model.records import APPLIES_EACH_SHIFT, APPLIES_TEAM
from ontology.snapshot.names import get_own_name, get_place_name
from ontology.snapshot.snapshot import Snapshot

#: Table -> what a record is called; {field} is the name of what a field refers to, or its day.
_SENTENCES: Final = {
    "framework": "{title}",
    "requirements": "{role} asks {competency}",
    "outcomes": "{course} teaches {competency}",
    "entry_conditions": "{course} builds on {competency}",
    "absences": "{person} away from {from_date}",
    "assessments": "{person}: {competency} seen on {date}",
    "cover_needs": "{team} needs {competency} at level {level}",
    "equivalences": "{competency} counts as {counts_as}",
    "mappings": "{competency} and {target}",
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
    "replacements": "{old} replaced by {new}",
    "level_maps": "{from_rank} on scale {from_scale} as on scale {to_scale}",
}
_FIELD: Final = re.compile(r"\{(\w+)\}")
#: Where a cover need applies that names no shift.
WHERE: Final = {APPLIES_TEAM: "the whole team", APPLIES_EACH_SHIFT: "each shift"}


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
    return make_id_reader(table)(record)


def make_id_reader(table: Table) -> Callable[[Any], str]:
    """Return `get_record_id` of a table for many records."""
    if table.name == "scales":
        return lambda levels: str(levels[0].scale)
    read = attrgetter(*table.key)
    return (lambda record: "~".join(map(str, read(record)))) if len(table.key) > 1 else lambda record: str(read(record))


def list_key(table: Table, record: Any) -> tuple[str, ...]:
    """Return the parts of a record's key as texts; of a scale's levels the id of the scale."""
    return (str(record[0].scale),) if table.name == "scales" else tuple(map(str, table.get_key(record)))


def name_record(snapshot: Snapshot, table: Table, record: Any) -> str:
    """Return what a record is called in the sentence that it makes: "Sampler asks Water chemistry"."""
    return make_namer(snapshot, table)(record)


def make_namer(snapshot: Snapshot, table: Table) -> Callable[[Any], str]:
    """Return what tells what the records of a table are called, for many of them."""
    if table.name == "scales":
        return lambda levels: f"Scale {levels[0].scale}"
    if table.name == "places":
        return lambda place: get_place_name(snapshot, place.id)
    sentence = _SENTENCES.get(table.name)
    if sentence is None:
        return lambda record: get_own_name(record) or f"{tell_one(table)} {get_record_id(table, record)}"
    refers_to = {column.attribute: column.refers_to for column in table.columns}
    named = [(attribute, refers_to[attribute]) for attribute in _FIELD.findall(sentence)]
    frame, say = _FIELD.sub("%s", sentence), make_reference_namer(snapshot)
    if table.name == "replacements":
        return lambda record: frame % (say(record.table, record.old), say(record.table, record.new))

    def name(record: Any) -> str:
        told = frame % tuple([_say_field(getattr(record, attribute), other, say) for attribute, other in named])
        where = getattr(record, "applies", APPLIES_TEAM)
        return told if where == APPLIES_TEAM else f"{told}, {WHERE.get(where) or say('shifts', where)}"

    return name


def _say_field(value: Any, refers_to: str, say: Callable[[str, str], str]) -> str:
    if refers_to:
        return say(refers_to, value)
    return say_day(value) if isinstance(value, dt.date) else str(value)


def make_reference_namer(snapshot: Snapshot) -> Callable[[str, str], str]:
    """Return `name_reference` of a Snapshot for many ids: the same few come again and again."""
    known: dict[tuple[str, str], str] = {}

    def say(table_name: str, record_id: str) -> str:
        told = known.get((table_name, record_id))
        if told is None:
            told = known[table_name, record_id] = name_reference(snapshot, table_name, record_id)
        return told

    return say


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
