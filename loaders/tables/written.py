"""Rows as they were written, to show a fault where it stands: the header, the cells as text, how many rows there are.

Nothing is judged here. What a refused column holds is not shown either.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from loaders import limits
from loaders.tables.cells import format_cell, make_printable
from loaders.tables.csv_folder import rearm
from loaders.tables.rows import get_name, get_table
from loaders.tables.spreadsheet import Spreadsheet
from loaders.tables.workbook import EXPLANATION_SHEET
from ontology.errors import shorten
from ontology.model.tables import REFUSED_COLUMNS, TABLES

__all__ = ["HIDDEN", "WrittenRow", "WrittenTable", "name_cell", "read_written"]

#: Stands for what a refused column holds.
HIDDEN: Final = "not shown"
_LONGEST: Final = 120


@dataclass(frozen=True, slots=True)
class WrittenRow:
    """A row: its number as a spreadsheet shows it, and its cells as text, as many as the header has."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WrittenTable:
    """A table of a file: its address in findings, its name ("" for none of ours), its header and some of its rows.

    `n_rows` is how many rows with content it has below the header.
    """

    source: str
    table: str
    header: tuple[str, ...]
    n_rows: int
    rows: tuple[WrittenRow, ...]

    def get_place(self, column: str) -> int | None:
        """Return where a column stands in the header, from 0; None where it does not."""
        return self.header.index(column) if column in self.header else None


def name_cell(position: int, row: int) -> str:
    """Return the name of a cell as a spreadsheet shows it.

    Examples
    --------
    >>> name_cell(0, 1), name_cell(3, 13), name_cell(26, 2)
    ('A1', 'D13', 'AA2')
    """
    letters = ""
    place = position + 1
    while place:
        place, rest = divmod(place - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return f"{letters}{row}"


def read_written(paths: Iterable[Path], wanted: Mapping[str, Collection[int]]) -> list[WrittenTable]:
    """Return every table of some workbooks and CSV files, with the rows wanted of each (by its address in findings).

    Raises
    ------
    FileFormatError, LimitError
        A workbook cannot be read.

    Notes
    -----
    O(cells). A CSV file that is damaged is read as far as it goes.
    """
    return [
        _pick(source, table, rows, wanted.get(source, ()))
        for path in paths
        for source, table, rows in _iterate_tables(path)
    ]


def _pick(source: str, table: str, rows: Iterable[Sequence[object]], wanted: Collection[int]) -> WrittenTable:
    iterator = iter(rows)
    header = [get_name(cell) for cell in next(iterator, ())]
    while header and not header[-1]:
        header.pop()
    described = TABLES.get(table)
    known = {column.name for column in described.columns} if described is not None else set()
    refused = {place for place, name in enumerate(header) if name in REFUSED_COLUMNS and name not in known}
    n_rows, picked = 0, []
    for number, row in enumerate(iterator, start=2):
        cells = [format_cell(cell).strip() for cell in row]
        n_rows += any(cells)
        if number in wanted:
            cells += [""] * (len(header) - len(cells))
            shown = (HIDDEN if at in refused and cell else make_printable(cell) for at, cell in enumerate(cells))
            picked.append(WrittenRow(number, tuple(shorten(cell, _LONGEST) for cell in shown)))
    names = tuple(shorten(make_printable(name), _LONGEST) for name in header)
    return WrittenTable(source, table, names, n_rows, tuple(picked))


def _iterate_tables(path: Path) -> Iterator[tuple[str, str, Iterable[Sequence[object]]]]:
    """Yield the address, the table's name and the rows of each sheet of a workbook, or of a CSV file."""
    file = make_printable(path.name)
    if path.suffix.lower() == ".csv":
        table = get_table(path.stem)
        yield file, table.name if table else "", _iterate_csv(path)
        return
    with Spreadsheet(path) as book:
        for sheet in book.names:
            table = get_table(sheet)
            if sheet.strip().lower() != EXPLANATION_SHEET:
                source = f"{file}, sheet {make_printable(sheet)}"
                yield source, table.name if table else "", book.iterate_rows(sheet) if table else ()


def _iterate_csv(path: Path) -> Iterator[Sequence[object]]:
    text = limits.read_file(path).decode("utf-8-sig", "replace").replace("\0", "")
    previous = csv.field_size_limit(limits.MAX_CELL_CHARACTERS)
    try:
        for row in csv.reader(io.StringIO(text, newline="")):
            yield [rearm(cell) for cell in row]
    except csv.Error:
        return
    finally:
        csv.field_size_limit(previous)
