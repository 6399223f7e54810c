"""A gate for slow answers: few compute at once, some wait, the rest are sent away, and no one else waits for them.

The server answers every request on one of a fixed number of threads. Were slow answers to take them all, a quick one
would wait for the slowest; so they may hold fewer than all (`Settings` sees to that).
"""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from api.errors import BusyError

#: Slow answers that one account has at once; others find a place however many it asks for.
EACH_MAX: Final = 2
#: Seconds after which one who waits in the background looks whether it is still wanted.
_LOOK_S: Final = 0.2


class SlowGate:
    """Lets `computing_max` slow answers compute at once; `waiting_max` more wait up to `patience_s` seconds."""

    def __init__(self, computing_max: int, waiting_max: int, patience_s: float) -> None:
        self._patience_s = patience_s
        self._inside = threading.Semaphore(computing_max + waiting_max)
        self._computing = threading.Semaphore(computing_max)
        self._count_lock = threading.Lock()
        #: How many compute, and how many wait for their turn.
        self.computing = 0
        self.waiting = 0
        self._of_account: Counter[int] = Counter()

    @contextmanager
    def enter(self, account: int = 0) -> Iterator[None]:
        """Hold a place among the slow answers while the block runs; `account` is whose it is, 0 nobody's.

        Raises
        ------
        BusyError
            Too many wait already, this one's turn did not come in time, or the account has its share.
        """
        with self._hold_share(account), self._hold_place():
            yield

    @contextmanager
    def _hold_share(self, account: int) -> Iterator[None]:
        with self._count_lock:
            if account and self._of_account[account] >= EACH_MAX:
                raise BusyError
            self._of_account[account] += 1
        try:
            yield
        finally:
            with self._count_lock:
                self._of_account[account] -= 1
                if not self._of_account[account]:
                    del self._of_account[account]

    @contextmanager
    def _hold_place(self) -> Iterator[None]:
        if not self._inside.acquire(blocking=False):
            raise BusyError
        try:
            if not self._take_turn(self._patience_s):
                raise BusyError
            try:
                yield
            finally:
                self._leave()
        finally:
            self._inside.release()

    @contextmanager
    def wait(self, stop: threading.Event) -> Iterator[bool]:
        """Hold a place while the block runs, however long its turn takes; it gives False where `stop` came first.

        For what computes in the background: it holds none of the server's threads, so it takes no place to wait.
        """
        has_place = False
        while not (has_place or stop.is_set()):
            has_place = self._take_turn(_LOOK_S)
        try:
            yield has_place
        finally:
            if has_place:
                self._leave()

    def _take_turn(self, within_s: float) -> bool:
        """Return whether one may compute, after waiting `within_s` seconds at the most."""
        self._count(waiting=1)
        has_place = self._computing.acquire(timeout=within_s)
        self._count(waiting=-1, computing=int(has_place))
        return has_place

    def _leave(self) -> None:
        self._computing.release()
        self._count(computing=-1)

    def _count(self, *, waiting: int = 0, computing: int = 0) -> None:
        with self._count_lock:
            self.waiting += waiting
            self.computing += computing
