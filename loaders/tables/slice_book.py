"""A slice as a workbook to edit, and what such a workbook says when it comes back.

A sheet a table with its columns, after an id a column `#...` with what it is called (never read), last a column
`remove`; and a sheet that says of which store and revision it was cut, and by which filter.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from typing import Any, Final

from loaders.report import Loaded
from loaders.tables.cells import format_cell, make_printable
from loaders.tables.rows import get_name, read_rows
from loaders.tables.spreadsheet import Spreadsheet
from loaders.tables.table_writers import format_record, require_room
from loaders.tables.targets import write_book
from loaders.tables.workbook import EXPLANATION_SHEET, SLICE_SHEET, iterate_tables
from ontology.errors import FileFormatError, Finding, InputError, shorten
from ontology.model.columns import Column, Key, Table
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.snapshot.name_index import list_names
from ontology.snapshot.snapshot import Snapshot

__all__ = ["SliceNote", "SliceRead", "is_slice", "read_slice", "write_slice"]

_REMOVE: Final = "remove"
_LABEL: Final = "#"
_YES: Final = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False, "": False}
_REVISION: Final = re.compile("[0-9]{1,12}")
_NOTE_ROWS: Final = 50
_WIDEST: Final = 60
#: Called by their rank within a scale, which no column says alone.
_UNNAMED: Final = "scales"
_ABOUT: Final = (
    ("Edit cells, add rows, or write yes under remove; only what was edited is a change.",),
    ("Columns that begin with # say what ids are called, and are not read. Leave this sheet as it is.",),
)


@dataclass(frozen=True, slots=True)
class SliceNote:
    """Of which store and revision a slice was cut, and the texts of its filter."""

    store_id: str
    revision: int
    texts: Mapping[str, str]


@dataclass
class SliceRead:
    """A slice that came back: its note, the records of its rows with what was found, what is to be removed.

    `columns` holds the names of the columns that each table has there: what is not there was not edited.
    """

    note: SliceNote
    loaded: Loaded
    removed: dict[str, set[Key]] = field(default_factory=dict)
    columns: dict[str, frozenset[str]] = field(default_factory=dict)


def write_slice(snapshot: Snapshot, note: SliceNote, rows: Mapping[str, Mapping[Key, Any]], path: Path) -> Path:
    """Write the workbook of a slice and return its path.

    Raises
    ------
    FileFormatError, LimitError
        A text or a table is larger than a sheet holds.
    InputError
        Nothing can be written there.
    """
    with write_book(path) as book:
        formats = {
            "head": book.add_format({"bold": True, "bottom": 1}),
            # a spreadsheet would make a number of the id 007 and a date of 1-2
            "text": book.add_format({"num_format": "@"}),
            "label": book.add_format({"font_color": "#595959", "num_format": "@"}),
        }
        for name, records in rows.items():
            _write_table(book.add_worksheet(name), snapshot, TABLES[name], list(records.values()), formats)
        sheet = book.add_worksheet(SLICE_SHEET)
        said = (("store", note.store_id), ("revision", str(note.revision)), *note.texts.items(), (), *_ABOUT)
        for number, texts in enumerate(said):
            for position, text in enumerate(texts):
                sheet.write_string(number, position, text, formats["text"])
        sheet.set_column(0, 1, 24)
    return path


def _write_table(sheet: Any, snapshot: Snapshot, table: Table, records: Sequence[Any], formats: Any) -> None:
    sheet.freeze_panes(1, 0)
    heads = _list_heads(table)
    widths = [len(name) + 4 for name, _, _ in heads]
    for place, (name, _, about) in enumerate(heads):
        sheet.write_string(0, place, name, formats["head"])
        sheet.write_comment(0, place, about)
    for number, record in enumerate(records, start=1):
        texts = format_record(table, record)
        require_room(table, number, texts)
        by_name = dict(zip((column.name for column in table.columns), texts, strict=True))
        for place, (name, column, _) in enumerate(heads):
            is_label = name.startswith(_LABEL)
            text = _tell_labels(snapshot, column, record) if is_label and column else by_name.get(name, "")
            if text and not is_label and _is_number(column):
                sheet.write_number(number, place, float(text))
            elif text:
                sheet.write_string(number, place, text, formats["label" if is_label else "text"])
            widths[place] = min(_WIDEST, max(widths[place], len(text) + 1))
    for place, (_, described, _) in enumerate(heads):
        sheet.set_column(place, place, widths[place], None if _is_number(described) else formats["text"])


def _list_heads(table: Table) -> list[tuple[str, Column | None, str]]:
    """Return the name of each column of a sheet, the column it is of, and what it is about."""
    heads: list[tuple[str, Column | None, str]] = []
    for column in table.columns:
        heads.append((column.name, column, column.about))
        if column.refers_to and column.refers_to not in (_UNNAMED, *PERSONAL_TABLES):
            heads.append((f"{_LABEL}{column.name}", column, "What the ids are called; not read."))
    return [*heads, (_REMOVE, None, "yes: this row goes.")]


def _is_number(column: Column | None) -> bool:
    return column is not None and column.kind in ("integer", "number")


def _tell_labels(snapshot: Snapshot, column: Column, record: Any) -> str:
    value = getattr(record, column.attribute)
    known = snapshot.get_all(column.refers_to)
    ids = value if isinstance(value, tuple) else (value,)
    return shorten("; ".join(list_names(known[one,])[0] for one in ids if (one,) in known), 200)


def is_slice(path: Path) -> bool:
    """Whether a file is a workbook that says what it was cut of; errors as `load_workbook`."""
    if path.suffix.lower() not in (".xlsx", ".xlsm") or not path.is_file():
        return False
    with Spreadsheet(path) as book:
        return _find_note_sheet(book) is not None


def read_slice(path: Path) -> SliceRead:
    """Read a workbook that was a slice; every fault of its rows is a finding.

    Raises
    ------
    FileFormatError
        It is no workbook, or does not say what it was cut of.
    LimitError
        It is too large, or would unpack to too much.
    InputError
        It holds a table about people.
    """
    with Spreadsheet(path) as book:
        sheet = _find_note_sheet(book)
        if sheet is None:
            raise FileFormatError(f"{path.name} is no slice: it has no sheet {SLICE_SHEET}.", path=str(path))
        read = SliceRead(_read_note(path, book.iterate_rows(sheet)), Loaded(label=make_printable(path.name)))
        for table, source, rows in iterate_tables(book, read.loaded.findings, (EXPLANATION_SHEET, SLICE_SHEET)):
            if table.name in PERSONAL_TABLES:
                words = table.name.replace("_", " ")
                raise InputError(f"A draft holds nothing about people: {words} cannot be loaded.", parameter="draft")
            _read_table(table, source, rows, read)
    return read


def _find_note_sheet(book: Spreadsheet) -> str | None:
    return next((name for name in book.names if name.strip().lower() == SLICE_SHEET), None)


def _read_note(path: Path, rows: Iterator[Sequence[object]]) -> SliceNote:
    said = {
        format_cell(row[0]).strip().lower(): format_cell(row[1]).strip()
        for row in islice(rows, _NOTE_ROWS)
        if len(row) > 1
    }
    store_id, revision = said.pop("store", ""), said.pop("revision", "")
    if not store_id or not _REVISION.fullmatch(revision):
        reason = "does not say any more of which store and revision it was cut; cut the slice again"
        raise FileFormatError(f"{path.name}: the sheet {SLICE_SHEET} {reason}.", path=str(path))
    return SliceNote(store_id, int(revision), {name: text for name, text in said.items() if name and text})


def _read_table(table: Table, source: str, rows: Iterator[Sequence[object]], read: SliceRead) -> None:
    """Read the rows of a table without what is for the eye, and which of them are to be removed."""
    loaded, doomed = read.loaded, set[int]()
    header = list(next(rows, ()))
    names = [get_name(cell) for cell in header]
    read.columns[table.name] = frozenset(names)
    kept = [at for at, name in enumerate(names) if not name.startswith(_LABEL) and name != _REMOVE]
    marks = [at for at, name in enumerate(names) if name == _REMOVE]
    if len(marks) > 1:
        loaded.findings.append(Finding("error", source, 1, _REMOVE, "", "this column is there twice"))

    def strip() -> Iterator[Sequence[object]]:
        yield [header[at] for at in kept]
        for number, row in enumerate(rows, start=2):
            for text in (format_cell(row[at]).strip() for at in marks if at < len(row)):
                if text.lower() not in _YES:
                    reason = "must be yes, or empty"
                    loaded.findings.append(Finding("error", source, number, _REMOVE, shorten(text), reason))
                elif _YES[text.lower()]:
                    doomed.add(number)
            yield [row[at] if at < len(row) else "" for at in kept] + list(row[len(names) :])

    read_rows(table, source, strip(), loaded)
    found = read.removed.setdefault(table.name, set())
    for key, _ in table.iterate_keyed(loaded.records.get(table.name, ())):
        origin = loaded.origins.get(table.name, key)
        if origin is not None and origin[1] in doomed:
            found.add(key)
