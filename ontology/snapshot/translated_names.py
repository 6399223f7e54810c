"""The names of records in other languages than the one read, found by the words they begin with.

Names of one language and column stand in an index by themselves, so that a change of one leaves the others as they are.
In a view in another language what is said in the main one is another language, too.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final, NamedTuple

from ontology.model.keeping_records import Translation
from ontology.snapshot.indexes import Index
from ontology.snapshot.name_index import NameIndex

__all__ = ["NAMES", "ByTranslatedName", "SaidName", "TranslatedNames"]

#: The columns that say what a record is called.
NAMES: Final = ("label", "alt_labels")
#: Language and column of a translation.
Said = tuple[str, str]
#: Names by the id of their record, None for those that are gone.
Named = Mapping[str, Sequence[str] | None]


class SaidName(NamedTuple):
    """A name of a record, and the language it is in."""

    name: str
    language: str


class TranslatedNames:
    """What records are called in other languages, by table; never changed.

    Parameters
    ----------
    indexes : Mapping of table to the indexes of its translated names, one for each language and column
    main, language : what the records are called in the main language, where another is read, by table; and its tag
    """

    def __init__(
        self,
        indexes: Mapping[str, Mapping[Said, NameIndex]],
        main: Mapping[str, NameIndex] | None = None,
        language: str = "",
    ) -> None:
        self._indexes, self._main, self._language = indexes, main or {}, language

    def with_main(self, main: Mapping[str, NameIndex], language: str) -> TranslatedNames:
        """Return these names and those of the main language."""
        return TranslatedNames(self._indexes, main, language)

    def with_changes(self, changed: Mapping[str, Mapping[Said, Named]]) -> TranslatedNames:
        """Return the names after some translations were changed, None: are gone."""
        indexes = dict(self._indexes)
        for table, groups in changed.items():
            own = indexes.get(table, {})
            indexes[table] = {**own, **{said: own.get(said, _NONE).with_changes(ids) for said, ids in groups.items()}}
        return TranslatedNames(indexes, self._main, self._language)

    def has(self, table: str) -> bool:
        """Whether a record of a table has such a name."""
        return table in self._indexes or table in self._main

    def _list_indexes(self, table: str) -> list[NameIndex]:
        return [*self._indexes.get(table, {}).values(), *filter(None, (self._main.get(table),))]

    def find_ids(self, table: str, wanted: Sequence[str], n_fits: int) -> tuple[set[str], ...]:
        """Return the ids of the records of which such a name fits, by how closely; see `NameIndex.find_ids`."""
        found = [index.find_ids(wanted, n_fits) for index in self._list_indexes(table)]
        return tuple({one for ids in of_fit for one in ids} for of_fit in zip(*found, strict=True))

    def find_near(self, table: str, wanted: Sequence[str]) -> Iterator[tuple[float, str]]:
        """Yield how near, and the id, of each name that is spelt nearly so; see `NameIndex.find_near`."""
        for index in self._list_indexes(table):
            for share, (_, record_id) in index.find_near(wanted):
                yield share, record_id

    def list_main_names(self, table: str, record_id: str) -> list[SaidName]:
        """Return what a record is called in the main language, its label first; nothing where that one is read."""
        index = self._main.get(table)
        return [SaidName(name, self._language) for name in index.get_names(record_id)] if index is not None else []


_NONE: Final = NameIndex({}, with_ids=False)


class ByTranslatedName(Index[TranslatedNames]):
    """The names of all records in other languages, to be searched by words."""

    def build(self, records: Iterable[Translation]) -> TranslatedNames:
        """Return the index of all translations of names."""
        named: defaultdict[str, defaultdict[Said, dict[str, Sequence[str]]]] = defaultdict(lambda: defaultdict(dict))
        for row in records:
            if row.column in NAMES:
                named[row.table][row.language, row.column][row.id] = row.texts
        return TranslatedNames(
            {
                table: {said: NameIndex(names, with_ids=False) for said, names in groups.items()}
                for table, groups in named.items()
            }
        )

    def patch(self, index: TranslatedNames, edits: Iterable[tuple[Any, Any]]) -> TranslatedNames:
        """Return the index after some edits."""
        changed: defaultdict[str, defaultdict[Said, dict[str, Sequence[str] | None]]] = defaultdict(
            lambda: defaultdict(dict)
        )
        for old, new in edits:
            row = new or old
            if row is not None and row.column in NAMES:
                changed[row.table][row.language, row.column][row.id] = new.texts if new is not None else None
        return index.with_changes(changed) if changed else index
