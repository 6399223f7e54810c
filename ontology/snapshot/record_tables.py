"""Records of all tables by key, immutable: what a Snapshot is made of."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import groupby
from operator import itemgetter
from types import MappingProxyType
from typing import Any, Self

from ontology.errors import UnknownIdError
from ontology.model.columns import Key
from ontology.model.retirable import HANGING, RETIRABLE
from ontology.model.tables import TABLES
from ontology.snapshot.indexes import MOST_EDITS, carry_indexes, collect_edits, list_indexes
from ontology.snapshot.keeper import Keeper
from ontology.snapshot.set_aside import SetAside, is_set_aside, list_retired_ids, move_rows, split_rows


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

    Attributes
    ----------
    retired : SetAside
        Records that are retired, with the rows that hang on them: in no table and in no index.

    Notes
    -----
    Building takes O(n log n) time for n records.
    """

    def __init__(self, records: Mapping[str, Iterable[Any]], revision: int = 0, store_id: str = "") -> None:
        super().__init__()
        self.revision = revision
        self.store_id = store_id
        self._tables: dict[str, dict[Key, Any]] = {}
        self.retired = SetAside()
        #: Id -> name of people who may be told of without their record; for whom not everything is there.
        self.also_named: Mapping[str, str] | None = None
        for name, table in TABLES.items():
            self._tables[name] = _sort_by_key(dict(table.iterate_keyed(records.get(name, ()))))
        ids = list_retired_ids(self._tables)
        if any(ids.values()):
            self.retired = self._split(self._tables, ids)

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
        retired = self.retired
        if retired or any(name in RETIRABLE and record.retired_on is not None for name, record in put):
            put, remove, retired = self._set_aside(put, remove)
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
        after._tables, after.also_named, after.retired = self._tables | changed, self.also_named, retired
        if len(put) + len(remove) <= MOST_EDITS:
            carry_indexes(self, after, collect_edits(self._tables, put, remove))
        return after

    def with_tables(self, tables: Mapping[str, Mapping[Key, Any]]) -> Self:
        """Return a Snapshot with some tables whole, each in the order of keys; the others and their indexes are shared.

        A table is whole with the rows that are set aside. O(n) for n records of these tables.
        """
        whole = {name: dict(rows) for name, rows in tables.items()}
        if not whole.keys().isdisjoint(RETIRABLE):
            whole = {name: dict(self.get_all(name)) for name in HANGING} | whole
        ids = {name: frozenset(key[0] for key in self.retired.get_table(name)) for name in RETIRABLE}
        aside = self._split(whole, ids | list_retired_ids(whole))
        after = type(self)({}, self.revision, self.store_id)
        after._tables = self._tables | whole
        kept = {name: rows for name, rows in self.retired.tables.items() if name not in whole}
        after.retired = SetAside(kept | dict(aside.tables))
        after.also_named = self.also_named
        for name, index in list_indexes(type(self)).items():
            if name in vars(self) and index.table not in whole:
                vars(after)[name] = vars(self)[name]
        return after

    def with_texts(self, said: Mapping[str, Mapping[Key, Any]]) -> Self:
        """Return a Snapshot in which some records are said otherwise: other texts, and all else of them the same.

        Untouched tables are shared, and every index of them. O(records of the tables that are touched).
        """
        after = type(self)({}, self.revision, self.store_id)
        after._tables = self._tables | {name: _say(self._tables[name], rows) for name, rows in said.items()}
        aside = self.retired.tables
        after.retired = SetAside(
            {**aside, **{name: _say(aside[name], rows) for name, rows in said.items() if name in aside}}
        )
        after.also_named = self.also_named
        for name, index in list_indexes(type(self)).items():
            if name in vars(self) and index.table not in said:
                vars(after)[name] = vars(self)[name]
        return after

    @staticmethod
    def _split(tables: dict[str, dict[Key, Any]], ids: Mapping[str, frozenset[str]]) -> SetAside:
        """Take what is to be set aside out of some tables and return it."""
        aside: dict[str, dict[Key, Any]] = {}
        for name in (*RETIRABLE, *HANGING):
            if name in tables:
                tables[name], gone = split_rows(name, tables[name], ids)
                if gone:
                    aside[name] = gone
        return SetAside(aside)

    def _set_aside(
        self, put: list[tuple[str, Any]], remove: list[tuple[str, Key]]
    ) -> tuple[list[tuple[str, Any]], list[tuple[str, Key]], SetAside]:
        """Return what a change puts and removes of the tables in use, and what is set aside after it."""
        edited, ids = move_rows(self._tables, self.retired, put, remove)
        used: list[tuple[str, Any]] = []
        gone: list[tuple[str, Key]] = []
        aside = dict(self.retired.tables)
        for name, records in edited.items():
            rows = dict(aside.get(name, {}))
            for key, record in records.items():
                is_aside = record is not None and is_set_aside(name, record, ids)
                rows.pop(key, None)
                if is_aside:
                    rows[key] = record
                if record is None or is_aside:
                    gone.append((name, key))
                else:
                    used.append((name, record))
            aside[name] = _sort_by_key(rows)
        return used, gone, SetAside({name: rows for name, rows in aside.items() if rows})

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

    def get_all(self, name: str) -> Mapping[Key, Any]:
        """Return all records of a table by key, those that are set aside too, in the order of keys."""
        aside = self.retired.get_table(name)
        if not aside:
            return self.get_table(name)
        return self.keep(("all of", name), lambda: MappingProxyType(_sort_by_key({**self._tables[name], **aside})))

    def get_record(self, name: str, key: Key) -> Any:
        """Return one record, be it set aside or not.

        Raises
        ------
        UnknownIdError
            The table has no record with this key.
        """
        record = self._tables[name].get(key)
        if record is None:
            record = self.retired.get_table(name).get(key)
        if record is None:
            raise UnknownIdError(name, "~".join(str(part) for part in key))
        return record

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
        """Yield (table name, record) over all tables, those set aside too, in the order of tables and keys."""
        for name in self._tables:
            for record in self.get_all(name).values():
                yield name, record


def _say(rows: Mapping[Key, Any], said: Mapping[Key, Any]) -> dict[Key, Any]:
    """Return rows with some of them said otherwise, in the same order; what is not among them is passed over."""
    return {**rows, **{key: record for key, record in said.items() if key in rows}}


def _sort_by_key(keyed: dict[Key, Any]) -> dict[Key, Any]:
    """Return the same records in the order of keys."""
    keys = list(keyed)
    # one stable sort a part, the last part first: whole tuples take three times as long to compare
    for part in reversed(range(len(keys[0]) if keys else 0)):
        keys.sort(key=itemgetter(part))
    return {key: keyed[key] for key in keys}
