"""A folder of CSV tables (or single ones): UTF-8, a header row, commas (RFC 4180). Imports loaders rows, limits."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from pathlib import Path

from loaders.limits import MAX_CELL_CHARACTERS, require_readable
from loaders.report import Loaded
from loaders.rows import get_table, read_rows
from ontology.errors import FileFormatError, Finding
from ontology.tables import TABLES


def load_csv_folder(path: Path) -> Loaded:
    """Load every ``*.csv`` of a folder, or one CSV file; its name is the table's.

    Raises
    ------
    FileFormatError
        The folder holds no CSV table.
    LimitError
        A file is too large.
    """
    loaded = Loaded(label=str(path))
    files = sorted(path.glob("*.csv")) if path.is_dir() else [path]
    if not files:
        raise FileFormatError(f"{path} holds no CSV table.", path=str(path))
    tables = {}
    for file in files:
        table = get_table(file.stem)
        if table is None:
            known = ", ".join(TABLES)
            reason = f"no table has this name; the tables are {known}"
            loaded.findings.append(Finding("error", file.name, 0, "", file.stem, reason))
        else:
            tables[table.name] = file
    for name in TABLES:
        if name in tables:
            _load_file(tables[name], name, loaded)
    return loaded


def _load_file(file: Path, table_name: str, into: Loaded) -> None:
    require_readable(file)
    data = file.read_bytes()
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        shown = data[error.start : error.start + 1].hex()
        reason = f"is not UTF-8 at byte {error.start + 1} (0x{shown}); save the file as CSV UTF-8"
        into.findings.append(Finding("error", file.name, line, "", "", reason))
        return
    read_rows(TABLES[table_name], file.name, _iterate_rows(text, file.name, into), into)


def _iterate_rows(text: str, source: str, into: Loaded) -> Iterator[list[str]]:
    csv.field_size_limit(MAX_CELL_CHARACTERS)
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    while True:
        try:
            row = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            reason = f"is no CSV row: {error}"
            into.findings.append(Finding("error", source, reader.line_num, "", "", reason))
            return
        yield row
