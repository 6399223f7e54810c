"""One workbook with a sheet per table, read through python-calamine. Imports loaders rows, limits."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import python_calamine

from loaders.limits import require_readable
from loaders.report import Loaded
from loaders.rows import get_table, read_rows
from ontology.errors import FileFormatError, Finding
from ontology.tables import TABLES

#: A sheet of this name explains the columns to people and is passed over.
EXPLANATION_SHEET: Final = "explanation"


def load_workbook(path: Path) -> Loaded:
    """Load every sheet of a workbook (``.xlsx``); a sheet's name is its table's.

    Raises
    ------
    FileFormatError
        The file is no workbook or is damaged.
    LimitError
        It is too large.
    """
    require_readable(path)
    loaded = Loaded(label=str(path))
    try:
        book = python_calamine.CalamineWorkbook.from_path(str(path))
        sheets = {name: book.get_sheet_by_name(name) for name in book.sheet_names}
    except Exception as error:
        # the reader raises several unrelated classes for damaged files
        raise FileFormatError(f"{path} is no readable workbook: {error}", path=str(path)) from error
    found: dict[str, str] = {}
    for sheet in sheets:
        table = get_table(sheet)
        if table is not None:
            found[table.name] = sheet
        elif sheet.strip().lower() != EXPLANATION_SHEET:
            reason = f"no table has this name; the tables are {', '.join(TABLES)}"
            loaded.findings.append(Finding("error", f"{path.name}, sheet {sheet}", 0, "", sheet, reason))
    for name in TABLES:
        if name in found:
            rows = _iterate_rows(sheets[found[name]])
            read_rows(TABLES[name], f"{path.name}, sheet {found[name]}", rows, loaded)
    return loaded


def _iterate_rows(sheet: Any) -> Iterator[list[object]]:
    # empty rows above the header would shift the row numbers people see
    yield from sheet.to_python(skip_empty_area=False)
