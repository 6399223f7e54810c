"""What both open data loaders share: findings with an address, progress, cells as text.

May import ontology.errors and the standard library.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Sequence
from typing import Any, Final, TypeVar

from ontology.errors import FileFormatError, Finding, Severity, shorten

#: Called with (what is being read, rows done, rows in all).
Progress = Callable[[str, int, int], None]

#: Rows between two calls of the progress function.
CHUNK_ROWS: Final = 10_000

_Row = TypeVar("_Row")

#: The characters an IRI may hold (N-Triples, production IRIREF), after a scheme.
_IRI: Final = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:[^\x00-\x20<>\"{}|^`\\]+")


class Faults:
    """Findings of one load, in the order they are met."""

    def __init__(self) -> None:
        self.findings: list[Finding] = []

    def add_error(self, source: str, row: int, column: str, value: object, reason: str) -> None:
        """Add an error: the row is left out."""
        self._add("error", source, row, column, value, reason)

    def add_remark(self, source: str, row: int, column: str, value: object, reason: str) -> None:
        """Add a remark: the row is kept, or nothing is lost without it."""
        self._add("remark", source, row, column, value, reason)

    def _add(self, severity: Severity, source: str, row: int, column: str, value: object, reason: str) -> None:
        self.findings.append(Finding(severity, source, row, column, shorten(str(value)), reason))


def iterate_with_progress(
    rows: Sequence[_Row], what: str, progress: Progress | None, first_row: int = 2
) -> Iterator[tuple[int, _Row]]:
    """Yield (row as a spreadsheet counts it, row), telling `progress` every `CHUNK_ROWS` rows and at the end."""
    total = len(rows)
    for start in range(0, total, CHUNK_ROWS):
        yield from enumerate(rows[start : start + CHUNK_ROWS], first_row + start)
        if progress is not None:
            progress(what, min(start + CHUNK_ROWS, total), total)


def read_text(cell: object) -> str:
    """Return a cell as text without surrounding blanks; a whole number loses its decimal point."""
    if isinstance(cell, str):
        return cell.strip()
    if cell is None:
        return ""
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell).strip()


def is_iri(text: str) -> bool:
    """Return whether a text can stand as an absolute IRI in a graph.

    Examples
    --------
    >>> is_iri("urn:isbn:0451450523"), is_iri("isco/C0"), is_iri("urn:a b")
    (True, False, False)
    """
    return _IRI.fullmatch(text) is not None


def parse_number(cell: object) -> float | None:
    """Return a cell as a finite number, or None when it is none (numbers stored as text are read alike)."""
    if isinstance(cell, bool) or not isinstance(cell, int | float | str):
        return None
    try:
        number = float(cell)
    except ValueError:
        return None
    return number if math.isfinite(number) else None


def require_columns(file: str, header: Sequence[Any], columns: Sequence[str]) -> list[int]:
    """Return the position of each column in a header row.

    Raises
    ------
    FileFormatError
        At least one is not there; all that are missing are named.
    """
    names = [read_text(cell) for cell in header]
    missing = [column for column in columns if column not in names]
    if missing:
        raise FileFormatError(
            f"{file}: the header row lacks {', '.join(repr(column) for column in missing)}.",
            file=file,
            columns=missing,
        )
    return [names.index(column) for column in columns]
