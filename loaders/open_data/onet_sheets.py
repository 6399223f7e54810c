"""The official O*NET workbooks as rows: one sheet each, columns by name.

Column names: the O*NET data dictionary (www.onetcenter.org/dictionary/29.2/excel/).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from loaders.open_data.faults import Progress, iterate_with_progress, require_columns
from loaders.tables.cells import FaultyCell
from loaders.tables.spreadsheet import Row, Spreadsheet
from ontology.errors import FileFormatError

SOC: Final = "O*NET-SOC Code"
ELEMENT: Final = "Element ID"
SCALE: Final = "Scale ID"
VALUE: Final = "Data Value"
SUPPRESS: Final = "Recommend Suppress"
NOT_RELEVANT: Final = "Not Relevant"
ZONE: Final = "Job Zone"
ANCHOR_VALUE: Final = "Anchor Value"
ANCHOR: Final = "Anchor Description"

OCCUPATIONS: Final = "Occupation Data.xlsx"
CONTENT_MODEL: Final = "Content Model Reference.xlsx"
JOB_ZONES: Final = "Job Zones.xlsx"
ZONE_REFERENCE: Final = "Job Zone Reference.xlsx"
ANCHORS: Final = "Level Scale Anchors.xlsx"
SKILLS: Final = "Skills.xlsx"
KNOWLEDGE: Final = "Knowledge.xlsx"

_RATINGS: Final = (SOC, ELEMENT, SCALE, VALUE, SUPPRESS, NOT_RELEVANT)

#: The files that are read, and the columns of each that are used.
FILES: Final[dict[str, tuple[str, ...]]] = {
    OCCUPATIONS: (SOC, "Title", "Description"),
    ZONE_REFERENCE: (ZONE, "Name"),
    JOB_ZONES: (SOC, ZONE),
    CONTENT_MODEL: (ELEMENT, "Element Name", "Description"),
    ANCHORS: (ELEMENT, SCALE, ANCHOR_VALUE, ANCHOR),
    SKILLS: _RATINGS,
    KNOWLEDGE: _RATINGS,
}


@dataclass(frozen=True, slots=True)
class Sheet:
    """The data rows of one file, each cut down to the columns of `FILES`, in their order."""

    file: str
    rows: list[tuple[Any, ...]]

    def iterate(self, progress: Progress | None = None) -> Iterator[tuple[int, tuple[Any, ...]]]:
        """Yield (row as the spreadsheet shows it, cells), empty rows left out."""
        for number, cells in iterate_with_progress(self.rows, self.file, progress):
            if any(cell != "" for cell in cells):
                yield number, cells


def is_onet(path: Path) -> bool:
    """Return whether a path is a folder that holds the official O*NET files, by two of their names."""
    path = Path(path)
    return path.is_dir() and (path / OCCUPATIONS).is_file() and any((path / f).is_file() for f in (SKILLS, KNOWLEDGE))


def require_files(folder: Path) -> None:
    """Raise FileFormatError, naming every file of `FILES` that the folder lacks."""
    missing = [file for file in FILES if not (folder / file).is_file()]
    if missing:
        raise FileFormatError(
            f"{folder} is not the O*NET folder of Excel files: {', '.join(missing)} not found.", files=missing
        )


def read_sheet(folder: Path, file: str) -> Sheet:
    """Return the rows of the first sheet of a file.

    Raises
    ------
    FileFormatError
        The file cannot be read as a workbook, or its header row lacks a column.
    LimitError
        It is too large, or would unpack to too much.
    """
    with Spreadsheet(folder / file) as book:
        rows = book.iterate_rows(book.names[0]) if book.names else iter(())
        positions = require_columns(file, next(rows, ()), FILES[file])
        return Sheet(file, [tuple(_get_cell(row, position) for position in positions) for row in rows])


def _get_cell(row: Row, position: int) -> Any:
    """Return a cell, the empty text where there is none, and what is shown where a formula failed."""
    cell = row[position] if position < len(row) else None
    if isinstance(cell, FaultyCell):
        return cell.value
    return "" if cell is None else cell


def read_release(folder: Path) -> str:
    """Return the name of the release as the folder's Read Me says it, or "O*NET"."""
    try:
        with (folder / "Read Me.txt").open(encoding="utf-8", errors="replace") as file:
            first_line = file.readline(200).strip()
    except OSError:
        return "O*NET"
    return first_line if first_line.startswith("O*NET") else "O*NET"
