"""Rules on what is retired: nothing that is in use names it, and what took its place is there.

A retired record and the rows that hang on it are set aside; they have rules of their own.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from ontology.checks.rules.base import Problem, RecordCheck, Rule, describe
from ontology.model.columns import ID_PATTERN
from ontology.model.keeping_records import Replacement
from ontology.model.records import Assessment, Competency
from ontology.model.references import get_reference_fields, is_referring
from ontology.model.retirable import RETIRABLE
from ontology.model.tables import TABLES
from ontology.plurals import format_count
from ontology.snapshot.level_maps import find_level_map
from ontology.snapshot.snapshot import Snapshot
from ontology.snapshot.successors import find_successors

_COUNTED: Final = ("certificate", "assessor", "manager")


def _make_retired_check(table_name: str) -> RecordCheck:
    fields = [(to, field) for to in RETIRABLE for field in get_reference_fields(table_name, to)]
    names = {column.attribute: column.name for column in TABLES[table_name].columns}

    def check(snapshot: Snapshot, record: Any) -> Iterator[Problem]:
        if not snapshot.retired:
            return
        for to, field in fields:
            value = getattr(record, field)
            for one in value if isinstance(value, tuple) else (value,):
                if snapshot.retired.has(to, one) and is_referring(table_name, record, to, field):
                    reason = (
                        f"{describe(table_name, record)} names {one}, which is retired; {_tell_way(snapshot, to, one)}"
                    )
                    yield Problem(names[field], str(one), reason)

    return check


def _tell_way(snapshot: Snapshot, table: str, old: str) -> str:
    places = [successor.id for successor in find_successors(snapshot, table, old)]
    if places:
        return f"name what took its place: {', '.join(places)}"
    return "nothing took its place: name another one, or remove this"


def _check_replacement(snapshot: Snapshot, record: Replacement) -> Iterator[Problem]:
    what = describe("replacements", record)
    if record.old == record.new:
        yield Problem("new", record.new, f"{what}: nothing takes its own place; name another one")
        return
    for column, value in (("old", record.old), ("new", record.new)):
        if not ID_PATTERN.fullmatch(value):
            yield Problem(column, value, f"{what}: {value!r} is not a valid id")
            return
    if _leads_back(snapshot, record):
        reason = f"{what}: what takes the place of {record.new} leads back to {record.old}; a circle has no end"
        yield Problem("new", record.new, reason)
    elif (record.new,) not in snapshot.get_all(record.table):
        yield Problem("new", record.new, f"{what}: {record.table} has no row {record.new!r}; name one that is there")
    elif snapshot.retired.has(record.table, record.new) and not find_successors(snapshot, record.table, record.new):
        reason = f"{what}: {record.new} is retired itself and nothing took its place; name one that is in use"
        yield Problem("new", record.new, reason)


def _leads_back(snapshot: Snapshot, record: Replacement) -> bool:
    open_ids, seen = [record.new], {record.new}
    while open_ids:
        for row in snapshot.get_replacements((record.table, open_ids.pop())):
            if row.new == record.old:
                return True
            if row.new not in seen:
                seen.add(row.new)
                open_ids.append(row.new)
    return False


def _check_scales(snapshot: Snapshot, record: Replacement) -> Iterator[Problem]:
    known = snapshot.get_all("competencies")
    old, new = known.get((record.old,)), known.get((record.new,))
    if record.table != "competencies" or old is None or new is None:
        return
    if find_level_map(snapshot, old.scale, new.scale) is None:
        reason = (
            f"{describe('replacements', record)}: {record.old} is measured on scale {old.scale} and {record.new} on "
            f"{new.scale}; say by a whole map (level_maps) what each rank of {old.scale} counts as on {new.scale}, or "
            "name one that is measured on the same scale"
        )
        yield Problem("new", record.new, reason)


def _check_in_use(snapshot: Snapshot, record: Replacement) -> Iterator[Problem]:
    if (record.old,) in snapshot.get_table(record.table):
        reason = f"{describe('replacements', record)} changes nothing while {record.old} is in use; retire it"
        yield Problem("old", record.old, reason)


def _check_later_assessment(snapshot: Snapshot, record: Assessment) -> Iterator[Problem]:
    retired_on = snapshot.retired.competencies[record.competency].retired_on
    if retired_on is not None and record.date > retired_on:
        reason = (
            f"assessment of {record.person} in {record.competency} on {record.date}: it was retired on {retired_on}, "
            f"and nothing is assessed of it after that day; {_tell_way(snapshot, 'competencies', record.competency)}"
        )
        yield Problem("date", record.date.isoformat(), reason)


def _check_held(snapshot: Snapshot, record: Competency) -> Iterator[Problem]:
    if snapshot.get_replacements(("competencies", record.id)):
        return
    rows = snapshot.retired.get_table("assessments").values()
    people = {
        row.person
        for row in rows
        if row.competency == record.id and row.source in _COUNTED and row.level and row.withdrawn_on is None
    }
    if people:
        held = f"{format_count(len(people), 'person was', 'people were')} assessed in it"
        reason = f"competency {record.id} is retired and nothing took its place, though {held}; say what did"
        yield Problem("retired_on", str(record.retired_on), reason)


#: Of what is in use.
RULES: Final = (
    *(
        Rule("nothing names what is retired", "error", name, _make_retired_check(name))
        for name in TABLES
        if name != "replacements" and any(get_reference_fields(name, to) for to in RETIRABLE)
    ),
    Rule("what took the place is there", "error", "replacements", _check_replacement),
    Rule("what took the place is measured alike", "error", "replacements", _check_scales),
    Rule("replaced while in use", "remark", "replacements", _check_in_use),
)

#: Of what is set aside.
RETIRED_RULES: Final = (
    Rule("nothing is assessed of what is retired", "error", "assessments", _check_later_assessment),
    Rule("retired while people hold it", "remark", "competencies", _check_held),
)
