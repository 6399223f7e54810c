"""Sheets of plain rows as a workbook to keep and print: a head row that stays, widths that fit.

Texts stay texts (nothing becomes a formula), days are real days, numbers real numbers.
"""

from __future__ import annotations

import datetime as dt
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from loaders import limits
from loaders.tables.targets import write_book
from ontology.errors import FileFormatError

__all__ = ["Cell", "Sheet", "build_book", "export_book"]

Cell = str | float | dt.date | None

_WIDEST: Final = 60
#: Spreadsheets count days from 1900.
_FIRST_DAY: Final = dt.date(1900, 1, 1)


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: its name (at most 31 characters), a head row and rows."""

    name: str
    head: tuple[str, ...]
    rows: Sequence[tuple[Cell, ...]]


def export_book(sheets: Sequence[Sheet], path: Path) -> Path:
    """Write a workbook and return its path.

    Raises
    ------
    FileFormatError
        A text is longer than a cell holds.
    InputError
        Nothing can be written there.
    """
    with write_book(path) as book:
        formats = {
            "head": book.add_format({"bold": True, "bottom": 1, "valign": "top", "text_wrap": True}),
            "text": book.add_format({"valign": "top", "text_wrap": True}),
            "day": book.add_format({"valign": "top", "align": "left", "num_format": "yyyy-mm-dd"}),
        }
        for sheet in sheets:
            _write_sheet(book.add_worksheet(sheet.name), sheet, formats)
    return path


def build_book(sheets: Sequence[Sheet]) -> bytes:
    """Return the bytes of a workbook; errors as `export_book`."""
    with tempfile.TemporaryDirectory(prefix="newel-") as folder:
        return export_book(sheets, Path(folder) / "plan.xlsx").read_bytes()


def _write_sheet(target: Any, sheet: Sheet, formats: dict[str, Any]) -> None:
    target.freeze_panes(1, 0)
    target.set_landscape()
    target.set_paper(9)
    target.fit_to_pages(1, 0)
    target.repeat_rows(0)
    widths = [len(word) + 2 for word in sheet.head]
    for column, word in enumerate(sheet.head):
        target.write_string(0, column, word, formats["head"])
    for number, row in enumerate(sheet.rows, start=1):
        for column, value in enumerate(row):
            widths[column] = max(widths[column], _write_cell(target, number, column, value, formats))
    for column, width in enumerate(widths):
        target.set_column(column, column, min(_WIDEST, width))


def _write_cell(target: Any, row: int, column: int, value: Cell, formats: dict[str, Any]) -> int:
    """Write one cell and return the width it asks for, in characters."""
    if value is None or value == "":
        return 0
    if isinstance(value, dt.date):
        if value < _FIRST_DAY:
            target.write_string(row, column, value.isoformat(), formats["text"])
        else:
            target.write_datetime(row, column, dt.datetime.combine(value, dt.time()), formats["day"])
        return 12
    if isinstance(value, str):
        if len(value) > limits.MAX_TEXT_CHARACTERS:
            raise FileFormatError(f"{len(value):,} characters are more than a cell holds.")
        target.write_string(row, column, value, formats["text"])
        return max(map(len, value.split("\n"))) + 1
    target.write_number(row, column, value, formats["text"])
    return len(f"{value:g}") + 2
