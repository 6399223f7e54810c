"""Indexes of a Snapshot, each described once: of which table, by what.

From the description an index is built at its first use, read, and carried over to the next Snapshot: after a small
change only the touched entries are made anew.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from operator import attrgetter
from typing import Any, Final, Generic, Protocol, Self, TypeVar, overload

from ontology.model.columns import Key
from ontology.model.tables import TABLES

__all__ = [
    "MOST_EDITS",
    "ById",
    "Edits",
    "GroupedBy",
    "Groups",
    "Index",
    "carry_indexes",
    "collect_edits",
    "list_indexes",
]

_R = TypeVar("_R")
_I = TypeVar("_I")

#: Table -> its records before and after a change, None where there was or is none.
Edits = Mapping[str, Sequence[tuple[Any, Any]]]
#: Larger changes build their indexes anew.
MOST_EDITS: Final = 1_000


class Tables(Protocol):
    """What an index is built from and kept in."""

    def get_table(self, name: str) -> Mapping[Key, Any]:
        """Return all records of a table by key, in the order of keys."""
        ...


class Index(ABC, Generic[_I]):
    """One index, as an attribute of the class: what is read of it stays the same for as long as the Snapshot.

    Built in O(n) for n records of its table.
    """

    def __init__(self, table: str) -> None:
        self.table = table
        self.name = ""

    def __set_name__(self, owner: type, name: str) -> None:
        self.name = name

    @overload
    def __get__(self, tables: None, owner: type) -> Self: ...
    @overload
    def __get__(self, tables: Tables, owner: type) -> _I: ...
    def __get__(self, tables: Tables | None, owner: type) -> Self | _I:
        if tables is None:
            return self
        # from now on the attribute is found in the object itself, without coming here
        built: _I = vars(tables).setdefault(self.name, self.build(tables.get_table(self.table).values()))
        return built

    @abstractmethod
    def build(self, records: Iterable[Any]) -> _I:
        """Return the index of all records of the table, which come in the order of keys."""

    @abstractmethod
    def patch(self, index: _I, edits: Iterable[tuple[Any, Any]]) -> _I:
        """Return the index after some edits; the one given stays as it is. O(size) to copy it, in the order of keys."""


class ById(Index[Mapping[str, _R]]):
    """Id -> the record, by id."""

    def build(self, records: Iterable[Any]) -> Mapping[str, _R]:
        """Return the index of all records."""
        return {record.id: record for record in records}

    def patch(self, index: Mapping[str, _R], edits: Iterable[tuple[Any, Any]]) -> Mapping[str, _R]:
        """Return the index after some edits."""
        patched, is_grown = dict(index), False
        for old, new in edits:
            if new is not None:
                is_grown = is_grown or new.id not in patched
                patched[new.id] = new
            elif old is not None:
                del patched[old.id]
        return dict(sorted(patched.items())) if is_grown else patched


class Groups(dict[Any, tuple[_R, ...]]):
    """Records by what they hang on; called with a key it gives () where there are none."""

    __slots__ = ()

    def __call__(self, key: str | tuple[str, ...]) -> tuple[_R, ...]:
        """Return the records that hang on a key, in the order of their own keys."""
        return self.get(key, ())


class GroupedBy(Index[Groups[_R]]):
    """Value of a field -> the records that have it, in the order of their keys; of several fields, a tuple of values.

    `each`: the field holds several values, and the record stands under each of them.
    """

    def __init__(self, table: str, *fields: str, each: bool = False) -> None:
        super().__init__(table)
        self._read: Callable[[Any], Any] = attrgetter(*fields)
        self._each = each

    def _find_keys(self, record: Any) -> Iterable[Any]:
        if record is None:
            return ()
        value = self._read(record)
        return value if self._each else (value,)

    def build(self, records: Iterable[Any]) -> Groups[_R]:
        """Return the index of all records."""
        groups: defaultdict[Any, list[_R]] = defaultdict(list)
        for record in records:
            for key in self._find_keys(record):
                groups[key].append(record)
        return Groups({key: tuple(group) for key, group in groups.items()})

    def patch(self, index: Groups[_R], edits: Iterable[tuple[Any, Any]]) -> Groups[_R]:
        """Return the index after some edits; O(group log group) for each group that changes."""
        get_key = TABLES[self.table].get_key
        patched, is_grown = dict(index), False
        for old, new in edits:
            left, entered = set(self._find_keys(old)), set(self._find_keys(new))
            for key in left | entered:
                group = [record for record in patched.get(key, ()) if record is not old]
                if key in entered:
                    is_grown = is_grown or key not in patched
                    group = sorted([*group, new], key=get_key)
                if group:
                    patched[key] = tuple(group)
                else:
                    patched.pop(key, None)
        return Groups(sorted(patched.items()) if is_grown else patched)


def collect_edits(
    tables: Mapping[str, Mapping[Key, Any]], put: Iterable[tuple[str, Any]], remove: Iterable[tuple[str, Key]]
) -> Edits:
    """Return the records before and after, for changes of `tables`; removals come first."""
    edits: defaultdict[str, dict[Key, tuple[Any, Any]]] = defaultdict(dict)
    for name, key in remove:
        edits[name][key] = (tables[name].get(key), None)
    for name, record in put:
        key = TABLES[name].get_key(record)
        edits[name][key] = (tables[name].get(key), record)
    return {name: list(changed.values()) for name, changed in edits.items()}


def carry_indexes(before: Tables, after: Tables, edits: Edits) -> None:
    """Give the next Snapshot the indexes that were built for the last one, after some edits."""
    built = vars(before)
    for name, index in list_indexes(type(before)).items():
        if name in built:
            kept = built[name]
            vars(after)[name] = index.patch(kept, edits[index.table]) if index.table in edits else kept


def list_indexes(owner: type) -> dict[str, Index[Any]]:
    """Return the indexes that a class describes, by name."""
    return {name: index for name, index in vars(owner).items() if isinstance(index, Index)}
