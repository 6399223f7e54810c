"""What a row of the history says in words: one template for table, column and change. Only what was stated is said."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from typing import Any, Final

from api.desk.names import amount, join_names
from api.desk.plain_cells import say_day
from api.desk.record_words import make_namer, make_reference_namer
from api.desk.table_words import tell_label, tell_one
from ontology.errors import shorten
from ontology.model.changes import ColumnChange, Row
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot
from ontology.snapshot.successors import find_successors
from ontology.store.history import Commit

_SHOWN: Final = 80
_MADE: Final = {
    "requirements": (
        "{role} now asks {competency} at level {level}, {necessity}",
        "{role} no longer asks {competency}",
    ),
    "outcomes": ("{course} now teaches {competency} to level {level}", "{course} no longer teaches {competency}"),
    "entry_conditions": (
        "{course} now builds on {competency} at level {level}",
        "{course} no longer builds on {competency}",
    ),
    "cover_needs": (
        "{team} now needs {minimum} with {competency} at level {level}",
        "{team} no longer needs {competency} at level {level}",
    ),
    "mappings": ("{competency} now mapped to {target}", "{competency} no longer mapped to {target}"),
    "equivalences": ("{competency} now counts as {counts_as}", "{competency} no longer counts as {counts_as}"),
    "level_maps": (
        "level {from_rank} of scale {from_scale} now read as {to_rank} on scale {to_scale}",
        "level {from_rank} of scale {from_scale} no longer read as {to_rank} on scale {to_scale}",
    ),
}
#: What a change is of: "level of Filter operation for Treatment operator".
_OF: Final = {
    "requirements": "{competency} for {role}",
    "outcomes": "{competency} in {course}",
    "entry_conditions": "{competency} before {course}",
    "cover_needs": "{competency} in {team}",
    "equivalences": "{competency} as {counts_as}",
    "mappings": "{competency} to {target}",
    "level_maps": "level {from_rank} of scale {from_scale} on scale {to_scale}",
}
#: Tables whose rows are told by what they name, and not by what a record is called.
TOLD_BY_WHAT: Final = frozenset(_OF)
_FLAGS: Final = {
    "safety": ("now a safety matter", "no longer a safety matter"),
    "appointment": ("now needs an appointment", "no longer needs an appointment"),
    "renews": ("now only renews", "no longer only renews"),
    "is_block": ("now held in one piece", "no longer held in one piece"),
    "learned_on_job": ("now learned on the job", "no longer learned on the job"),
}
_FIELD: Final = re.compile(r"\{(\w+)\}")
#: How the store's own texts begin; what follows a colon, and any other text, was given by a person.
_AUTOMATIC: Final = re.compile(
    r"(?:(?:made|replaced|removed|changed) \S+|(?:made|replaced|removed) [0-9][\w ,]+|results of \S+|load [^:]+)"
    r"(?:: (?P<own>.*))?",
    re.DOTALL,
)


class HistoryWords:
    """Tells rows in words, by the names of a state: of the present, with what has gone as it last was."""

    def __init__(self, names: Snapshot) -> None:
        self._names = names
        self._say = make_reference_namer(names)
        self._namers: dict[str, Callable[[Any], str]] = {}

    def name(self, row: Row) -> str:
        """Return what the record of a row is called now, or was called last."""
        present = self._names.get_all(row.table).get(row.key)
        record = present or row.after or row.before
        if row.table == "scales":
            return f"Level {record.rank} of {record.scale}"
        if row.table not in self._namers:
            self._namers[row.table] = make_namer(self._names, TABLES[row.table])
        return self._namers[row.table](record)

    def tell(self, row: Row, commit: Commit | None = None) -> str:
        """Return a row in words; with its commit, by whom, when, and why where a person said so."""
        told = "; ".join(self._tell_all(row))
        if commit is None:
            return told
        why = get_own_reason(commit.why)
        return f"{told}, by {commit.who}, {say_day(commit.when.date())}{f': {why}' if why else ''}"

    def _tell_all(self, row: Row) -> list[str]:
        if row.change != "changed":
            record = row.after or row.before
            made = _MADE.get(row.table)
            if made is not None:
                return [self._fill(made[row.change == "removed"], row.table, record)]
            if row.table == "replacements":
                return [self.name(row) + ("" if row.change == "added" else ": no longer")]
            what = "level" if row.table == "scales" else tell_one(TABLES[row.table])
            return [f"{self.name(row)}: {what} {row.change}"]
        told = [self._tell_column(row, change) for change in row.columns if change.stated]
        return told or [f"{self.name(row)} changed"]

    def _tell_column(self, row: Row, change: ColumnChange) -> str:
        name, _, language = change.column.partition("@")
        column = TABLES[row.table].get_column(name)
        label = tell_label(row.table, name) + (f" ({language})" if language else "")
        label = label[0].lower() + label[1:]
        if change.is_several:
            return self._tell_several(label, column.refers_to, name, change)
        if name == "retired_on":
            return self.tell_retired(row.table, row.key[0]) if change.after else "in use again"
        if name in ("label", "name") and not language and change.before:
            return f"renamed from {change.before} to {change.after}"
        if column.kind == "flag" and name in _FLAGS:
            return _FLAGS[name][not change.after]
        old, new = (self._say_value(column.refers_to, value) for value in (change.before, change.after))
        if column.kind == "text" and not column.refers_to and max(len(old), len(new)) > _SHOWN // 2:
            return f"{label} changed from “{shorten(old, _SHOWN)}” to “{shorten(new, _SHOWN)}”"
        if change.direction and not isinstance(change.after, dt.date):
            of = _OF.get(row.table)
            about = self._fill(of, row.table, row.after) if of else self.name(row)
            return f"{label} of {about} {change.direction} from {old} to {new}"
        if not old:
            return f"{label} now {new}"
        return f"{label} changed from {old} to {new}" if new else f"{label} no longer {old}"

    def tell_retired(self, table_name: str, record_id: str) -> str:
        """Return that a record was retired, and what took its place."""
        places = [one.id for one in find_successors(self._names, table_name, record_id)]
        named = join_names([self._say(table_name, one) for one in places])
        return f"retired, replaced by {named}" if places else "retired"

    def _tell_several(self, label: str, refers_to: str, name: str, change: ColumnChange) -> str:
        gone, new = ([self._say_value(refers_to, one) for one in some] for some in (change.before, change.after))
        if name == "broader":
            if len(gone) == len(new) == 1:
                return f"moved from under {gone[0]} to under {new[0]}"
            parts = [f"now also under {join_names(new)}"] if new else []
            parts += [f"no longer under {join_names(gone)}"] if gone else []
            return ", ".join(parts)
        parts = [f"now also {join_names(new)}"] if new else []
        parts += [f"no longer {join_names(gone)}"] if gone else []
        return f"{label}: {', '.join(parts)}"

    def _fill(self, template: str, table_name: str, record: Any) -> str:
        columns = {column.attribute: column for column in TABLES[table_name].columns}
        values = {
            name: self._say_value(columns[name].refers_to, getattr(record, name)) for name in _FIELD.findall(template)
        }
        return template.format(**values)

    def _say_value(self, refers_to: str, value: Any) -> str:
        if value is None or value == "":
            return ""
        if refers_to:
            return self._say(refers_to, value)
        if isinstance(value, dt.date):
            return say_day(value)
        if isinstance(value, bool):
            return "yes" if value else "no"
        return amount(value) if isinstance(value, (int, float)) else str(value)


def get_own_reason(why: str) -> str:
    """Return the reason that a person gave for a commit; "" where the text is the store's own.

    Examples
    --------
    >>> get_own_reason("replaced roles/a: New plant"), get_own_reason("replaced roles/a"), get_own_reason("New plant")
    ('New plant', '', 'New plant')
    """
    found = _AUTOMATIC.fullmatch(why)
    return (found["own"] or "") if found else why


def dump_row(row: Row, words: HistoryWords) -> dict[str, Any]:
    """Return a row as JSON has it: from and to of each column, or gone and new of one that holds several values."""
    return {
        "table": row.table,
        "id": row.id,
        "label": words.name(row),
        "change": row.change,
        "columns": [_dump_column(change) for change in row.columns],
    }


def _dump_column(change: ColumnChange) -> dict[str, Any]:
    ends = ("gone", "new") if change.is_several else ("from", "to")
    values = dict(zip(ends, (change.before, change.after), strict=True))
    return {"column": change.column} | values | {"direction": change.direction, "stated": change.stated}
