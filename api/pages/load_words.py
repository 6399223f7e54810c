"""What a checked load comes to, in sentences: what is wrong, what is new, what goes with the rows left out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from api.desk.names import count, join_names
from loaders.report import LoadReport
from loaders.tables.written import WrittenTable
from ontology.errors import Finding
from ontology.model.tables import TABLES

__all__ = ["LeftOut", "count_rows", "find_left_out", "name_rows", "say_changes", "say_left_out", "say_wrong"]

_WRONG: Final = {
    "cell": ("cell",),
    "row": ("row",),
    "heading": ("column heading",),
    "file": ("sheet or file", "sheets or files"),
}


def say_wrong(findings: Sequence[Finding]) -> str:
    """Return how much is wrong: cells, rows, column headings, sheets or files.

    Examples
    --------
    >>> cell = Finding("error", "roles.csv", 2, "id", "!", "not a valid id")
    >>> say_wrong([cell]), say_wrong([cell, Finding("error", "roles.csv", 1, "sex", "", "refused")])
    ('1 cell is wrong', '1 cell and 1 column heading are wrong')
    """
    wrong = {(_get_kind(one), one.source, one.row, one.column) for one in findings if one.severity == "error"}
    numbers = Counter(kind for kind, *_ in wrong)
    parts = [count(numbers[kind], *words) for kind, words in _WRONG.items() if numbers[kind]]
    return f"{join_names(parts)} {'is' if len(wrong) == 1 else 'are'} wrong"


def _get_kind(finding: Finding) -> str:
    if finding.row > 1:
        return "cell" if finding.column else "row"
    return "heading" if finding.row else "file"


def name_rows(table: str, number: int) -> str:
    """Return so many rows of a table in words.

    Examples
    --------
    >>> name_rows("cover_needs", 1), name_rows("people", 2)
    ('1 cover need', '2 people')
    """
    return count(number, TABLES[table].segment.replace("-", " "), table.replace("_", " "))


def count_rows(report: LoadReport) -> tuple[int, int, int]:
    """Return how many rows are new, change a record, and say what is there already."""
    changes = report.changes.values()
    return (
        sum(len(one.new) for one in changes),
        sum(len(one.changed) for one in changes),
        sum(one.n_same for one in changes),
    )


def say_changes(n_new: int, n_changed: int, n_same: int) -> str:
    """Return what rows would do.

    Examples
    --------
    >>> say_changes(12, 3, 2269), say_changes(0, 1, 0)
    ('12 are new, 3 change what is stored, 2,269 say what is stored already.', '1 changes what is stored.')
    """
    parts = [
        f"{n_new:,} {'is' if n_new == 1 else 'are'} new" if n_new else "",
        f"{n_changed:,} {'changes' if n_changed == 1 else 'change'} what is stored" if n_changed else "",
        f"{n_same:,} {'says' if n_same == 1 else 'say'} what is stored already" if n_same else "",
    ]
    return f"{', '.join(filter(None, parts)) or 'Nothing would change'}."


@dataclass(frozen=True, slots=True)
class LeftOut:
    """What goes when the rest is stored: rows with errors, whole tables, and other rows by table that name those."""

    n_rows: int
    tables: tuple[str, ...]
    others: Mapping[str, int]


def find_left_out(whole: LoadReport, rest: LoadReport, tables: Sequence[WrittenTable]) -> LeftOut:
    """Return what is left out when the sound rest of a load is stored."""
    faulty: dict[str, set[tuple[str, int]]] = {}
    by_source = {table.source: table.table for table in tables}
    for finding in whole.findings:
        if finding.severity == "error" and finding.row > 1 and (name := by_source.get(finding.source)):
            faulty.setdefault(name, set()).add((finding.source, finding.row))
    n_written: dict[str, int] = {}
    for table in tables:
        if table.table:
            n_written[table.table] = n_written.get(table.table, 0) + table.n_rows
    at_fault = {by_source.get(one.source) for one in whole.findings if one.severity == "error"} - set(faulty)
    gone = tuple(name for name, n in n_written.items() if n and name in at_fault and not rest.counts.get(name, 0))
    n_others = {
        name: n - rest.counts.get(name, 0) - len(faulty.get(name, ()))
        for name, n in n_written.items()
        if name not in gone
    }
    n_faulty = sum(map(len, faulty.values()))
    return LeftOut(n_faulty, gone, {name: n for name, n in n_others.items() if n > 0})


def say_left_out(left: LeftOut) -> tuple[str, str]:
    """Return the words of the button that stores the rest, and a sentence on what else is left out ("" for nothing).

    Examples
    --------
    >>> say_left_out(LeftOut(6, (), {"assessments": 3}))
    ('Store the rest without these 6 rows', 'With them go 3 assessments, which name them.')
    >>> say_left_out(LeftOut(0, ("people",), {}))[0]
    'Store the rest without people'
    """
    if left.n_rows:
        button = f"Store the rest without {'this row' if left.n_rows == 1 else f'these {left.n_rows:,} rows'}"
    elif left.tables:
        names = [name.replace("_", " ") for name in left.tables]
        button = f"Store the rest without {join_names(names) if len(names) < 4 else f'{len(names)} tables'}"
    else:
        button = "Store the rest without these columns"
    parts = [name_rows(name, n) for name, n in left.others.items()]
    if left.n_rows and left.tables:
        whole = "table" if len(left.tables) == 1 else "tables"
        parts.append(f"the whole {whole} {join_names(name.replace('_', ' ') for name in left.tables)}")
    if not parts:
        return button, ""
    verb = "goes" if len(parts) == 1 and parts[0].startswith("1 ") else "go"
    return button, f"With them {verb} {join_names(parts)}, which {'names' if verb == 'goes' else 'name'} them."
