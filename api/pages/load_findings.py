"""The findings of a load as a page shows them: the cell, what it says, what would be right, what follows from it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from api.pages.forms.faults import build_reason
from loaders.report import Consequence
from loaders.tables.written import WrittenRow, WrittenTable, name_cell
from ontology.errors import Finding
from ontology.model.tables import TABLES

__all__ = ["FollowingRow", "FoundRow", "ShownCell", "ShownRow", "ShownTable", "build_found", "build_shown", "say_right"]

#: What follows from one finding is named so many times; the rest is counted.
_FOLLOWING_SHOWN: Final = 20


@dataclass(frozen=True, slots=True)
class FollowingRow:
    """A finding that only follows from another."""

    cell: str
    right: str


@dataclass(frozen=True, slots=True)
class FoundRow:
    """One finding: what kind, where ("people D13", and in words), what stands there, what would be right.

    `anchor` leads to the row as it was written, "" where it is not shown.
    """

    kind: str
    cell: str
    place: str
    says: str
    right: str
    anchor: str
    n_following: int
    following: tuple[FollowingRow, ...]


@dataclass(frozen=True, slots=True)
class ShownCell:
    """A cell as it was written; `is_wrong` where a finding is about it."""

    text: str
    is_wrong: bool


@dataclass(frozen=True, slots=True)
class ShownRow:
    """A row as it was written; `is_wrong` where a finding is about all of it."""

    number: int
    anchor: str
    cells: tuple[ShownCell, ...]
    is_wrong: bool


@dataclass(frozen=True, slots=True)
class ShownTable:
    """Rows of a table as they were written."""

    name: str
    header: ShownRow
    rows: tuple[ShownRow, ...]


def say_right(finding: Finding) -> str:
    """Return what would be right, without the record's own name before it: the cell stands beside it.

    Examples
    --------
    >>> about = ("requirements", "nurse", "triage")
    >>> say_right(Finding("error", "r.csv", 2, "level", "9", "requirement nurse~triage: level 9 is too high", about))
    '9 is too high'
    >>> say_right(Finding("error", "r.csv", 2, "level", "9", "requirement nurse~triage names 'x', gone", about))
    "Names 'x', gone"
    """
    if finding.about:
        return build_reason(finding, TABLES[finding.about[0]], finding.about[1:])
    return finding.reason[:1].upper() + finding.reason[1:]


def build_found(
    findings: Sequence[Finding], consequences: Iterable[Consequence], tables: Sequence[WrittenTable]
) -> tuple[FoundRow, ...]:
    """Return findings as rows, in their order. O(findings + consequences)."""
    by_source = {table.source: table for table in tables}
    names = _name_tables(tables)
    following: defaultdict[tuple[str, int], list[Finding]] = defaultdict(list)
    for entry in consequences:
        following[entry.cause].append(entry.finding)
    rows = []
    told: set[tuple[str, int]] = set()
    for finding in findings:
        place = (finding.source, finding.row)
        # of two faults of one row what follows is told once
        followers = [] if place in told or finding.severity != "error" else following.get(place, [])
        told |= {place} if followers else set()
        rows.append(_build_row(finding, followers, by_source, names))
    return tuple(rows)


def _build_row(
    finding: Finding, followers: Sequence[Finding], tables: Mapping[str, WrittenTable], names: Mapping[str, str]
) -> FoundRow:
    table = tables.get(finding.source)
    return FoundRow(
        kind=finding.severity,
        cell=_name(finding, table, names),
        place=", ".join(filter(None, (f"row {finding.row}" if finding.row else "", finding.column))),
        says=finding.value or _read_cell(finding, table),
        right=say_right(finding),
        anchor=_build_anchor(finding, table, list(tables).index(finding.source)) if table else "",
        n_following=len(followers),
        following=tuple(
            FollowingRow(_name(one, tables.get(one.source), names), say_right(one))
            for one in followers[:_FOLLOWING_SHOWN]
        ),
    )


def _name_tables(tables: Sequence[WrittenTable]) -> dict[str, str]:
    """Return what each table is called: by its own name, with the file where two are called so."""
    names = [table.table or table.source for table in tables]
    return {
        table.source: name if names.count(name) == 1 else f"{table.source}"
        for table, name in zip(tables, names, strict=True)
    }


def _name(finding: Finding, table: WrittenTable | None, names: Mapping[str, str]) -> str:
    name = names.get(finding.source, finding.source)
    position = table.get_place(finding.column) if table and finding.column else None
    if not finding.row:
        return name
    return f"{name} {name_cell(position, finding.row)}" if position is not None else f"{name} row {finding.row}"


def _read_cell(finding: Finding, table: WrittenTable | None) -> str:
    position = table.get_place(finding.column) if table and finding.column else None
    if table is None or position is None or not finding.row:
        return ""
    if finding.row == 1:
        return table.header[position]
    row = next((row for row in table.rows if row.number == finding.row), None)
    return row.cells[position] if row else ""


def _build_anchor(finding: Finding, table: WrittenTable, at: int) -> str:
    is_shown = finding.row == 1 or any(row.number == finding.row for row in table.rows)
    return f"row-{at}-{finding.row}" if is_shown else ""


def build_shown(findings: Sequence[Finding], tables: Sequence[WrittenTable]) -> tuple[ShownTable, ...]:
    """Return the rows that findings are about as they were written, the cells they are about marked."""
    wrong: defaultdict[tuple[str, int], set[str]] = defaultdict(set)
    for finding in findings:
        wrong[finding.source, finding.row].add(finding.column)
    names = _name_tables(tables)
    return tuple(
        ShownTable(
            names[table.source],
            _mark(WrittenRow(1, table.header), table, at, wrong),
            tuple(_mark(row, table, at, wrong) for row in table.rows),
        )
        for at, table in sorted(enumerate(tables), key=lambda entry: entry[1].source)
        if table.rows or (table.source, 1) in wrong
    )


def _mark(row: WrittenRow, table: WrittenTable, at: int, wrong: Mapping[tuple[str, int], set[str]]) -> ShownRow:
    """Return a row (the header too) with the cells marked that findings are about."""
    columns = wrong.get((table.source, row.number), set())
    names = (*table.header, *[""] * (len(row.cells) - len(table.header)))
    cells = tuple(ShownCell(cell, name != "" and name in columns) for name, cell in zip(names, row.cells, strict=True))
    return ShownRow(row.number, f"row-{at}-{row.number}", cells, "" in columns)
