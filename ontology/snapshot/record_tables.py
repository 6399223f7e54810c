"""Records of all tables by key, immutable: what a Snapshot is made of."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import groupby
from operator import itemgetter
from types import MappingProxyType
from typing import Any, Self

from ontology.errors import UnknownIdError
from ontology.model.columns import Key
from ontology.model.tables import TABLES
from ontology.snapshot.indexes import MOST_EDITS, carry_indexes, collect_edits, list_indexes
from ontology.snapshot.keeper import Keeper


class RecordTables(Keeper):
    """Every record of one revision of the store.

    Parameters
    ----------
    records : Mapping of table name to its records in any order
        A table that is absent is empty. Records are kept sorted by key, so the same data give the same
        Snapshot whatever the order of the rows.
    revision : int
        The store's revision they were read at.
    store_id : str
        Which store.

    Notes
    -----
    Building takes O(n log n) time for n records.
    """

    def __init__(self, records: Mapping[str, Iterable[Any]], revision: int = 0, store_id: str = "") -> None:
        super().__init__()
        self.revision = revision
        self.store_id = store_id
        self._tables: dict[str, dict[Key, Any]] = {}
        #: Id -> name of people who may be told of without their record; for whom not everything is there.
        self.also_named: Mapping[str, str] | None = None
        for name, table in TABLES.items():
            self._tables[name] = _sort_by_key(dict(table.iterate_keyed(records.get(name, ()))))

    def with_changes(
        self,
        put: Iterable[tuple[str, Any]] = (),
        remove: Iterable[tuple[str, Key]] = (),
        *,
        revision: int | None = None,
    ) -> Self:
        """Return a Snapshot with some records put and some removed; this one stays as it is.

        Equal to compiling the changed store afresh. Untouched tables are shared; a touched one of n records is
        copied, O(n), and sorted again only where a key is new.
        """
        put, remove = list(put), list(remove)
        changed: dict[str, dict[Key, Any]] = {}
        grown: set[str] = set()
        for name in {name for name, _ in (*remove, *put)}:
            changed[name] = dict(self._tables[name])
        for name, key in remove:
            changed[name].pop(key, None)
        for name, group in groupby(put, key=itemgetter(0)):
            table = changed[name]
            for key, record in TABLES[name].iterate_keyed(record for _, record in group):
                if key not in table:
                    grown.add(name)
                table[key] = record
        for name in grown:
            changed[name] = _sort_by_key(changed[name])
        after = type(self)({}, self.revision if revision is None else revision, self.store_id)
        after._tables, after.also_named = self._tables | changed, self.also_named
        if len(put) + len(remove) <= MOST_EDITS:
            carry_indexes(self, after, collect_edits(self._tables, put, remove))
        return after

    def with_tables(self, tables: Mapping[str, Mapping[Key, Any]]) -> Self:
        """Return a Snapshot with some tables whole, each in the order of keys; the others and their indexes are shared.

        O(n) for n records of these tables.
        """
        after = type(self)({}, self.revision, self.store_id)
        after._tables = self._tables | {name: dict(rows) for name, rows in tables.items()}
        after.also_named = self.also_named
        for name, index in list_indexes(type(self)).items():
            if name in vars(self) and index.table not in tables:
                vars(after)[name] = vars(self)[name]
        return after

    def __eq__(self, other: object) -> bool:
        """Whether both hold the same records in the same order (the revision aside)."""
        if other is self:
            return True
        if not isinstance(other, RecordTables):
            return NotImplemented
        return [*self.iterate_records()] == [*other.iterate_records()]

    __hash__ = object.__hash__

    def get_table(self, name: str) -> Mapping[Key, Any]:
        """Return all records of a table by key, in the order of keys."""
        return MappingProxyType(self._tables[name])

    def get_record(self, name: str, key: Key) -> Any:
        """Return one record.

        Raises
        ------
        UnknownIdError
            The table has no record with this key.
        """
        try:
            return self._tables[name][key]
        except KeyError:
            raise UnknownIdError(name, "~".join(str(part) for part in key)) from None

    def iterate_differences(self, other: RecordTables) -> Iterator[tuple[str, Key, Any, Any]]:
        """Yield (table name, key, record here, record in another) where the two differ, None where there is none.

        O(records of the tables that the two do not share).
        """
        for name, here in self._tables.items():
            there = other._tables[name]
            if here is there:
                continue
            for key, record in here.items():
                match = there.get(key)
                if match is not record and match != record:
                    yield name, key, record, match
            for key in there.keys() - here.keys():
                yield name, key, None, there[key]

    def iterate_records(self) -> Iterator[tuple[str, Any]]:
        """Yield (table name, record) over all tables, in the order of tables and keys."""
        for name, table in self._tables.items():
            for record in table.values():
                yield name, record


def _sort_by_key(keyed: dict[Key, Any]) -> dict[Key, Any]:
    """Return the same records in the order of keys."""
    keys = list(keyed)
    # one stable sort a part, the last part first: whole tuples take three times as long to compare
    for part in reversed(range(len(keys[0]) if keys else 0)):
        keys.sort(key=itemgetter(part))
    return {key: keyed[key] for key in keys}
