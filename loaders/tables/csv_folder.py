"""A folder of CSV tables (or single ones): UTF-8, a header row, commas (RFC 4180).

A spreadsheet program runs a cell that begins with = + - @ (or their full-width forms, or a tab or line end) as a
formula. So an exported text that begins so, apostrophes before it or not, gets one apostrophe more in front, and
loading takes away exactly one: every text comes back unchanged, also one that begins with an apostrophe itself.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final

from loaders import limits
from loaders.report import Loaded
from loaders.tables.cells import make_printable
from loaders.tables.rows import get_table, read_rows
from ontology.errors import FileFormatError, Finding
from ontology.model.columns import Table
from ontology.model.tables import TABLES

_RUNS: Final = re.compile("'*[\\s\ufeff]*[=+\\-@\uff1d\uff0b\uff0d\uff20\\t\\r\\n]")


def disarm(text: str) -> str:
    """Return a text as a cell that no spreadsheet program runs.

    Examples
    --------
    >>> disarm("=1+1"), disarm("'=1+1"), disarm("pump"), disarm("'quoted'")
    ("'=1+1", "''=1+1", 'pump', "'quoted'")
    """
    return f"'{text}" if _RUNS.match(text) else text


def rearm(cell: str) -> str:
    """Return the text that `disarm` made a cell of; the reverse for every text."""
    return cell[1:] if cell.startswith("'") and _RUNS.match(cell, 1) else cell


def load_csv_folder(path: Path) -> Loaded:
    """Load every ``*.csv`` of a folder, or one CSV file; its name is the table's.

    Raises
    ------
    FileFormatError
        The folder holds no CSV table, or a file cannot be read.
    LimitError
        A file, a row or a table is too large.
    """
    loaded = Loaded(label=make_printable(str(path)))
    limits.require_path(path)
    files = limits.list_folder(path, ".csv") if path.is_dir() else [path]
    if not files:
        raise FileFormatError(f"{path} holds no CSV table.", path=str(path))
    tables: dict[str, Path] = {}
    for file in files:
        table = get_table(file.stem)
        name = make_printable(file.name)
        if table is None:
            reason = f"no table has this name; the tables are {', '.join(TABLES)}"
            loaded.findings.append(Finding("error", name, 0, "", make_printable(file.stem), reason))
        elif table.name in tables:
            reason = f"is the table {table.name}, as {tables[table.name].name} is; put them together"
            loaded.findings.append(Finding("error", name, 0, "", "", reason))
        else:
            tables[table.name] = file
    for name in TABLES:
        if name in tables:
            load_csv_file(tables[name], TABLES[name], loaded)
    return loaded


def load_csv_file(file: Path, table: Table, into: Loaded) -> None:
    """Add the rows of one CSV file to what was loaded, whatever the file's name; errors as `load_csv_folder`."""
    data = limits.read_file(file)
    source = make_printable(file.name)
    fault = _find_encoding_fault(data)
    if fault is not None:
        line, reason = fault
        into.findings.append(Finding("error", source, line, "", "", reason))
        into.unread[table.name] = (source, line)
        return
    # read piece by piece: the whole text would take up to four times the room of the file
    with io.TextIOWrapper(io.BytesIO(data), encoding="utf-8-sig", newline="") as text:
        read_rows(table, source, _iterate_rows(text, source, table.name, into), into)


def _find_encoding_fault(data: bytes) -> tuple[int, str] | None:
    """Return the line and what is wrong where these bytes are no text in UTF-8."""
    try:
        data.decode("utf-8")
    except UnicodeDecodeError as error:
        shown = data[error.start : error.start + 1].hex()
        reason = f"is not UTF-8 at byte {error.start + 1} (0x{shown}); save the file as CSV UTF-8"
        return data.count(b"\n", 0, error.start) + 1, reason
    place = data.find(b"\0")
    if place < 0:
        return None
    return data.count(b"\n", 0, place) + 1, f"contains a zero byte at byte {place + 1}; save the file as CSV UTF-8"


def _iterate_rows(text: Iterable[str], source: str, table_name: str, into: Loaded) -> Iterator[list[str]]:
    previous = csv.field_size_limit(limits.MAX_CELL_CHARACTERS)
    try:
        reader = csv.reader(text, strict=True)
        number = 0
        while True:
            number += 1
            try:
                row = next(reader)
            except StopIteration:
                return
            except csv.Error as error:
                reason = f"not a CSV row: {error}"
                into.findings.append(Finding("error", source, number, "", "", reason))
                into.unread[table_name] = (source, number)
                return
            yield [rearm(cell) if cell.startswith("'") else cell for cell in row]
    finally:
        csv.field_size_limit(previous)
