"""The one door to the embedded store (Oxigraph through pyoxigraph): open, ask, commit.

Everything goes through SPARQL 1.1 text and N-Triples terms, so that a remote SPARQL 1.1 endpoint can stand in.
One process-wide lock guards every write: concurrent updates of the engine lose data though each is atomic.
"""

from __future__ import annotations

import itertools
import uuid
from collections import deque
from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import Final

import pyoxigraph as ox

from ontology.errors import NotFoundError, StaleError, StorageFullError
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.store import commit_text
from ontology.store.bulk_history import PatchFile, PatchFiles, PatchWriter
from ontology.store.bulk_text import iterate_batches
from ontology.store.commit_text import Beside, CommitEntry
from ontology.store.engine_faults import reading_store
from ontology.store.folder import StoreFolder
from ontology.store.guarded import GuardedStore, load_lines
from ontology.store.history import require_files
from ontology.store.net_quads import NetQuads, Piece, make_piece

#: Commits above this many quads are loaded in bulk into a new generation instead of one SPARQL text.
TEXT_LIMIT: Final = 20_000
_QUADS_PER_FILL: Final = 50_000
#: Of a commit that nothing is written with.
NOTHING: Final = Beside()


class Store(GuardedStore):
    """An RDF store with a revision, and one guarded way to change it.

    Use `Store.open` or `Store.in_memory`. Safe for any number of reading threads; writes wait for each other.
    """

    # ---- opening and closing ----

    @classmethod
    def open(cls, path: Path, *, create: bool = False) -> Store:
        """Open the store in a folder.

        Raises
        ------
        NotFoundError
            There is no store there and `create` is false.
        StoreLockedError, UnavailableError, FileFormatError
            It is open elsewhere, barred, damaged, or the folder holds something else.
        """
        folder = StoreFolder(path)
        with reading_store(path):
            if not folder.exists():
                if not create:
                    raise NotFoundError(f"There is no store in {path}; make one with: newel load", path=str(path))
                folder.create()
            folder.acquire()
            try:
                is_new = not folder.exists()  # asked again: now nobody else can make it
                generation = folder.begin() if is_new else folder.clean_up()
                store = cls(ox.Store(str(generation)), folder)
                if is_new:
                    store._initialise()
                    folder.switch_to(generation)
                # the revision raises where the files are gone: the engine makes an empty store then
                store.patches.remove_above(store.revision)
                return store
            except BaseException:
                folder.abandon()
                raise

    @classmethod
    def in_memory(cls) -> Store:
        """Return an empty store that lives in memory only."""
        store = cls(ox.Store(), None)
        store._initialise()
        return store

    def close(self) -> None:
        """Write everything to disk and let go of the folder. The store cannot be used afterwards."""
        self.end_queries()
        with self.lock:
            if self._folder is None:
                return
            try:
                self._engine.flush()
            finally:
                del self._engine
                self._folder.release()

    # ---- asking ----

    @property
    def store_id(self) -> str:
        """A random identifier made when the store was made."""
        return self._read_single(commit_text.STORE_ID) or ""

    def get_today(self) -> date:
        """Return the present day in UTC, by the clock that dates the commits."""
        return self._clock().date()

    def get_now(self) -> datetime:
        """Return the present moment in UTC, by the clock that dates the commits."""
        return self._clock()

    # ---- the one write path ----

    def commit(
        self,
        added: Iterable[Quad],
        removed: Iterable[Quad],
        *,
        who: str,
        why: str,
        expected_revision: int | None = None,
        verify: Callable[[], None] | None = None,
    ) -> int:
        """Change the graph in one guarded step, as `commit_pieces` does with one piece; `removed` is read last."""
        piece = make_piece(added, removed)
        return self.commit_pieces([piece], who=who, why=why, expected_revision=expected_revision, verify=verify)

    def commit_pieces(
        self,
        pieces: Iterable[Piece],
        *,
        who: str,
        why: str,
        about_people: str = "",
        expected_revision: int | None = None,
        verify: Callable[[], None] | None = None,
        beside: Beside = NOTHING,
    ) -> int:
        """Change the graph in one guarded step and return the new revision.

        `about_people` is what of the reason belongs to the personal history. `beside` is written with it, or not at
        all.
        Only net quads are written and kept as patch graphs: what is already there is not added again, what is
        absent is not removed. Nothing net to do: nothing is written and the present revision comes back.
        The pieces may be made on the way. `verify` may raise to stop the change; a large one is being made and written
        into its new generation meanwhile, by another thread, and the generation is thrown away then.

        Raises
        ------
        StaleError
            `expected_revision` is not the present one.
        StorageFullError
            The disk has no room for it.
        """
        with self.lock:
            revision = self.revision
            if expected_revision is not None and expected_revision != revision:
                detail = f"The store is at revision {revision}, not {expected_revision}."
                raise StaleError(detail, expected=expected_revision, present=revision)
            entry = CommitEntry(revision + 1, uuid.uuid4().hex, who, why, about_people)
            net = NetQuads(self, pieces, TEXT_LIMIT)
            plus, rest = net.take_more_than(TEXT_LIMIT)
            try:
                if len(plus) > TEXT_LIMIT or len(plus) + len(net.removed) + len(beside) > TEXT_LIMIT:
                    self._commit_in_bulk(itertools.chain([plus], rest), net, entry, verify, beside)
                else:
                    if verify is not None:
                        verify()
                    if not plus and not net.removed:
                        return revision
                    self._commit_as_text(plus, net.removed, entry, beside)
            except OSError as error:
                raise StorageFullError(f"The change could not be written to disk: {error}") from error
            self._require_written(entry)
            return revision + 1

    def write_beside(self, beside: Beside, guard: Sequence[Quad]) -> None:
        """Write what is no commit in one guarded step; the revision stays.

        Raises
        ------
        StaleError
            One quad of `guard` is not there; nothing is written.
        StorageFullError
            The disk has no room for it.
        """
        with self.lock:
            self._require_guard(guard)
            try:
                if len(beside) <= TEXT_LIMIT:
                    self._write_text(commit_text.make_guarded_update(beside.removed, beside.added, guard))
                elif self._folder is None:
                    load_lines(self._engine, commit_text.write_lines(beside.added))
                    self._engine.update(commit_text.make_guarded_update(beside.removed, [], guard))
                else:
                    last = partial(commit_text.make_guarded_update, beside.removed, [], guard)
                    self._load_generation(self._folder, iterate_batches([beside.added]), None, last)
            except OSError as error:
                raise StorageFullError(f"The change could not be written to disk: {error}") from error

    def _require_written(self, entry: CommitEntry) -> None:
        """Raise StaleError where its revision is another commit: on a shared server someone else may come first."""
        node = commit_text.get_commit_node(entry.revision)
        if self._read_single(commit_text.COMMIT_ID, node, ns.GRAPH_HISTORY) != entry.commit_id:
            detail = f"The change was not stored: another one became revision {entry.revision} first."
            raise StaleError(detail, expected=entry.revision - 1, present=self.revision)

    def _commit_as_text(self, plus: Sequence[Quad], minus: Sequence[Quad], entry: CommitEntry, beside: Beside) -> None:
        history = entry.describe(len(plus), len(minus), self._clock(), is_bulk=False)
        inserted = [*plus, *history, *commit_text.make_patch(plus, minus, entry.revision), *beside.added]
        self._write_text(commit_text.make_update([*minus, *beside.removed], inserted, entry.revision - 1))

    def _commit_in_bulk(
        self,
        blocks: Iterable[Sequence[Quad]],
        net: NetQuads,
        entry: CommitEntry,
        verify: Callable[[], None] | None,
        beside: Beside,
    ) -> None:
        writer = self.patches.begin(entry.revision)
        blocks = writer.pass_on(blocks)
        try:
            if self._folder is None:
                lines = b"".join(map(commit_text.write_lines, blocks))
                if verify is not None:
                    verify()
                load_lines(self._engine, lines)
                self._engine.update(self._make_last_update(net, entry, writer, beside))
            else:
                last = partial(self._make_last_update, net, entry, writer, beside)
                self._load_generation(self._folder, iterate_batches(blocks), verify, last)
        except BaseException:
            writer.abandon()
            raise

    def _make_last_update(self, net: NetQuads, entry: CommitEntry, writer: PatchWriter, beside: Beside) -> str:
        writer.take(net.removed, is_added=False)
        files: tuple[PatchFile, ...] = writer.finish()
        history = entry.describe(net.n_added, len(net.removed), self._clock(), is_bulk=True, files=files)
        # whether a record was there once is one look-up, bulk commits or not
        vanished = [quad for quad in net.removed if quad[2] == ns.RDF_TYPE]
        inserted = [*history, *commit_text.make_patch([], vanished, entry.revision), *beside.added]
        return commit_text.make_update([*net.removed, *beside.removed], inserted, entry.revision - 1)

    def fill(self, graph: str, quads: Iterable[Quad]) -> None:
        """Put quads into one named graph of a store in memory, where they wait for a check: no revision, no history."""
        if self._folder is not None:
            raise ValueError("a store on disk is changed by commit only")
        rows = iter(quads)
        while text := "".join([f"{s} {p} {o} .\n" for _, s, p, o in itertools.islice(rows, _QUADS_PER_FILL)]):
            # lenient: the terms were checked when they were read
            self._engine.load(text.encode(), format=ox.RdfFormat.N_TRIPLES, to_graph=ox.NamedNode(graph), lenient=True)

    # ---- copies ----

    def copy_generation(self, to: Path) -> int:
        """Copy the engine's files to a path that does not exist yet and return the revision copied."""
        with self.lock:
            self._engine.backup(str(to))
            return self.revision

    @staticmethod
    def require_sound(generation: Path, backup: Path, history: Path | None = None) -> int:
        """Read a generation and its history, not in use, to their end and return the revision.

        Errors as `reading_store`, and of damaged files of the history; they name `backup`.
        """
        with reading_store(backup):
            copy = Store(ox.Store(str(generation)), StoreFolder(backup))
            deque(copy._engine.quads_for_pattern(None, None, None), maxlen=0)
            require_files(copy, PatchFiles(history))
            return copy.revision

    def _initialise(self) -> None:
        if self._read_single(commit_text.REVISION) is not None:
            return  # the process that began it was killed before it could point to it
        self._engine.update(commit_text.make_first_update(uuid.uuid4().hex))
        if self._folder is not None:
            self._engine.flush()
