"""The tables of a graph as a folder of CSV files or one workbook, in columns that load again. Imports snapshot, tables.

A cell that begins with = + - @ would be run as a formula by a spreadsheet program. The workbook marks every
such cell as text; the CSV files keep the plain text, since anything added would not load back unchanged.
"""

from __future__ import annotations

import csv
import os
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import xlsxwriter

from ontology.columns import Column, Table
from ontology.graph.snapshot import Snapshot
from ontology.tables import TABLES
from ontology.writer import format_number


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
        return "|".join(value)
    return str(value)


def iterate_rows(snapshot: Snapshot, table: Table) -> Iterator[list[str]]:
    """Yield the header, then a row a record in the order of keys; a value equal to its default is left empty."""
    yield [column.name for column in table.columns]
    for record in snapshot.get_table(table.name).values():
        values: dict[str, Any] = {}
        row = []
        for column in table.columns:
            value = getattr(record, column.attribute)
            is_default = not column.is_required and value == column.get_default(values)
            values[column.attribute] = value
            row.append("" if is_default else format_value(column, value))
        yield row


def export_csv(snapshot: Snapshot, folder: Path) -> list[Path]:
    """Write one CSV file a table that has records and return their paths; the folder is made."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for table in TABLES.values():
        path = folder / f"{table.name}.csv"
        if not snapshot.get_table(table.name):
            continue
        temporary = path.with_suffix(".csv.new")
        with temporary.open("w", encoding="utf-8", newline="") as handle:
            csv.writer(handle, lineterminator="\n").writerows(iterate_rows(snapshot, table))
        os.replace(temporary, path)
        written.append(path)
    return written


def export_workbook(snapshot: Snapshot, path: Path) -> Path:
    """Write one workbook with a sheet per table and return its path."""
    path.parent.mkdir(parents=True, exist_ok=True)
    temporary = path.with_name(path.name + ".new")
    options = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with xlsxwriter.Workbook(str(temporary), options) as book:
        # without a fixed day the same tables would give another file every time
        book.set_properties({"created": datetime(2026, 1, 1)})
        head = book.add_format({"bold": True, "bottom": 1, "text_wrap": False})
        for table in TABLES.values():
            sheet = book.add_worksheet(table.name)
            sheet.freeze_panes(1, 0)
            widths = [len(column.name) + 2 for column in table.columns]
            for number, row in enumerate(iterate_rows(snapshot, table)):
                for position, text in enumerate(row):
                    kind = table.columns[position].kind
                    if number == 0:
                        sheet.write_string(0, position, text, head)
                    elif text and kind in ("integer", "number"):
                        sheet.write_number(number, position, float(text))
                    elif text:
                        sheet.write_string(number, position, text)
                    widths[position] = min(60, max(widths[position], len(text) + 1))
            for position, column in enumerate(table.columns):
                sheet.set_column(position, position, widths[position])
                sheet.write_comment(0, position, column.about)
    os.replace(temporary, path)
    return path
