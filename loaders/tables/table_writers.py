"""The tables of a graph as a folder of CSV files or one workbook, in columns that load again.

A cell that begins with = + - @ would be run as a formula by a spreadsheet program. The workbook marks every text as
text; in CSV such a text gets an apostrophe in front that loading takes away (`loaders.tables.csv_folder`).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, Final

from loaders import limits
from loaders.tables.csv_folder import disarm
from loaders.tables.tagged_columns import list_tagged_columns
from loaders.tables.targets import write_beside, write_book
from ontology.errors import FileFormatError, LimitError
from ontology.mapping.writer import format_number
from ontology.model.columns import Column, Table
from ontology.model.keeping_tables import TRANSLATIONS
from ontology.model.several import join_values
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

#: What needs quotes in CSV (RFC 4180, section 2); blanks too, since some programs take them away.
_QUOTED: Final = re.compile('[",\\r\\n]|^\\s|\\s$')


def format_value(column: Column, value: Any) -> str:
    """Return the text of a cell; empty for None."""
    if value is None:
        return ""
    if column.kind == "flag":
        return "yes" if value else "no"
    if column.kind == "number":
        return format_number(value)
    if column.kind == "date":
        return str(value.isoformat())
    if isinstance(value, tuple):
        return join_values(value)
    return str(value)


def iterate_rows(snapshot: Snapshot, table: Table) -> Iterator[list[str]]:
    """Yield the header, then a row a record in the order of keys; a value equal to its default is left empty.

    What is said in other languages stands in columns of its own beside the records (label@de), and only there.
    """
    tagged = list_tagged_columns(snapshot, table)
    yield [column.name for column in (*table.columns, *(one.column for one in tagged))]
    for record in snapshot.get_all(table.name).values() if table is not TRANSLATIONS else ():
        yield [*format_record(table, record), *(one.format(snapshot, table, record) for one in tagged)]


def list_columns(snapshot: Snapshot, table: Table) -> list[Column]:
    """Return the columns of `iterate_rows`."""
    return [*table.columns, *(one.column for one in list_tagged_columns(snapshot, table))]


def format_record(table: Table, record: Any) -> list[str]:
    """Return the texts of a record's cells, in the order of the columns."""
    stated = find_stated(table, record)
    return [format_value(column, stated.get(column.attribute)) for column in table.columns]


def find_stated(table: Table, record: Any) -> dict[str, Any]:
    """Return attribute -> value of what a record says by itself: without what is equal to its default."""
    values: dict[str, Any] = {}
    stated = {}
    for column in table.columns:
        value = getattr(record, column.attribute)
        if column.is_required or value != column.get_default(values):
            stated[column.attribute] = value
        values[column.attribute] = value
    return stated


def export_csv(snapshot: Snapshot, folder: Path) -> list[Path]:
    """Write one CSV file a table that has records and return their paths; the folder is made.

    A file of an earlier export whose table has no records any more keeps its header only.

    Raises
    ------
    InputError
        Nothing can be written there.
    """
    written = []
    for table in TABLES.values():
        path = folder / f"{table.name}.csv"
        if not path.exists() and (table is TRANSLATIONS or not snapshot.get_all(table.name)):
            continue
        with write_beside(path) as temporary, temporary.open("w", encoding="utf-8", newline="") as handle:
            handle.writelines(format_row(row) for row in iterate_rows(snapshot, table))
        written.append(path)
    return written


def format_row(row: Iterable[str]) -> str:
    """Return a row of CSV whose cells no spreadsheet program runs."""
    return ",".join(_quote(disarm(text)) for text in row) + "\n"


def _quote(text: str) -> str:
    return '"' + text.replace('"', '""') + '"' if _QUOTED.search(text) else text


def export_workbook(snapshot: Snapshot, path: Path) -> Path:
    """Write one workbook with a sheet per table and return its path.

    Raises
    ------
    FileFormatError, LimitError
        A text or a table is larger than a sheet holds.
    InputError
        Nothing can be written there.
    """
    with write_book(path) as book:
        head = book.add_format({"bold": True, "bottom": 1, "text_wrap": False})
        for table in TABLES.values():
            sheet = book.add_worksheet(table.name)
            sheet.freeze_panes(1, 0)
            columns = list_columns(snapshot, table)
            widths = [len(column.name) + 2 for column in columns]
            for number, row in enumerate(iterate_rows(snapshot, table)):
                require_room(table, number, row, columns)
                for position, text in enumerate(row):
                    kind = columns[position].kind
                    if number == 0:
                        sheet.write_string(0, position, text, head)
                    elif text and kind in ("integer", "number"):
                        sheet.write_number(number, position, float(text))
                    elif text:
                        sheet.write_string(number, position, text)
                    widths[position] = min(60, max(widths[position], len(text) + 1))
            for position, column in enumerate(columns):
                sheet.set_column(position, position, widths[position])
                sheet.write_comment(0, position, column.about)
    return path


def require_room(table: Table, number: int, row: Sequence[str], columns: Sequence[Column] = ()) -> None:
    """Refuse what the writer of workbooks would leave out without a word."""
    if number >= limits.MAX_TABLE_ROWS:
        raise LimitError(f"{table.name} has more rows than a sheet holds ({limits.MAX_TABLE_ROWS:,}); write CSV.")
    for column, text in zip(columns or table.columns, row, strict=True):
        if len(text) > limits.MAX_TEXT_CHARACTERS:
            raise FileFormatError(
                f"{table.name}, {column.name} of {row[0]}: {len(text):,} characters are more than a cell holds "
                f"({limits.MAX_TEXT_CHARACTERS:,}); write CSV or linked data."
            )
