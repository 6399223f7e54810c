"""The merge of an edited slice: its rows, the slice as it was cut, and what the draft says now, cell by cell.

The rule is that of drafts. What both sides changed is left to the draft as a conflict; where the draft has no words for
it (it was brought to the present since, or says something else of that cell itself) the edit is held back.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from loaders.tables.slice_book import SliceRead
from loaders.tables.table_writers import find_stated, format_value
from ontology.live.live_graph import Change
from ontology.model.columns import MANY, Column, Key, Table
from ontology.model.key_text import get_key_text
from ontology.model.tables import TABLES
from ontology.plurals import format_count
from ontology.snapshot.snapshot import Snapshot

__all__ = ["HeldBack", "SliceMerge", "SliceRow", "SlicedCell", "States"]

_NAMED: Final = 10
#: Of texts that stand in columns of other sheets there is no sheet.
_ALL: Final = {name: frozenset(column.name for column in table.columns) for name, table in TABLES.items()}
_NOTHING: Final = object()


@dataclass(frozen=True, slots=True)
class SlicedCell:
    """A cell that changes: its column and the texts before and after; `is_conflict`: others changed it, too."""

    column: str
    before: str
    after: str
    is_conflict: bool = False


@dataclass(frozen=True, slots=True)
class SliceRow:
    """A row that changes: added, changed, removed."""

    table: str
    id: str
    change: str
    cells: tuple[SlicedCell, ...] = ()
    is_conflict: bool = False


@dataclass(frozen=True, slots=True)
class HeldBack:
    """An edit that is not put into the draft; `column` is None where it is the whole row."""

    table: str
    id: str
    column: str | None
    sent: str
    present: str
    reason: str


@dataclass(frozen=True, slots=True)
class States:
    """The state that the draft leads to, what is published, and the draft's base."""

    view: Snapshot
    present: Snapshot
    base: Snapshot


