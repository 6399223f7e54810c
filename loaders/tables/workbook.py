"""One workbook with a sheet per table.

A formula counts as the value that the spreadsheet program computed last.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from pathlib import Path
from typing import Final

from loaders.report import Loaded
from loaders.tables.cells import make_printable
from loaders.tables.rows import get_table, read_rows
from loaders.tables.spreadsheet import Spreadsheet
from ontology.errors import Finding
from ontology.model.columns import Table
from ontology.model.tables import TABLES

#: A sheet of this name explains the columns to people and is passed over.
EXPLANATION_SHEET: Final = "explanation"
#: A sheet of this name says what a slice was cut of: such a workbook is loaded onto a draft.
SLICE_SHEET: Final = "slice"


def load_workbook(path: Path) -> Loaded:
    """Load every sheet of a workbook (``.xlsx``); a sheet's name is its table's.

    Raises
    ------
    FileFormatError
        The file is no workbook, has a password, or is damaged.
    LimitError
        It is too large, or would unpack to too much.
    """
    loaded = Loaded(label=make_printable(str(path)))
    with Spreadsheet(path) as book:
        for table, source, rows in iterate_tables(book, loaded.findings):
            read_rows(table, source, rows, loaded)
    return loaded


def iterate_tables(
    book: Spreadsheet, findings: list[Finding], passed_over: Collection[str] = (EXPLANATION_SHEET,)
) -> Iterator[tuple[Table, str, Iterator[Sequence[object]]]]:
    """Yield each table of a workbook in the order of tables: its address in findings and its rows.

    Sheets that are no table are findings, but for those `passed_over` (in small letters).
    """
    file = make_printable(book.path.name)
    found: dict[str, str] = {}
    for sheet in book.names:
        table = get_table(sheet)
        if table is not None and table.name not in found:
            found[table.name] = sheet
            continue
        if table is None:
            if sheet.strip().lower() in passed_over:
                continue
            reason = f"no table has this name; the tables are {', '.join(TABLES)}"
            if sheet.strip().lower() == SLICE_SHEET:
                reason = "this workbook is a slice, which is loaded onto a draft by itself (--draft ID)"
        else:
            reason = f"is the table {table.name}, as the sheet {found[table.name]} is; put them together"
        shown = make_printable(sheet)
        findings.append(Finding("error", f"{file}, sheet {shown}", 0, "", shown, reason))
    for name in TABLES:
        if name in found:
            yield TABLES[name], f"{file}, sheet {make_printable(found[name])}", book.iterate_rows(found[name])
