"""A sheet as a workbook: the answer on the first sheet, each table on its own, typed cells, widths that fit."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from typing import Final

from api.access.figures import HiddenFigure
from api.desk.plain_cells import format_cell
from api.desk.sheet import Cell, Column, Note, Part, Quantity, Sheet, Steps, Strips, Table
from loaders.tables import sheets_of_rows as book

_LONGEST_NAME: Final = 31
_FORBIDDEN: Final = re.compile(r"[\[\]:*?/\\']")


def build_sheet_workbook(sheet: Sheet) -> bytes:
    """Return the bytes of a workbook (.xlsx)."""
    taken: set[str] = set()
    first = book.Sheet(_find_name("Answer", taken), ("what", "value"), list(_list_first(sheet)))
    tables = [
        book.Sheet(
            _find_name(part.title or f"Table {number}", taken),
            tuple(column.head for column in part.columns),
            [tuple(_value(cell, column) for cell, column in zip(row, part.columns, strict=True)) for row in part.rows],
        )
        for number, part in enumerate(map(_flatten, sheet.parts), start=1)
        if isinstance(part, Table)
    ]
    care = book.Sheet(_find_name("Cautions", taken), ("before you use this",), [(line,) for line in sheet.cautions])
    return book.build_book([first, *tables, care])


def _flatten(part: Part) -> Part:
    """Return a part as a spreadsheet holds it: strips as their table."""
    return part.table if isinstance(part, Strips) else part


def _list_first(sheet: Sheet) -> Iterator[tuple[book.Cell, ...]]:
    yield "question", sheet.title
    yield "answer", sheet.lead
    for fact in sheet.facts:
        yield fact.name, _value(fact.value, None)
    for part in sheet.parts:
        if isinstance(part, Note):
            yield "", part.text
        elif isinstance(part, Table) and not part.rows:
            yield part.title, part.empty
        elif isinstance(part, Steps):
            for number, row in enumerate(part.rows, start=1):
                yield f"{part.title} {number}".strip(), " ".join(map(format_cell, row))
    for remark in sheet.remarks:
        yield "remark", remark


def _value(cell: Cell, column: Column | None) -> book.Cell:
    """Return a cell as a spreadsheet holds it: numbers and days as such, all else as text."""
    if isinstance(cell, Quantity) and (column is not None or not cell.unit):
        return str(cell.value) if isinstance(cell.value, HiddenFigure) else cell.value
    if isinstance(cell, HiddenFigure):
        return str(cell)
    if cell is None or (isinstance(cell, dt.date | int | float) and not isinstance(cell, bool)):
        return cell
    return format_cell(cell)


def _find_name(title: str, taken: set[str]) -> str:
    """Return a sheet's name: without what a spreadsheet forbids, no longer than it allows, each once."""
    base = _FORBIDDEN.sub(" ", title).strip()[:_LONGEST_NAME] or "Table"
    name, number = base, 1
    while name.casefold() in taken:
        number += 1
        name = f"{base[: _LONGEST_NAME - 4]} {number}"
    taken.add(name.casefold())
    return name
