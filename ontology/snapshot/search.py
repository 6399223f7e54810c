"""Records found by what they are called: case and accents make no difference, words may be begun.

A text finds a name when every word of the text begins a word of the name. The closest come first: the whole name, its
beginning, whole words in it, words begun inside it. A record is found by its names in other languages, too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import islice
from typing import Annotated, Any, Final

from ontology.model.folding import split_words
from ontology.model.identity import AnyId
from ontology.snapshot.name_index import FITS, N_CLOSEST, NameIndex, SortKey, fit_words, list_names
from ontology.snapshot.names import get_place_name
from ontology.snapshot.snapshot import Snapshot
from ontology.snapshot.translated_names import NAMES, SaidName

__all__ = [
    "FITS",
    "FOUND",
    "MOST_NEAR",
    "Hits",
    "Match",
    "NearMatch",
    "find_hits",
    "find_near",
    "find_records",
    "index_names",
    "list_by_name",
]

#: The tables whose records are found by name, and what one record is called, in the order of what is found.
FOUND: Final = {"competencies": "competency", "courses": "course", "people": "person", "roles": "role", "teams": "team"}
#: Names spelt nearly so that are told where nothing is found.
MOST_NEAR: Final = 3


@dataclass(frozen=True, slots=True)
class Match:
    """A record that a text finds: its kind, id and label, the name found (perhaps another one), and how closely."""

    kind: Annotated[str, "What it is: competency, course, person, role or team."]
    id: Annotated[AnyId, "Its id."]
    label: Annotated[str, "What it is called."]
    name: Annotated[str, "The name that was found, perhaps another one."]
    fit: Annotated[str, "How closely: whole, beginning, word or inside."]
    language: Annotated[str | None, "The language of that name (tag); null: the one that is read."] = None


@dataclass(frozen=True, slots=True)
class NearMatch:
    """A record whose name is spelt nearly so."""

    kind: Annotated[str, "What it is."]
    id: Annotated[AnyId, "Its id."]
    label: Annotated[str, "Its name."]


class Hits:
    """All records that a text finds, the closest first, then by kind, label and id; each is described when taken.

    Whoever takes the first alone does not wait for the rest to be found.
    """

    def __init__(self, snapshot: Snapshot, text: str, tables: Sequence[str]) -> None:
        self._snapshot, self._wanted = snapshot, split_words(text)
        self._tables = sorted(tables, key=_get_kind)

    def __len__(self) -> int:
        return sum(len(keys) for _, keys in self._groups)

    @cached_property
    def _groups(self) -> list[tuple[str, list[SortKey]]]:
        return self._find(len(FITS))

    def _find(self, n_fits: int) -> list[tuple[str, list[SortKey]]]:
        """Return table and records of those that fit closely enough, the closest first."""
        others = self._snapshot.names_in_other_languages
        of_table = {
            table: _get_index(self._snapshot, table).find(
                self._wanted, others.find_ids(table, self._wanted, n_fits), n_fits
            )
            for table in self._tables
        }
        return [(table, of_table[table][fit]) for fit in range(n_fits) for table in self._tables]

    def count(self, table: str) -> int:
        """Return how many records of a table are found."""
        return sum(len(keys) for other, keys in self._groups if other == table)

    def take(self, first: int, end: int | None = None, *, only: str = "") -> tuple[Match, ...]:
        """Return the hits from one place, from 0, to before another; None: to the last. `only`: those of a table."""
        return tuple([self._describe(table, one) for table, one in self._list_ids(first, end, only)])

    def _list_ids(self, first: int, end: int | None, only: str) -> list[tuple[str, str]]:
        if end is not None and "_groups" not in vars(self):
            closest = self._find(N_CLOSEST)
            if sum(len(keys) for table, keys in closest if only in ("", table)) >= end:
                return _cut(closest, first, end, only)
        return _cut(self._groups, first, end, only)

    def _describe(self, table: str, record_id: str) -> Match:
        names = _get_names(self._snapshot, table, record_id)
        said = [SaidName(name, "") for name in names]
        said += _list_other_names(self._snapshot, table, record_id)
        fits = [(FITS.index(fit), one) for one in said if (fit := fit_words(self._wanted, split_words(one.name)))]
        fits += [(0, SaidName(record_id, ""))] if self._wanted == split_words(record_id) else []
        closest, found = min(fits, key=lambda entry: entry[0])
        return Match(_get_kind(table), record_id, names[0], found.name, FITS[closest], found.language or None)


def find_hits(snapshot: Snapshot, text: str, tables: Sequence[str] = tuple(FOUND)) -> Hits:
    """Return all records that a text finds.

    Parameters
    ----------
    text : str
        Begun words of a name, in any order; a whole id finds its record too.
    tables : tables to look in: of `FOUND`, "shifts" or "places"

    Notes
    -----
    O(log n + k log k) for n names, k of which hold words that begin like one of the text. A text without words finds
    nothing. The index of a table is built at its first use.
    """
    return Hits(snapshot, text, tables)


def find_records(snapshot: Snapshot, text: str, tables: Sequence[str] = tuple(FOUND)) -> tuple[Match, ...]:
    """Return the records that a text finds, described: see `find_hits`."""
    return find_hits(snapshot, text, tables).take(0)


def find_near(snapshot: Snapshot, text: str, tables: Sequence[str] = tuple(FOUND)) -> tuple[NearMatch, ...]:
    """Return the records with a name of which every word of a text is nearly one; the nearest first, at most three.

    Of the same nearness in the order of kind, label and id. O(different words of the tables).
    """
    wanted = split_words(text)
    near = [
        (-share, _get_kind(table), label, record_id, table)
        for table in tables
        for share, (label, record_id) in _find_near(snapshot, table, wanted)[:MOST_NEAR]
    ]
    nearest = sorted(near)[:MOST_NEAR]
    return tuple([NearMatch(kind, i, _get_names(snapshot, table, i)[0]) for _, kind, _, i, table in nearest])


def index_names(snapshot: Snapshot) -> None:
    """Build what searches need, so that the first of them is as quick as the others. O(w log w) for w words."""
    for table in FOUND:
        _get_index(snapshot, table)
    _ = snapshot.names_in_other_languages


def list_by_name(snapshot: Snapshot, table: str) -> list[str]:
    """Return the ids of a table's records in the order of what people read for them. O(n)."""
    return _get_index(snapshot, table).list_ids()


