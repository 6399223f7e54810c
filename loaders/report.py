"""What a loader hands over, and what a load led to."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

from ontology.errors import Finding
from ontology.model.columns import Key
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.rdf.namespaces import Quad

#: Source (file, or file and sheet) and row.
Place = tuple[str, int]

_ROW_BITS: Final = 32
_QUOTED: Final = re.compile("'[^']*'")


class Origins:
    """The file (or sheet) and row that each record came from; kept small, since there is one for every row."""

    def __init__(self) -> None:
        self._sources: dict[str, int] = {}
        #: Table -> key -> row and, above its bits, the place of the source.
        self._codes: defaultdict[str, dict[Key, int]] = defaultdict(dict)

    def add(self, table: str, key: Key, source: str, row: int) -> None:
        """Keep where a record came from."""
        place = self._sources.setdefault(source, len(self._sources))
        self._codes[table][key] = place << _ROW_BITS | row

    def get(self, table: str, key: Key) -> tuple[str, int] | None:
        """Return source and row of a record, None where it is not known."""
        code = self._codes[table].get(key)
        if code is None:
            return None
        return list(self._sources)[code >> _ROW_BITS], code & ((1 << _ROW_BITS) - 1)


@dataclass(frozen=True, slots=True)
class Consequence:
    """A finding that only follows from another one, and the place of that one."""

    cause: Place
    finding: Finding


@dataclass
class Loaded:
    """The sound content of a file or folder, and everything found in it.

    `records` holds table name -> records; faulty rows are left out of it already. `extra` holds quads of others
    (foreign SKOS). `origins` tells the file and row of a record, `faulty` the keys of rows that were left out.
    `unread` names the tables that could not be read (to their end), `untrusted` those that were read for their faults
    only: a column of theirs is unknown, and might be a misspelled one of those that are missing (`defaulted`).
    Each of these comes with the place of its fault. `consequences` holds what only follows from `findings`.
    """

    records: dict[str, list[Any]] = field(default_factory=dict)
    extra: list[Quad] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    label: str = ""
    origins: Origins = field(default_factory=Origins)
    faulty: dict[tuple[str, Key], Place] = field(default_factory=dict)
    unread: dict[str, Place] = field(default_factory=dict)
    untrusted: dict[str, Place] = field(default_factory=dict)
    defaulted: set[str] = field(default_factory=set)
    consequences: list[Consequence] = field(default_factory=list)
    _by_key: dict[str, tuple[list[Any], dict[Key, Any]]] = field(default_factory=dict, repr=False, compare=False)

    def find(self, table_name: str, key: Key) -> Any | None:
        """Return the record of a table with this key, or None. O(n) the first time, then O(1)."""
        rows = self.records.get(table_name, [])
        known, index = self._by_key.get(table_name, (None, {}))
        if known is not rows:
            index = dict(TABLES[table_name].iterate_keyed(rows))
            self._by_key[table_name] = rows, index
        return index.get(key)

    def copy(self) -> Loaded:
        """Return one from which rows can be left out without changing this one; the records are shared. O(rows)."""
        return replace(
            self,
            records={name: list(rows) for name, rows in self.records.items()},
            extra=list(self.extra),
            findings=list(self.findings),
            faulty=dict(self.faulty),
            unread=dict(self.unread),
            consequences=list(self.consequences),
            _by_key={},
        )

    def count(self) -> dict[str, int]:
        """Return the number of records per table that has any."""
        return {name: len(rows) for name, rows in self.records.items() if rows}


@dataclass(frozen=True, slots=True)
class TableChange:
    """What a load makes of a table: keys of new records and of those it changes; rows that change nothing.

    `n_kept` records are stored and not in the load: they stay.
    """

    new: tuple[Key, ...]
    changed: tuple[Key, ...]
    n_same: int
    n_kept: int


@dataclass(frozen=True)
class LoadReport:
    """What a load led to: the revision, counts per table, quads of others, findings, and what was left out.

    `is_refused` says that nothing was stored for its errors; `consequences` only follow from findings told already;
    `changes` is filled by a trial that is not refused.
    """

    revision: int
    counts: dict[str, int]
    n_extra: int
    findings: tuple[Finding, ...]
    notices: tuple[str, ...]
    n_skipped: int
    is_stored: bool
    is_refused: bool = False
    consequences: tuple[Consequence, ...] = ()
    changes: Mapping[str, TableChange] = field(default_factory=dict)

    @property
    def holds_people(self) -> bool:
        """Whether some of its rows are about people."""
        return any(name in PERSONAL_TABLES for name in self.counts)


def sort_findings(findings: Sequence[Finding]) -> list[Finding]:
    """Return findings once each: errors first, then by file, row and column."""
    unique = dict.fromkeys(findings)
    return sorted(unique, key=lambda f: (f.severity != "error", f.source, f.row, f.column, f.value, f.reason))


def count_kinds(findings: Iterable[Finding]) -> list[tuple[str, int]]:
    """Return each kind of fault (where it is, column, reason without its details) and how often, the most first.

    Examples
    --------
    >>> count_kinds([Finding("error", "roles.csv", row, "id", "!", "is no id") for row in (2, 5)])
    [('error: roles.csv, id: is no id', 2)]
    """
    counts: Counter[str] = Counter()
    for finding in findings:
        place = finding.source + finding.format_column()
        counts[f"{finding.severity}: {place}: {_leave_out_details(finding)}"] += 1
    return sorted(counts.items(), key=lambda entry: (-entry[1], entry[0]))


def _leave_out_details(finding: Finding) -> str:
    """Return the reason with an ellipsis for each name, id and number of this one finding."""
    details = {finding.value, *finding.about[1:]}
    words = []
    for word in _QUOTED.sub("…", finding.reason).split(" "):
        bare = word.strip(".,:;()")
        is_detail = bare in details or any(character.isdigit() for character in bare)
        words.append(word.replace(bare, "…") if bare and is_detail else word)
    return " ".join(words)
