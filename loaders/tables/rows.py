"""From the rows of a table to records, every fault addressed.

Only what one table tells by itself is judged here: columns, cells, duplicate keys. What hangs on other rows
(unknown ids, levels outside a scale, ...) is judged by the checks of the whole framework.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import islice
from typing import Any, Final, NamedTuple

from loaders import limits
from loaders.report import Consequence, Loaded
from loaders.tables.cells import CellError, FaultyCell, format_cell, make_parser, make_printable, parse_cell
from loaders.tables.tagged_columns import TaggedColumn, parse_tagged_column
from ontology.errors import Finding, shorten
from ontology.model.columns import Column, Key, Table
from ontology.model.keeping_tables import TRANSLATIONS
from ontology.model.tables import REFUSED_COLUMNS, TABLES

#: Stands in a template behind the name of a column that must be filled in.
REQUIRED_MARK: Final = "(required)"
#: How many rows below the first are looked at for a header that stands in the wrong place.
HEADER_SEARCH: Final = 20


class _Reading(NamedTuple):
    """Where the cells of a column stand in a row, -1 for nowhere, and what makes values of them."""

    position: int
    column: Column
    parse: Callable[[str], Any]


def read_rows(table: Table, source: str, rows: Iterable[Sequence[object]], into: Loaded) -> None:
    """Read one table and add its records and findings to `into`.

    Parameters
    ----------
    source : str
        File (and sheet) for the address of findings.
    rows : iterable of rows, the header first
        Cells as text, or as a spreadsheet reader gives them; a row may be shorter than the header.
    into : Loaded
        Receives records, findings, origins and the keys of faulty rows.

    Raises
    ------
    LimitError
        There are too many rows or columns.

    Notes
    -----
    O(cells). Rows without any content are passed over.
    """
    iterator = iter(rows)
    names = [get_name(cell) for cell in next(iterator, ())]
    while names and not names[-1]:
        names.pop()
    limits.require_columns(source, len(names))
    problems = check_header(table, source, names)
    if not _is_readable(table, names):
        place = _find_header(table, iterator)
        if place:
            problems = [Finding("error", source, place, "", "", "the header is in this row; it must be row 1")]
        into.findings += problems
        into.unread[table.name] = (source, problems[0].row if problems else 1)
        return
    into.findings += problems
    places = {name: place for place, name in enumerate(names)}
    if any(finding.column not in REFUSED_COLUMNS for finding in problems):
        into.untrusted[table.name] = (source, 1)
        if any(column.name not in places for column in table.columns):
            into.defaulted.add(table.name)
    columns = [_Reading(places.get(column.name, -1), column, make_parser(column)) for column in table.columns]
    tagged = [(place, found) for name, place in places.items() if (found := parse_tagged_column(table, name))]
    # a part of the key whose column is misspelled has its default in every row
    has_guessed_keys = table.name in into.defaulted and any(
        reading.position < 0 for reading in columns if reading.column.attribute in table.key
    )
    records = into.records.setdefault(table.name, [])
    for number, row in enumerate(iterator, start=2):
        limits.require_rows(source, number)
        cells = [format_cell(cell).strip() for cell in row]
        if not any(cells) and not any(isinstance(cell, FaultyCell) for cell in row):
            continue
        if any(cells[len(names) :]):
            value = next(cell for cell in cells[len(names) :] if cell)
            reason = "the row has more cells than the header"
            into.findings.append(Finding("error", source, number, "", shorten(value), reason))
            if key := _read_key(table, columns, cells):
                into.faulty[table.name, key] = (source, number)
            continue
        faulty = {place: cell for place, cell in enumerate(row) if isinstance(cell, FaultyCell)}
        record, key = _read_row(table, (source, number), columns, cells, faulty, into.findings)
        if record is None:
            if key is not None:
                into.faulty[table.name, key] = (source, number)
            continue
        key = table.get_key(record)
        first = into.origins.get(table.name, key)
        if first is not None:
            told = _tell_duplicate(table, source, number, key, first)
            if has_guessed_keys:
                into.consequences.append(Consequence((source, 1), told))
            else:
                into.findings.append(told)
            continue
        into.origins.add(table.name, key, source, number)
        records.append(record)
        _read_texts(table, record, (source, number), [(cells[at], one) for at, one in tagged if at < len(cells)], into)


def _read_texts(
    table: Table, record: Any, place: tuple[str, int], cells: Iterable[tuple[str, TaggedColumn]], into: Loaded
) -> None:
    """Add what the columns of a row say in other languages."""
    for text, tagged in cells:
        if not text:
            continue
        try:
            row = tagged.make(table, record, parse_cell(tagged.column, text))
        except CellError as error:
            into.findings.append(Finding("error", *place, tagged.column.name, shorten(text), str(error)))
            continue
        key = TRANSLATIONS.get_key(row)
        into.origins.add(TRANSLATIONS.name, key, *place)
        into.records.setdefault(TRANSLATIONS.name, []).append(row)


def _tell_duplicate(table: Table, source: str, number: int, key: Key, first: tuple[str, int]) -> Finding:
    value = "~".join(str(part) for part in key)
    where = "row" if first[0] == source else f"{first[0]}, row"
    reason = f"is a duplicate of {where} {first[1]} ({', '.join(table.key)} must be unique)"
    return Finding("error", source, number, "", shorten(value), reason)


def get_name(cell: object) -> str:
    """Return the name in a header cell; a template adds to it that the column is required."""
    return format_cell(cell).strip().lower().removesuffix(REQUIRED_MARK).strip()


def _find_header(table: Table, rows: Iterator[Sequence[object]]) -> int:
    """Return the number of a row below the first that looks like the header, or 0."""
    known = {column.name for column in table.columns}
    required = {column.name for column in table.columns if column.is_required}
    for number, row in enumerate(islice(rows, HEADER_SEARCH), start=2):
        names = {get_name(cell) for cell in row} - {""}
        if names <= known and names >= required:
            return number
    return 0


def _is_readable(table: Table, names: Sequence[str]) -> bool:
    """Whether rows can be read below this header: columns that do not belong there are passed over."""
    counts = Counter(names)
    return all(counts[column.name] == 1 or not (column.is_required or counts[column.name]) for column in table.columns)


def check_header(table: Table, source: str, names: Sequence[str]) -> list[Finding]:
    """Return what is wrong with a header: refused, unknown, doubled and missing columns, or no header at all."""
    if not names:
        return [Finding("error", source, 1, "", "", "the header row is missing")]
    joined = next((name for name in names if ";" in name or "\t" in name), "")
    if joined:
        shown = shorten(make_printable(joined))
        return [Finding("error", source, 1, "", shown, "the columns must be separated by a comma")]
    known = {column.name for column in table.columns}
    counts = Counter(names)
    findings = []
    for name, n in counts.items():
        if name in REFUSED_COLUMNS and name not in known:
            reason = f"this column is refused: {REFUSED_COLUMNS[name]}"
        elif not name:
            reason = "this column has no name"
        elif name not in known and not parse_tagged_column(table, name):
            reason = f"unknown column; {table.name} has {', '.join(c.name for c in table.columns)}"
        elif n > 1:
            reason = "this column is there twice"
        else:
            continue
        shown = shorten(make_printable(name))
        findings.append(Finding("error", source, 1, shown, "", reason))
    findings += [
        Finding("error", source, 1, column.name, "", "the required column is missing")
        for column in table.columns
        if column.is_required and column.name not in counts
    ]
    return findings


def _read_row(
    table: Table,
    place: tuple[str, int],
    columns: Sequence[_Reading],
    cells: Sequence[str],
    faulty: Mapping[int, FaultyCell],
    findings: list[Finding],
) -> tuple[Any, Key | None]:
    """Return the record of a row, or None and its key where that can be read."""
    values: dict[str, Any] = {}
    is_sound = True
    for position, column, parse in columns:
        text = cells[position] if 0 <= position < len(cells) else ""
        reason = ""
        if faulty and position in faulty:
            reason = faulty[position].reason
        elif not text:
            if column.is_required:
                reason = "must not be empty"
            elif is_sound:
                values[column.attribute] = column.get_default(values)
        else:
            try:
                values[column.attribute] = parse(text)
            except CellError as error:
                reason = str(error)
        if reason:
            findings.append(Finding("error", *place, column.name, shorten(text), reason))
            is_sound = False
    if is_sound:
        return table.record(**values), None
    has_key = all(name in values for name in table.key)
    return None, tuple(values[name] for name in table.key) if has_key else None


def _read_key(table: Table, columns: Sequence[_Reading], cells: Sequence[str]) -> Key | None:
    """Return the key of a row that is left out, None where it cannot be read."""
    record, key = _read_row(table, ("", 0), columns, cells, {}, [])
    return table.get_key(record) if record is not None else key


def get_table(name: str) -> Table | None:
    """Return the table of a file or sheet name (case and surrounding blanks aside), or None."""
    return TABLES.get(name.strip().lower().replace("-", "_").replace(" ", "_"))