def _get_kind(table: str) -> str:
    return FOUND.get(table, table.removesuffix("s"))


def _get_index(snapshot: Snapshot, table: str) -> NameIndex:
    if table == "places":  # what they are called hangs on roles and shifts
        return snapshot.keep("names of places", lambda: NameIndex(dict(_iterate_places(snapshot))))
    index: NameIndex = getattr(snapshot, f"names_of_{table}")
    return index


def _cut(groups: Iterable[tuple[str, list[SortKey]]], first: int, end: int | None, only: str) -> list[tuple[str, str]]:
    ids = ((table, one) for table, keys in groups if only in ("", table) for _, one in keys)
    return list(islice(ids, first, end))


def _find_near(snapshot: Snapshot, table: str, wanted: Sequence[str]) -> list[tuple[float, SortKey]]:
    index = _get_index(snapshot, table)
    near = {key: share for share, key in index.find_near(wanted)}
    for share, record_id in snapshot.names_in_other_languages.find_near(table, wanted):
        key = index.get_key(record_id)
        if key is not None:
            near[key] = max(share, near.get(key, 0.0))
    return sorted(((share, key) for key, share in near.items()), key=lambda entry: (-entry[0], entry[1]))


def _list_other_names(snapshot: Snapshot, table: str, record_id: str) -> list[SaidName]:
    """Return what a record is called in other languages, those of the main one first, then by language."""
    others = snapshot.names_in_other_languages
    if not others.has(table):
        return []
    rows = [row for row in snapshot.get_translations((table, record_id)) if row.column in NAMES]
    rows.sort(key=lambda row: (row.language, NAMES.index(row.column)))
    return [*others.list_main_names(table, record_id), *(SaidName(n, row.language) for row in rows for n in row.texts)]


def _get_names(snapshot: Snapshot, table: str, record_id: str) -> tuple[str, ...]:
    if table == "places":
        return (get_place_name(snapshot, record_id),)
    record: Any = getattr(snapshot, table)[record_id]
    return list_names(record)


def _iterate_places(snapshot: Snapshot) -> Iterator[tuple[str, tuple[str, ...]]]:
    return ((place_id, (get_place_name(snapshot, place_id),)) for place_id in snapshot.places)