@dataclass
class SliceMerge:
    """The comparison of a file with the slice it was."""

    states: States
    old: Mapping[str, Mapping[Key, Any]]
    read: SliceRead
    may_conflict: bool = True
    n_conflicts: int = 0
    put: list[tuple[str, Any]] = field(default_factory=list)
    remove: list[tuple[str, Key]] = field(default_factory=list)
    rows: list[SliceRow] = field(default_factory=list)
    held: list[HeldBack] = field(default_factory=list)
    missing: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def compare(self) -> None:
        """Compare every table that the file has."""
        for name, table in TABLES.items():
            if name not in self.old and name not in self.read.columns:
                continue
            old = self.old.get(name, {})
            sent = dict(table.iterate_keyed(self.read.loaded.records.get(name, ())))
            for key, record in sent.items():
                if key in self.read.removed.get(name, ()):
                    self._remove_row(table, key, old.get(key))
                elif key not in old:
                    self._add_row(table, key, record)
                else:
                    self._edit_row(table, key, old[key], record)
            missing = tuple(get_key_text(key) for key in old if key not in sent)
            if missing:
                self.missing[name] = missing

    def build_change(self) -> Change:
        """Return the change of records."""
        return Change(tuple(self.put), tuple(self.remove))

    def list_remarks(self) -> list[str]:
        """Return what is to be said of it, in sentences."""
        told = []
        for name, ids in self.missing.items():
            some = ", ".join(ids[:_NAMED]) + (", ..." if len(ids) > _NAMED else "")
            told.append(f"Not in the file, and left as it is: {TABLES[name].count(len(ids))} ({some}).")
            if any(row.table == name and row.change == "added" for row in self.rows):
                told.append(f"An id that was edited in {name.replace('_', ' ')} is a new row and a missing one.")
        if self.n_conflicts:
            told.append(
                f"{format_count(self.n_conflicts, 'conflict')} with what others changed since: decide in the draft."
            )
        if self.held:
            told.append(f"{format_count(len(self.held), 'edit')} held back: nothing is overwritten.")
        return told

    def _remove_row(self, table: Table, key: Key, old: Any) -> None:
        name, now = table.name, self.states.view.get_all(table.name).get(key)
        if now is None:
            return
        clashes = now != old
        if old is None or (clashes and not self._can_clash_whole(name, key)):
            reason = "is no row of the slice" if old is None else "was changed since the slice was cut"
            self.held.append(HeldBack(name, get_key_text(key), None, "remove", "is there", reason))
            return
        self.n_conflicts += clashes
        self.remove.append((name, key))
        self.rows.append(SliceRow(name, get_key_text(key), "removed", (), clashes))

    def _add_row(self, table: Table, key: Key, record: Any) -> None:
        name, now = table.name, self.states.view.get_all(table.name).get(key)
        if now is None:
            self.put.append((name, record))
            cells = [SlicedCell(column.name, "", _tell(column, record)) for column in table.columns]
            self.rows.append(SliceRow(name, get_key_text(key), "added", tuple(cell for cell in cells if cell.after)))
        elif now != record:
            reason = "there is one of this id already, which is not of the slice"
            self.held.append(HeldBack(name, get_key_text(key), None, "a new row", "is there", reason))

    def _edit_row(self, table: Table, key: Key, old: Any, record: Any) -> None:
        """Put the cells that were edited into the record as the draft has it."""
        name, now = table.name, self.states.view.get_all(table.name).get(key)
        edited = _find_edited(table, self.read.columns.get(table.name, _ALL[table.name]), old, record)
        if not edited:
            return
        clashes = now is None
        if clashes and not self._can_clash_whole(name, key):
            columns = ", ".join(column.name for column, _ in edited)
            reason = "was removed since the slice was cut"
            self.held.append(HeldBack(name, get_key_text(key), None, f"edited: {columns}", "-", reason))
            return
        values = find_stated(table, old if clashes else now)
        before = old if clashes else now
        conflicts = set()
        for column, value in edited:
            merged, is_conflict = self._merge(table, key, column, find_stated(table, old), value, values)
            values.pop(column.attribute, None)
            values |= {} if merged is _NOTHING else {column.attribute: merged}
            conflicts |= {column.name} if is_conflict else set()
        after = table.build(**values)
        if after == now:
            return
        self.n_conflicts += len(conflicts) + clashes
        self.put.append((name, after))
        # what only follows another column is not told
        stated = [find_stated(table, one) for one in (before, after)]
        told = [
            SlicedCell(column.name, _tell(column, before), _tell(column, after), column.name in conflicts)
            for column in table.columns
            if stated[0].get(column.attribute, _NOTHING) != stated[1].get(column.attribute, _NOTHING)
        ]
        self.rows.append(SliceRow(name, get_key_text(key), "changed", tuple(told), clashes))

    def _merge(
        self, table: Table, key: Key, column: Column, old: Mapping[str, Any], value: Any, now: Mapping[str, Any]
    ) -> tuple[Any, bool]:
        """Return what a cell that was edited says in the draft, and whether that is a conflict: the merge rule."""
        at_slice, at_now = (said.get(column.attribute, _NOTHING) for said in (old, now))
        if at_now in (at_slice, value):
            return value, False
        if column.kind in MANY:
            was, wanted, there = (set(() if one is _NOTHING else one) for one in (at_slice, value, at_now))
            return tuple(sorted((there - (was - wanted)) | (wanted - was))) or _NOTHING, False
        if self._can_clash(table, key, column, value, at_now):
            return value, True
        texts = (_write(column, value), _write(column, at_now))
        reason = "was changed to something else since the slice was cut"
        self.held.append(HeldBack(table.name, get_key_text(key), column.name, *texts, reason))
        return at_now, False

    def _can_clash(self, table: Table, key: Key, column: Column, value: Any, at_now: Any) -> bool:
        """Whether the merge rule calls it a conflict when the draft says this of a cell."""
        if not self.may_conflict:
            return False
        records = [one.get_all(table.name).get(key) for one in (self.states.present, self.states.base)]
        if None in records:
            return False
        published, at_base = (find_stated(table, record).get(column.attribute, _NOTHING) for record in records)
        return bool(published == at_now and at_base not in (at_now, value))

    def _can_clash_whole(self, name: str, key: Key) -> bool:
        """Whether the merge rule calls it a conflict of the whole record when the draft removes it, or keeps it."""
        now, present, base = (one.get_all(name).get(key) for one in _list(self.states))
        return self.may_conflict and now == present and base is not None and base != present


def _list(states: States) -> tuple[Snapshot, Snapshot, Snapshot]:
    return states.view, states.present, states.base


def _find_edited(table: Table, columns: frozenset[str], old: Any, record: Any) -> list[tuple[Column, Any]]:
    """Return the columns whose cells were edited, each with what it says now; `_NOTHING` where it says nothing."""
    before, after = find_stated(table, old), find_stated(table, record)
    edited = []
    for column in table.columns:
        was, value = (said.get(column.attribute, _NOTHING) for said in (before, after))
        if column.name not in columns or column.attribute in table.key or was == value:
            continue
        # what became equal to its default by an edit of another cell was written there before
        is_as_written = was == getattr(record, column.attribute) and value is _NOTHING
        if not is_as_written and _normalise(_write(column, was)) != _normalise(_write(column, value)):
            edited.append((column, value))
    return edited


def _normalise(text: str) -> str:
    """Return a text as a spreadsheet program leaves it."""
    return text.replace("\r\n", "\n").strip()


def _write(column: Column, value: Any) -> str:
    return "" if value is _NOTHING else format_value(column, value)


def _tell(column: Column, record: Any) -> str:
    return format_value(column, getattr(record, column.attribute))
