"""Frameworks of others beside the own one: each a store of its own, replaced whole, read as one Snapshot.

What answers people never holds them; they are compared with, and mapped to.
"""

from __future__ import annotations

import shutil
import threading
from collections.abc import Callable, Mapping
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final, Generic, Protocol, TypeVar

from ontology.errors import InputError, NotFoundError
from ontology.model.columns import ID_PATTERN, LONGEST_ID
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.snapshot.names import get_framework_name
from ontology.snapshot.snapshot import Snapshot
from ontology.store.engine import Store
from ontology.store.history import read_commits
from ontology.store.outside_folders import begin_outside, list_outside, open_soon, remove_outside, take_place

__all__ = ["OUTSIDE_TABLES", "OutsideFramework", "OutsideFrameworks"]

_T = TypeVar("_T")


class StoredGraph(Protocol):
    """An open store with its latest Snapshot."""

    store: Store

    def get_snapshot(self) -> Snapshot:
        """Return the latest Snapshot."""

    def close(self) -> None:
        """Close the store."""


_Graph = TypeVar("_Graph", bound=StoredGraph)
#: The tables that an outside framework may fill.
OUTSIDE_TABLES: Final = frozenset(
    name for name, table in TABLES.items() if table.graph in (ns.GRAPH_FRAMEWORK, ns.GRAPH_OFFERS)
)
_OTHERS_NAMED: Final = 3


@dataclass(frozen=True, slots=True)
class OutsideFramework:
    """One framework of others: its id, when it was loaded, and what it holds.

    `counts` has the tables that hold anything; `tables` are their names.
    """

    id: str
    snapshot: Snapshot
    loaded: datetime | None
    counts: Mapping[str, int]

    @property
    def label(self) -> str:
        """What it is called: its own title, or its id where it has none."""
        return get_framework_name(self.snapshot, self.id)

    @property
    def revision(self) -> int:
        """Of its own store."""
        return self.snapshot.revision

    @property
    def tables(self) -> frozenset[str]:
        """The tables it speaks of."""
        return frozenset(self.counts)


class OutsideFrameworks(Generic[_Graph]):
    """The outside frameworks of one store. Safe for many threads.

    Parameters
    ----------
    path : Path or None
        Folder of the store they stand beside; None: they live in memory only.
    open_graph : callable
        Makes a graph of an open store.
    """

    def __init__(self, path: Path | None, open_graph: Callable[[Store], _Graph]) -> None:
        self._path = path
        self._open_graph = open_graph
        self._lock = threading.Lock()
        self._kept: dict[str, tuple[object, OutsideFramework]] = {}

    def list_ids(self) -> list[str]:
        """Return the ids, in their order."""
        return sorted(self._kept) if self._path is None else list(list_outside(self._path))

    def get(self, outside_id: str) -> OutsideFramework:
        """Return one; it is read when it is asked for first, or after it was replaced, also by another process.

        Raises
        ------
        NotFoundError
            There is none of this id.
        """
        with self._lock:
            if self._path is None:
                if outside_id not in self._kept:
                    raise _unknown(outside_id)
                return self._kept[outside_id][1]
            folder = list_outside(self._path).get(outside_id)
            if folder is None:
                self._kept.pop(outside_id, None)
                raise _unknown(outside_id)
            pointer = (folder / "CURRENT").stat()
            mark = (pointer.st_mtime_ns, pointer.st_ino)
            kept = self._kept.get(outside_id)
            if kept is None or kept[0] != mark:
                self._kept[outside_id] = kept = (mark, self._read(outside_id, folder))
            return kept[1]

    def replace(self, outside_id: str, fill: Callable[[_Graph], _T]) -> _T:
        """Make what is filled into an empty graph the outside framework of an id, and return what `fill` returns.

        Raises
        ------
        InputError
            It is no id, or what was filled speaks of teams or people: nothing is kept then.
        """
        _require_id(outside_id)
        if self._path is None:
            with closing(self._open_graph(Store.in_memory())) as graph:
                filled = fill(graph)
                kept = _describe(outside_id, graph)
            with self._lock:
                self._kept[outside_id] = (None, kept)
            return filled
        folder = begin_outside(self._path, outside_id)
        try:
            with closing(self._open_graph(Store.open(folder, create=True))) as graph:
                filled = fill(graph)
                _describe(outside_id, graph)
        except BaseException:
            shutil.rmtree(folder, ignore_errors=True)
            raise
        with self._lock:
            take_place(self._path, outside_id)
            self._kept.pop(outside_id, None)
        return filled

    def _read(self, outside_id: str, folder: Path) -> OutsideFramework:
        with closing(self._open_graph(open_soon(folder))) as graph:
            return _describe(outside_id, graph)

    def remove(self, outside_id: str) -> None:
        """Remove one; NotFoundError where there is none of this id."""
        with self._lock:
            if outside_id not in self.list_ids():
                raise _unknown(outside_id)
            if self._path is not None:
                remove_outside(self._path, outside_id)
            self._kept.pop(outside_id, None)


def _describe(outside_id: str, graph: StoredGraph) -> OutsideFramework:
    """Return what a graph holds; InputError where that is not of a framework alone."""
    snapshot = graph.get_snapshot()
    counts = {name: len(snapshot.get_table(name)) for name in TABLES}
    others = [name.replace("_", " ") for name, n in counts.items() if n and name not in OUTSIDE_TABLES]
    if others:
        told = ", ".join(others[:_OTHERS_NAMED]) + (" and more" if len(others) > _OTHERS_NAMED else "")
        raise InputError(f"A framework of others is competencies, roles and courses alone; here are {told}.")
    commits = read_commits(graph.store, 0)
    return OutsideFramework(
        outside_id, snapshot, commits[-1].when if commits else None, {name: n for name, n in counts.items() if n}
    )


def _require_id(outside_id: str) -> None:
    if not ID_PATTERN.fullmatch(outside_id) or len(outside_id) > LONGEST_ID:
        raise InputError(
            f"{outside_id!r} is no id: letters, digits, dots, hyphens and underscores, at most {LONGEST_ID} of them.",
            parameter="outside",
        )


def _unknown(outside_id: str) -> NotFoundError:
    return NotFoundError(f"There is no outside framework {outside_id!r}.", id=outside_id)
