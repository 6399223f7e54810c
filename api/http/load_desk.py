"""Kept loads checked and stored, one at a time on a thread of their own: who asks waits a moment, then is told."""

from __future__ import annotations

import shutil
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from concurrent.futures import TimeoutError as NotYetError
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final, cast

from flask import Flask, current_app
from flask.sansio.app import App

from api.desk.desk import Desk
from api.http.context import EXTENSION as DESK
from api.http.kept_loads import KeptLoad, KeptLoads, StoredLoad
from loaders.pipeline import LoadCheck, check_paths, load_paths
from loaders.tables.written import WrittenTable, read_written
from ontology.errors import FileFormatError, FindingsError, LimitError, StaleError

#: Under which name an application keeps its load desk among its extensions; the folder below the store's.
EXTENSION: Final = "newel-loads"
FOLDER: Final = "uploads"
#: So many of the largest uploads there is room for.
_BYTES_OF_UPLOADS: Final = 4
#: Results of checks that are kept in memory; another one is made anew.
_CHECKS_KEPT: Final = 8
#: Rows shown as they were written, at the most.
ROWS_SHOWN: Final = 200


@dataclass(frozen=True, slots=True)
class Seen:
    """A load as it was checked against one revision; `fault` says why it could not be read at all."""

    revision: int
    check: LoadCheck | None
    tables: tuple[WrittenTable, ...]
    fault: str = ""


@dataclass(frozen=True, slots=True)
class UnderWay:
    """Work on a load that is not done: "check" or "store", and for how long already."""

    what: str
    seconds: int


@dataclass(slots=True)
class _Job:
    what: str
    future: Future[None]
    begun: float = field(default_factory=time.monotonic)


class LoadDesk:
    """Checks and stores what is kept for the graph of a desk; `wait_s` is how long a request waits for it."""

    def __init__(self, desk: Desk, kept: KeptLoads, *, wait_s: float = 1.0) -> None:
        self.kept = kept
        self._desk = desk
        self._wait_s = wait_s
        self._worker = ThreadPoolExecutor(1, "newel-loads")
        self._lock = threading.Lock()
        self._jobs: dict[int, _Job] = {}
        #: (number, revision) -> what was seen.
        self._seen: OrderedDict[tuple[int, int], Seen] = OrderedDict()

    def see(self, load: KeptLoad) -> Seen | UnderWay:
        """Return a load checked against the present revision, or that this is under way."""
        under_way = self._wait(load.n)
        if under_way is not None:
            return under_way
        seen = self.get_seen(load, self._desk.graph.get_snapshot().revision)
        if seen is not None:
            return seen
        self._begin(load.n, "check", lambda: self._check(load))
        under_way = self._wait(load.n)
        if under_way is not None:
            return under_way
        # made for the state at its beginning: the page tells which, and storing asks for that one
        with self._lock:
            made = [seen for (n, _), seen in self._seen.items() if n == load.n]
        return made[-1] if made else UnderWay("check", 0)

    def get_seen(self, load: KeptLoad, revision: int) -> Seen | None:
        """Return what a load was against a revision, where it is still known."""
        with self._lock:
            return self._seen.get((load.n, revision))

    def store(self, load: KeptLoad, revision: int, *, skip_faulty: bool, who: str, why: str) -> UnderWay | None:
        """Store a load, or its sound rest, against the revision it was seen at; None once that is done.

        Where the store has changed meanwhile, or rows have become faulty by that, nothing is stored.
        """
        self._wait(load.n)
        self._begin(load.n, "store", lambda: self._store(load, revision, skip_faulty, who, why))
        return self._wait(load.n)

    def remove(self, load: KeptLoad) -> None:
        """Throw a load away; what is under way with it ends first."""
        with self._lock:
            for key in [key for key in self._seen if key[0] == load.n]:
                del self._seen[key]
        self.kept.remove(load)

    def forget_all(self) -> None:
        """Throw every load away, whoever sent it."""
        for load in self.kept.sweep():
            self.remove(load)

    def _begin(self, n: int, what: str, work: Callable[[], None]) -> None:
        with self._lock:
            if n not in self._jobs:
                self._jobs[n] = _Job(what, self._worker.submit(work))

    def _wait(self, n: int) -> UnderWay | None:
        """Return what is under way with a load after a moment; None for nothing. Its fault is raised."""
        job = self._jobs.get(n)
        if job is None:
            return None
        try:
            job.future.result(self._wait_s)
        except NotYetError:
            if not job.future.done():
                return UnderWay(job.what, int(time.monotonic() - job.begun))
            raise
        finally:
            if job.future.done():
                self._jobs.pop(n, None)
        return None

    def _check(self, load: KeptLoad) -> None:
        revision = self._desk.graph.get_snapshot().revision
        paths = self.kept.get_paths(load)
        try:
            check = check_paths(self._desk.graph, paths)
            wanted: dict[str, set[int]] = {}
            for finding in check.whole.findings[:ROWS_SHOWN]:
                wanted.setdefault(finding.source, set()).add(finding.row)
            seen = Seen(check.whole.revision, check, tuple(read_written(paths, wanted)))
        except (FileFormatError, LimitError) as error:
            seen = Seen(revision, None, (), _without_folder(error.detail, paths[0].parent.as_posix()))
        with self._lock:
            self._seen[load.n, seen.revision] = seen
            while len(self._seen) > _CHECKS_KEPT:
                self._seen.popitem(last=False)

    def _store(self, load: KeptLoad, revision: int, skip_faulty: bool, who: str, why: str) -> None:
        if self.get_seen(load, revision) is None:
            self._check(load)  # seen before a restart
        seen = self.get_seen(load, revision)
        try:
            report = load_paths(
                self._desk.graph,
                self.kept.get_paths(load),
                skip_faulty=skip_faulty,
                who=who,
                why=why,
                expected_revision=revision,
            )
        except (StaleError, FindingsError):
            return  # the next look checks anew, and says so
        check = seen.check if seen is not None else None
        tried = check and (check.rest if check.whole.is_refused else check.whole)
        changes = tried.changes.values() if tried else ()
        n_new, n_changed = sum(len(one.new) for one in changes), sum(len(one.changed) for one in changes)
        self.kept.mark_stored(load, StoredLoad(report.revision, n_new, n_changed, report.n_skipped))


def open_load_desk(app: Flask | App) -> None:
    """Give an application its load desk: what it keeps lies in the folder of the store, and goes after its day."""
    desk: Desk = app.extensions[DESK]
    path = desk.graph.store.path
    kept = KeptLoads(
        None if path is None else path / FOLDER,
        most=desk.settings.uploads_kept_max,
        most_bytes=_BYTES_OF_UPLOADS * desk.settings.max_upload_bytes,
    )
    app.extensions[EXTENSION] = LoadDesk(desk, kept)


def remove_uploads(folder: Path) -> None:
    """Remove everything that was sent to be loaded, of a store that nobody serves."""
    shutil.rmtree(folder, ignore_errors=True)


def get_load_desk() -> LoadDesk:
    """Return the load desk of the application."""
    return cast(LoadDesk, current_app.extensions[EXTENSION])


def _without_folder(sentence: str, folder: str) -> str:
    """Return a sentence about a file without where this machine keeps it."""
    return sentence.replace(f"{folder}/", "")
