"""The sheets of an .xlsx workbook as rows, read by python-calamine behind a guard."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import python_calamine

from loaders import limits
from loaders.tables.archives import open_archive
from loaders.tables.spreadsheet_guard import Package
from ontology.errors import FileFormatError, NewelError

Row = list[Any]

#: The first bytes of what spreadsheet programs write when a workbook has a password (and of the old .xls).
_COMPOUND_FILE: Final = bytes.fromhex("D0CF11E0A1B11AE1")


class Spreadsheet:
    """A workbook, open for reading; use it in a ``with`` block.

    Raises
    ------
    FileFormatError
        The file is no .xlsx workbook, has a password, or is damaged.
    LimitError
        It is too large, or would unpack to too much.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        _refuse_compound_file(path)
        self._archive = open_archive(path, "workbook (.xlsx)")
        try:
            self._package = Package(path, self._archive)
            self._book = self._read(lambda: python_calamine.CalamineWorkbook.from_path(str(path)))
        except BaseException:
            self._archive.close()
            raise

    def __enter__(self) -> Spreadsheet:
        return self

    def __exit__(self, *_: object) -> None:
        self._book.close()
        self._archive.close()

    @property
    def names(self) -> list[str]:
        """The names of the sheets, in their order."""
        return list(self._package.sheets)

    def iterate_rows(self, name: str) -> Iterator[Row]:
        """Yield every row of a sheet, those without cells too, so that the n-th is row n.

        Cells are the empty text, text, float, bool, date, datetime or `FaultyCell` (an error value, or a formula
        never computed).

        Raises
        ------
        FileFormatError
            The sheet is damaged, or holds no cells (a chart).
        LimitError
            It has too many rows or columns, or too much text.
        """
        faults = self._package.check_sheet(name)
        rows: list[Row] = self._read(lambda: self._book.get_sheet_by_name(name).to_python(skip_empty_area=False))
        for (number, column), fault in faults.items():
            while len(rows) <= number:
                rows.append([])
            rows[number].extend([""] * (column + 1 - len(rows[number])))
            rows[number][column] = fault
        yield from rows

    def _read(self, work: Any) -> Any:
        try:
            return work()
        except (NewelError, KeyboardInterrupt, SystemExit, MemoryError):
            raise
        except BaseException as error:
            # the reader raises several unrelated classes, and a class that is no Exception where it gives up
            raise FileFormatError(
                f"{self.path.name} is not a readable workbook: {error}", path=str(self.path)
            ) from error


def _refuse_compound_file(path: Path) -> None:
    limits.require_readable(path)
    try:
        with path.open("rb") as handle:
            start = handle.read(len(_COMPOUND_FILE))
    except OSError as error:
        raise FileFormatError(f"{path} cannot be read: {error.strerror or error}.", path=str(path)) from error
    if start == _COMPOUND_FILE:
        raise FileFormatError(
            f"{path.name} has a password or is of the old kind (.xls); save it as .xlsx without a password.",
            path=str(path),
        )
