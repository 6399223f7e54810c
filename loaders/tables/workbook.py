"""One workbook with a sheet per table. Imports the reader of workbooks, loaders rows.

A formula counts as the value that the spreadsheet program computed last.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from loaders.report import Loaded
from loaders.tables.cells import make_printable
from loaders.tables.rows import get_table, read_rows
from loaders.tables.spreadsheet import Spreadsheet
from ontology.errors import Finding
from ontology.model.tables import TABLES

#: A sheet of this name explains the columns to people and is passed over.
EXPLANATION_SHEET: Final = "explanation"


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
    file = make_printable(path.name)
    with Spreadsheet(path) as book:
        found: dict[str, str] = {}
        for sheet in book.names:
            table = get_table(sheet)
            if table is None:
                if sheet.strip().lower() == EXPLANATION_SHEET:
                    continue
                reason = f"no table has this name; the tables are {', '.join(TABLES)}"
            elif table.name in found:
                reason = f"is the table {table.name}, as the sheet {found[table.name]} is; put them together"
            else:
                found[table.name] = sheet
                continue
            shown = make_printable(sheet)
            loaded.findings.append(Finding("error", f"{file}, sheet {shown}", 0, "", shown, reason))
        for name in TABLES:
            if name in found:
                source = f"{file}, sheet {make_printable(found[name])}"
                read_rows(TABLES[name], source, book.iterate_rows(found[name]), loaded)
    return loaded
