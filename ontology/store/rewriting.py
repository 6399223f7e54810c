"""A store written anew: each quad, and each line of its history's files, goes through one function into new files.

What the function takes away stands in no byte of them. The pointer moves in one step; the old files go after it.
"""

from __future__ import annotations

import re
import shutil
import threading
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final, Protocol

import pyoxigraph as ox

from ontology.errors import FileFormatError, StorageFullError
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.store import commit_text
from ontology.store.bulk_history import FOLDER, PatchFiles, parse_line
from ontology.store.commit_text import write_lines
from ontology.store.folder import StoreFolder
from ontology.store.history import read_commits
from ontology.store.queryable import QueryableStore

if TYPE_CHECKING:
    from ontology.store.query_pool import QueryPool

__all__ = ["Revise", "RewritableStore", "Rewriting"]

#: Bytes of text given to the engine at a time.
_BATCH: Final = 16_000_000
#: Disk that the new files may take, as a multiple of the old ones: both are there for a while.
_ROOM: Final = 2
_LINE_END: Final = b" .\n"
_NOW: Final = partial(datetime.now, UTC)


@dataclass(frozen=True, slots=True)
class Rewriting:
    """How a store is written anew.

    Parameters
    ----------
    wanted : re.Pattern of bytes
        Stands in every line (N-Quads) that may change; all others are passed on as they are.
    change : callable
        (quad, name of the file of the history it stands in, "" where it is in a graph) -> the quad that takes its
        place, None for none.
    finish : callable
        (revision, moment) -> the entry of the history that tells of it; called when all has gone through.
    """

    wanted: re.Pattern[bytes]
    change: Callable[[Quad, str], Quad | None]
    finish: Callable[[int, datetime], Iterable[Quad]]

    def change_lines(self, lines: bytes, file: str = "") -> bytes:
        """Return lines with what becomes of each. O(bytes), and the function for those that are wanted."""
        if not self.wanted.search(lines):
            return lines
        kept = []
        for line in lines.split(b"\n"):
            if not self.wanted.search(line):
                kept.append(line + b"\n" if line else b"")  # the last line break ends the last line
                continue
            quad = self.change(parse_line(line.decode()), file)
            kept.append(write_lines([quad]) if quad is not None else b"")
        return b"".join(kept)


class Revise(Protocol):
    """Says how a store is to be written anew; None: it may stay as it is."""

    def __call__(self, store: RewritableStore, /) -> Rewriting | None: ...


class RewritableStore(QueryableStore):
    """A store that can be written anew. See `Store` for the rest of it."""

    def __init__(self, engine: ox.Store, folder: StoreFolder | None, clock: Callable[[], datetime] = _NOW) -> None:
        self._engine = engine
        self._folder = folder
        self._clock = clock
        self._queries: QueryPool | None = None
        #: What bulk commits added and removed.
        self.patches = PatchFiles(folder.path / FOLDER if folder is not None else None)
        self.lock = threading.RLock()

    @property
    def path(self) -> Path | None:
        """The folder on disk, None for a store in memory."""
        return self._folder.path if self._folder is not None else None

    @property
    def revision(self) -> int:
        """The number of the last commit; FileFormatError where the engine's files were lost."""
        value = self._read_single(commit_text.REVISION)
        if value is None:
            raise FileFormatError(f"The store in {self.path} is damaged: it holds no revision; restore a backup.")
        return int(value)

    def rewrite(self, rewriting: Rewriting) -> int:
        """Write the store anew, remove the files it had before, and return its new revision.

        The caller holds the store's lock. A process that is killed leaves the store as it was, or as it is to be.

        Raises
        ------
        StorageFullError
            The disk has no room for the new files beside the old ones.
        FileFormatError
            The history is damaged; nothing is changed.
        """
        if self._folder is None:
            self._engine, self.patches = self._write_anew(rewriting, None, None)
            return self.revision
        folder = self._folder
        current, generation = folder.get_current(), folder.next_generation()
        folder.require_free(_ROOM * _measure(current))
        try:
            engine, _ = self._write_anew(rewriting, generation, folder.get_history(generation))
        except BaseException as error:
            folder.remove_generation(generation)
            shutil.rmtree(folder.get_history(generation), ignore_errors=True)
            if isinstance(error, OSError):
                raise StorageFullError(f"The change could not be written to disk: {error}") from error
            raise
        folder.drop_cache()
        folder.switch_to(generation)
        self._engine = engine
        self.end_queries()  # their copies hold what has just been taken away
        folder.settle_history(generation)
        folder.remove_others(generation)
        return self.revision

    @classmethod
    def rewrite_copy(cls, generation: Path, history: Path, to: Path, to_history: Path, revise: Revise) -> int | None:
        """Write a generation that nobody uses anew where `revise` says how; return its revision, None for no need."""
        copy = cls(ox.Store(str(generation)), None)
        copy.patches = PatchFiles(history)
        rewriting = revise(copy)
        if rewriting is None:
            return None
        copy._write_anew(rewriting, to, to_history)
        return copy.revision + 1

    def _read_single(
        self, predicate: str, node: str = commit_text.STORE_NODE, graph: str = ns.GRAPH_STORE
    ) -> str | None:
        query = f"SELECT ?o WHERE {{ GRAPH <{graph}> {{ {node} {predicate} ?o }} }}"
        rows = self.select(query)
        return rows[0][0] if rows else None

    def _write_anew(
        self, rewriting: Rewriting, generation: Path | None, history: Path | None
    ) -> tuple[ox.Store, PatchFiles]:
        patches = PatchFiles(history)
        sums: dict[bytes, bytes] = {}
        for commit in read_commits(self):
            for file in commit.files:
                change = partial(rewriting.change_lines, file=file.name)
                written = patches.take(file.name, self.patches.read(file), change)
                sums[file.sha256.encode()] = written.encode()
        patches.sync()
        revision = self.revision
        engine = ox.Store(str(generation)) if generation is not None else ox.Store()
        waiting: list[bytes] = []
        for graph in self._engine.named_graphs():
            waiting.append(self._rewrite_graph(graph, rewriting, sums))
            if sum(map(len, waiting)) > _BATCH:
                _load(engine, waiting)
        _load(engine, waiting)
        entry = rewriting.finish(revision + 1, self._clock())
        engine.update(commit_text.make_update([], entry, revision))
        if generation is not None:
            engine.flush()
        return engine, patches

    def _rewrite_graph(
        self, graph: ox.NamedNode | ox.BlankNode, rewriting: Rewriting, sums: dict[bytes, bytes]
    ) -> bytes:
        text = self._engine.dump(format=ox.RdfFormat.N_TRIPLES, from_graph=graph) or b""
        # a line break in a term is escaped, so this is the end of a line only
        lines = rewriting.change_lines(text.replace(_LINE_END, b" %s .\n" % str(graph).encode()))
        if str(graph) == ns.iri_term(ns.GRAPH_HISTORY):
            for before, after in sums.items():
                lines = lines.replace(before, after)
        return lines


def _measure(generation: Path) -> int:
    """Return the bytes of the files of a generation in use: the engine may remove one meanwhile."""
    size = 0
    for file in generation.iterdir():
        with suppress(FileNotFoundError):
            size += file.stat().st_size
    return size


def _load(engine: ox.Store, waiting: list[bytes]) -> None:
    if any(waiting):
        engine.bulk_load(b"".join(waiting), format=ox.RdfFormat.N_QUADS, lenient=True)
    waiting.clear()
