"""Workbooks read, edited and written again as a spreadsheet program would."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import python_calamine
import xlsxwriter

from loaders.slices import SliceFilter, cut_slice
from loaders.tables.slice_book import SliceNote, write_slice
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Sheets", "cut_to", "edit_book", "find_row", "read_sheets"]

Sheets = dict[str, list[list[Any]]]


def cut_to(path: Path, snapshot: Snapshot, store_id: str = "", **texts: str) -> Path:
    """Write a slice of a state."""
    asked = SliceFilter.parse(texts)
    note = SliceNote(store_id or snapshot.store_id, snapshot.revision, asked.texts)
    return write_slice(snapshot, note, cut_slice(snapshot, asked), path)


def read_sheets(path: Path) -> Sheets:
    """Return sheet -> rows of cells."""
    book = python_calamine.CalamineWorkbook.from_path(str(path))
    return {name: book.get_sheet_by_name(name).to_python(skip_empty_area=False) for name in book.sheet_names}


def edit_book(path: Path, edit: Callable[[Sheets], object]) -> Path:
    """Change the cells of a workbook."""
    sheets = read_sheets(path)
    edit(sheets)
    with xlsxwriter.Workbook(str(path), {"strings_to_formulas": False, "strings_to_urls": False}) as book:
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            for number, row in enumerate(rows):
                for place, cell in enumerate(row):
                    (sheet.write_number if isinstance(cell, int | float) else sheet.write_string)(number, place, cell)
    return path


def find_row(sheets: Sheets, table: str, record_id: str) -> tuple[list[Any], dict[str, int]]:
    """Return a row by the first cells of it, and column -> place."""
    head, *rows = sheets[table]
    places = {name: place for place, name in enumerate(head)}
    shown = [name for name in head if not str(name).startswith("#")]
    for row in rows:
        if "~".join(str(row[places[name]]) for name in shown[: record_id.count("~") + 1]) == record_id:
            return row, places
    raise LookupError(record_id)
