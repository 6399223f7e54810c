"""The names of records in other languages than the one read, found by the words they begin with.

Each translation of a name stands in an index by itself, so that a change of one leaves the others as they are. In a
view in another language what is said in the main one is another language, too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final, NamedTuple

from ontology.model.keeping_records import Translation
from ontology.snapshot.indexes import Index
from ontology.snapshot.name_index import FITS, NameIndex

__all__ = ["NAMES", "ByTranslatedName", "SaidName", "TranslatedNames"]

#: The columns that say what a record is called.
NAMES: Final = ("label", "alt_labels")
#: Between the parts of the key of a translation; in no id.
_JOIN: Final = "~"


class SaidName(NamedTuple):
    """A name of a record, and the language it is in."""

    name: str
    language: str


class TranslatedNames:
    """What records are called in other languages, by table; never changed.

    Parameters
    ----------
    indexes : Mapping of table to the index of its translated names, each under what `_get_key` says
    main, language : what the records are called in the main language, where another is read, by table; and its tag
    """

    def __init__(
        self, indexes: Mapping[str, NameIndex], main: Mapping[str, NameIndex] | None = None, language: str = ""
    ) -> None:
        self._indexes, self._main, self._language = indexes, main or {}, language

    def with_main(self, main: Mapping[str, NameIndex], language: str) -> TranslatedNames:
        """Return these names and those of the main language."""
        return TranslatedNames(self._indexes, main, language)

    def with_changes(self, changed: Mapping[str, Mapping[str, Sequence[str] | None]]) -> TranslatedNames:
        """Return the names after some translations were changed, None: are gone."""
        indexes = {table: self._indexes.get(table, _NONE).with_changes(keys) for table, keys in changed.items()}
        return TranslatedNames({**self._indexes, **indexes}, self._main, self._language)

    def has(self, table: str) -> bool:
        """Whether a record of a table has such a name."""
        return table in self._indexes or table in self._main

    def find(self, table: str, wanted: Sequence[str]) -> tuple[set[str], ...]:
        """Return for each of `FITS` the ids of the records of which such a name fits so; see `NameIndex.find`."""
        found = tuple(set[str]() for _ in FITS)
        for index, cut in ((self._indexes.get(table), True), (self._main.get(table), False)):
            for ids, keys in zip(found, index.find(wanted) if index is not None else (), strict=False):
                ids.update(key.partition(_JOIN)[0] if cut else key for _, key in keys)
        return found

    def find_near(self, table: str, wanted: Sequence[str]) -> Iterator[tuple[float, str]]:
        """Yield how near, and the id, of each name that is spelt nearly so; see `NameIndex.find_near`."""
        for index in (self._indexes.get(table), self._main.get(table)):
            for share, (_, key) in index.find_near(wanted) if index is not None else ():
                yield share, key.partition(_JOIN)[0]

    def list_main_names(self, table: str, record_id: str) -> list[SaidName]:
        """Return what a record is called in the main language, its label first; nothing where that one is read."""
        index = self._main.get(table)
        return [SaidName(name, self._language) for name in index.get_names(record_id)] if index is not None else []


_NONE: Final = NameIndex({}, with_ids=False)


class ByTranslatedName(Index[TranslatedNames]):
    """The names of all records in other languages, to be searched by words."""

    def build(self, records: Iterable[Translation]) -> TranslatedNames:
        """Return the index of all translations of names."""
        named: dict[str, dict[str, Sequence[str]]] = {}
        for row in records:
            if row.column in NAMES:
                named.setdefault(row.table, {})[_get_key(row)] = row.texts
        return TranslatedNames({table: NameIndex(names, with_ids=False) for table, names in named.items()})

    def patch(self, index: TranslatedNames, edits: Iterable[tuple[Any, Any]]) -> TranslatedNames:
        """Return the index after some edits."""
        changed: dict[str, dict[str, Sequence[str] | None]] = {}
        for old, new in edits:
            row = new or old
            if row is not None and row.column in NAMES:
                changed.setdefault(row.table, {})[_get_key(row)] = new.texts if new is not None else None
        return index.with_changes(changed) if changed else index


def _get_key(row: Translation) -> str:
    return _JOIN.join((row.id, row.language, row.column))
