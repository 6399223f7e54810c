"""How large an input may be, and reading a file within that.

Every limit is looked up when it is needed, so a test (or an operator with larger machines) can set another one here.
"""

from __future__ import annotations

import os
import stat
from pathlib import Path
from typing import Final

from ontology.errors import FileFormatError, LimitError

MAX_FILE_BYTES: Final = 256 * 1024 * 1024
#: As many as a spreadsheet has: ECMA-376 leaves it open, common practice of the programs.
MAX_TABLE_ROWS: Final = 1_048_576
MAX_TABLE_COLUMNS: Final = 256
#: What one cell of a spreadsheet holds (common practice of the programs), so that every export can hold every text.
MAX_TEXT_CHARACTERS: Final = 32_767
#: One cell of the official open data: the longest known has 627,354 characters.
MAX_CELL_CHARACTERS: Final = 4 * 1024 * 1024
#: What all files in a zip container (a workbook is one) may unpack to, and how many there may be.
MAX_UNPACKED_BYTES: Final = 512 * 1024 * 1024
MAX_ARCHIVE_FILES: Final = 10_000
#: How many times its packed size a file in a container may have; the official workbooks stay below 15.
MAX_EXPANSION: Final = 250
#: Below this size a file in a container may expand as it likes.
FREE_EXPANSION_BYTES: Final = 16 * 1024 * 1024
#: The list of sheets, the styles and the relationships of a workbook.
MAX_SMALL_PART_BYTES: Final = 16 * 1024 * 1024
#: Arrays and objects of JSON-LD inside each other.
MAX_NESTING: Final = 200
#: Different prefixes in a file of linked data; binding n of them takes rdflib n * n steps.
MAX_PREFIXES: Final = 1_000


def require_path(path: Path) -> None:
    """Raise FileFormatError when there is nothing at a path, or the way there is barred."""
    try:
        path.stat()
    except (FileNotFoundError, NotADirectoryError) as error:
        raise FileFormatError(f"There is no file or folder {path}.", path=str(path)) from error
    except OSError as error:
        raise FileFormatError(f"{path} cannot be read: {error.strerror}.", path=str(path)) from error
    except ValueError as error:  # a NUL character in the name
        raise FileFormatError(f"{str(path)!r} cannot be the name of a file.", path=str(path)) from error


def require_readable(path: Path) -> None:
    """Raise when a file is not there, is no file, or is larger than `MAX_FILE_BYTES`.

    Raises
    ------
    FileFormatError
        It is missing, a folder, a pipe or another special file, or may not be read.
    LimitError
        It is too large.
    """
    require_path(path)
    if not path.is_file():
        raise FileFormatError(f"{path} is not a file.", path=str(path))
    _require_size(path, path.stat().st_size)


def read_file(path: Path) -> bytes:
    """Return the bytes of a file; errors as `require_readable`, and FileFormatError where it grows meanwhile."""
    require_readable(path)
    try:
        # a pipe put in its place meanwhile must not make this wait
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with open(descriptor, "rb") as handle:
            status = os.fstat(descriptor)
            if not stat.S_ISREG(status.st_mode):
                raise FileFormatError(f"{path} is not a file.", path=str(path))
            _require_size(path, status.st_size)
            data = handle.read(status.st_size + 1)
    except OSError as error:
        raise FileFormatError(f"{path} cannot be read: {error.strerror or error}.", path=str(path)) from error
    if len(data) > status.st_size:
        raise FileFormatError(f"{path} grows while it is read.", path=str(path))
    return data


def list_folder(path: Path, suffix: str) -> list[Path]:
    """Return the entries of a folder with a suffix (in any case), sorted; hidden ones are passed over.

    Raises
    ------
    FileFormatError
        It may not be read.
    """
    try:
        names = sorted(os.listdir(path))
    except OSError as error:
        raise FileFormatError(f"{path} cannot be read: {error.strerror}.", path=str(path)) from error
    return [path / name for name in names if name.lower().endswith(suffix) and not name.startswith(".")]


def require_rows(source: str, number: int) -> None:
    """Raise LimitError when a table has a row of this number (1-based) and may not."""
    if number > MAX_TABLE_ROWS:
        raise LimitError(f"{source} has more than {MAX_TABLE_ROWS:,} rows; split it.", source=source)


def require_columns(source: str, count: int) -> None:
    """Raise LimitError when a header has more columns than allowed."""
    if count > MAX_TABLE_COLUMNS:
        raise LimitError(f"{source} has {count:,} columns; at most {MAX_TABLE_COLUMNS:,} are read.", source=source)


def _require_size(path: Path, size: int) -> None:
    if size > MAX_FILE_BYTES:
        raise LimitError(
            f"{path} has {size:,} bytes; a file may have at most {MAX_FILE_BYTES:,}.",
            path=str(path),
            limit=MAX_FILE_BYTES,
        )
