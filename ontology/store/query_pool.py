"""Queries from outside: each answered by a process of its own, from a copy of the revision that is present.

A process is kept ready for the next query; one that has spent its time is killed and another one started. A copy is
made when a query comes and the revision has moved, and goes with the last process that has it open.
"""

from __future__ import annotations

import shutil
import threading
import weakref
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from ontology.errors import NewelError, QueryLimitError, QueryProcessesBusyError, UnavailableError
from ontology.store.query_process import Query, QueryAnswer, QueryEndedError, QueryLimits, QueryProcess

__all__ = ["QueryPool"]

#: A query may wait so long for a process, so that short ones need not be asked again.
_WAIT_S: Final = 0.25


@dataclass(slots=True)
class _Copy:
    """The files of a revision, and how many processes have them open."""

    path: Path
    revision: int
    n_open: int = 0


class QueryPool:
    """Answers queries; safe for many threads.

    Parameters
    ----------
    get_revision : callable
        Returns the revision that is present.
    make_copy : callable
        Writes the store to a path that does not exist yet, and returns the revision that it holds.
    home : Path
        The folder of the copies: made when it is needed, gone at the end.
    """

    def __init__(self, get_revision: Callable[[], int], make_copy: Callable[[Path], int], home: Path) -> None:
        self._get_revision, self._make_copy, self._home = get_revision, make_copy, home
        self._lock = threading.Lock()
        self._turn = threading.Condition(self._lock)
        self._running: set[QueryProcess] = set()
        self._idle: QueryProcess | None = None
        self._copies: dict[QueryProcess, _Copy] = {}
        self._present: _Copy | None = None
        self._n_busy = self._n_copies = 0
        # also where nobody closes the store, and when this process ends
        self._end: Callable[[], object] = weakref.finalize(self, _end, self._running, home)

    def ask(self, query: Query, limits: QueryLimits) -> QueryAnswer:
        """Return the answer to a query, with the revision it was answered from.

        Raises
        ------
        QueryProcessesBusyError
            As many queries as may are being answered, and none of them ended in a quarter of a second.
        QueryLimitError
            Its time, its memory or the bytes of its answer are spent.
        MalformedQueryError, QueryFormError
            It is no query; its answer has none of the forms that are taken.
        UnavailableError
            No process can be started, or it cannot be kept from the network on this system.
        """
        process = self._take(limits)
        is_sound = False
        try:
            answer = process.ask(query, limits)
            is_sound = True
            return QueryAnswer(
                answer.content, answer.form, answer.n_rows, answer.is_cut, self._copies[process].revision
            )
        except QueryEndedError as ended:
            raise QueryLimitError(ended.detail, limit=ended.limit) from None
        except (QueryLimitError, UnavailableError):
            raise
        except NewelError:
            is_sound = True  # a query that is refused has done no harm
            raise
        finally:
            self._give_back(process, limits, is_sound=is_sound)

    def end(self) -> None:
        """End every process and remove the copies; a query that comes later starts anew."""
        with self._lock:
            _end(self._running, self._home)
            self._idle = self._present = None

    def _take(self, limits: QueryLimits) -> QueryProcess:
        with self._lock:
            if not self._turn.wait_for(lambda: self._n_busy < limits.processes, _WAIT_S):
                raise QueryProcessesBusyError("As many queries as may are being answered; ask again in a few seconds.")
            copy = self._find_copy()
            process, self._idle = self._idle, None
            if process is not None and (self._copies[process] is not copy or not process.is_alive):
                self._close(process)
                process = None
            if process is None:
                process = self._start(copy, limits)
            self._n_busy += 1
            return process

    def _give_back(self, process: QueryProcess, limits: QueryLimits, *, is_sound: bool) -> None:
        if not is_sound:
            process.stop()  # who asked need not wait until it is gone and another one has been started
            threading.Thread(target=self._replace, args=(process, limits), daemon=True).start()
        with self._lock:
            self._n_busy -= 1
            self._turn.notify()
            if not is_sound:
                return
            if self._idle is None and self._copies.get(process) is self._present:
                self._idle = process
            else:
                self._close(process)

    def _replace(self, process: QueryProcess, limits: QueryLimits) -> None:
        """Take away a process that was stopped, and have another one ready."""
        process.kill()
        with self._lock:
            self._close(process)
            if self._idle is None and self._present is not None and len(self._running) < limits.processes:
                with suppress(NewelError):  # whoever asks next is told why it cannot be started
                    self._idle = self._start(self._present, limits)

    def _find_copy(self) -> _Copy:
        """Return the copy of the present revision."""
        revision = self._get_revision()
        if self._present is None or self._present.revision != revision or not self._present.path.exists():
            old = self._present
            self._home.mkdir(mode=0o700, parents=True, exist_ok=True)
            self._n_copies += 1
            path = self._home / f"copy-{self._n_copies}"
            shutil.rmtree(path, ignore_errors=True)
            self._present = _Copy(path, self._make_copy(path))
            if old is not None and not old.n_open:
                shutil.rmtree(old.path, ignore_errors=True)
        return self._present

    def _start(self, copy: _Copy, limits: QueryLimits) -> QueryProcess:
        process = QueryProcess(copy.path, limits)
        copy.n_open += 1
        self._copies[process] = copy
        self._running.add(process)
        return process

    def _close(self, process: QueryProcess) -> None:
        process.kill()
        self._running.discard(process)
        copy = self._copies.pop(process, None)
        if copy is None:
            return
        copy.n_open -= 1
        if not copy.n_open and copy is not self._present:
            shutil.rmtree(copy.path, ignore_errors=True)


def _end(running: set[QueryProcess], home: Path) -> None:
    while running:
        running.pop().kill()
    shutil.rmtree(home, ignore_errors=True)
