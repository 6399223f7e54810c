"""From the rows of a table to records, every fault addressed. Imports ontology tables, loaders cells and report.

Only what one table tells by itself is judged here: columns, cells, duplicate keys. What hangs on other rows
(unknown ids, levels outside a scale, ...) is judged by the checks of the whole framework.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from loaders.cells import CellError, format_cell, parse_cell
from loaders.report import Loaded
from ontology.columns import Column, Key, Table
from ontology.errors import Finding, shorten
from ontology.tables import REFUSED_COLUMNS, TABLES


def read_rows(table: Table, source: str, rows: Iterable[Sequence[object]], into: Loaded) -> None:
    """Read one table and add its records and findings to `into`.

    Parameters
    ----------
    table : Table
    source : str
        File (and sheet) for the address of findings.
    rows : iterable of rows, the header first
        Cells as text, or as a spreadsheet reader gives them; a row may be shorter than the header.
    into : Loaded
        Receives records, findings, origins and the keys of faulty rows.

    Notes
    -----
    O(cells). Rows without any content are passed over.
    """
    iterator = iter(rows)
    header = next(iterator, None)
    names = [format_cell(cell).strip().lower() for cell in header] if header is not None else []
    while names and not names[-1]:
        names.pop()
    if not names:
        into.findings.append(Finding("error", source, 1, "", "", "the header row is missing"))
        return
    problems = check_header(table, source, names)
    into.findings += problems
    if any(problem.severity == "error" for problem in problems):
        return
    columns = [(names.index(column.name) if column.name in names else -1, column) for column in table.columns]
    records = into.records.setdefault(table.name, [])
    for number, row in enumerate(iterator, start=2):
        cells = [format_cell(cell).strip() for cell in row]
        if not any(cells):
            continue
        if any(cells[len(names) :]):
            into.findings.append(
                Finding("error", source, number, "", shorten(cells[-1]), "the row has more cells than the header")
            )
            continue
        record, key = _read_row(table, source, number, columns, cells, into.findings)
        if record is None:
            if key is not None:
                into.faulty.add((table.name, key))
            continue
        key = table.get_key(record)
        first = into.origins.get((table.name, key))
        if first is not None:
            into.findings.append(
                Finding(
                    "error",
                    source,
                    number,
                    "",
                    "~".join(str(part) for part in key),
                    f"is a duplicate of {'row' if first[0] == source else first[0] + ', row'} {first[1]} "
                    f"({', '.join(table.key)} must be unique)",
                )
            )
            continue
        into.origins[table.name, key] = (source, number)
        records.append(record)


def check_header(table: Table, source: str, names: Sequence[str]) -> list[Finding]:
    """Return what is wrong with a header: refused, unknown, doubled and missing columns."""
    known = {column.name for column in table.columns}
    findings = []
    for name in dict.fromkeys(names):
        if name in REFUSED_COLUMNS:
            reason = f"this column is refused: {REFUSED_COLUMNS[name]}"
        elif name not in known:
            if ";" in name:
                reason = "unknown column; separate the columns with a comma"
            elif not name:
                reason = "a column without a name"
            else:
                reason = f"unknown column; {table.name} has {', '.join(c.name for c in table.columns)}"
        elif list(names).count(name) > 1:
            reason = "the column stands there twice"
        else:
            continue
        findings.append(Finding("error", source, 1, name, name, reason))
    findings += [
        Finding("error", source, 1, column.name, "", "the required column is missing")
        for column in table.columns
        if column.is_required and column.name not in names
    ]
    return findings


def _read_row(
    table: Table,
    source: str,
    number: int,
    columns: Sequence[tuple[int, Column]],
    cells: Sequence[str],
    findings: list[Finding],
) -> tuple[Any, Key | None]:
    values: dict[str, Any] = {}
    is_sound = True
    for position, column in columns:
        text = cells[position] if 0 <= position < len(cells) else ""
        if not text:
            if column.is_required:
                findings.append(Finding("error", source, number, column.name, "", "must not be empty"))
                is_sound = False
            elif is_sound:
                values[column.attribute] = column.get_default(values)
            continue
        try:
            values[column.attribute] = parse_cell(column, text)
        except CellError as error:
            findings.append(Finding("error", source, number, column.name, shorten(text), str(error)))
            is_sound = False
    if is_sound:
        return table.record(**values), None
    has_key = all(name in values for name in table.key)
    return None, tuple(values[name] for name in table.key) if has_key else None


def get_table(name: str) -> Table | None:
    """Return the table of a file or sheet name (case and surrounding blanks aside), or None."""
    return TABLES.get(name.strip().lower().replace("-", "_").replace(" ", "_"))
