"""How much time is left: the only clock of the analyses, and it never tells the date.

Whoever runs an analysis on a thread of its own can end it early: every deadline made while a stop signal is heeded is
over as soon as that signal is set.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Final

__all__ = ["Deadline", "heed"]

_STOP: Final[ContextVar[threading.Event | None]] = ContextVar("stop signal of the analysis", default=None)


@contextmanager
def heed(stop: threading.Event) -> Iterator[None]:
    """Let every deadline that this thread makes in the block be over once `stop` is set.

    What does not ask the clock runs on: a solver, to the end of the time it was given.
    """
    token = _STOP.set(stop)
    try:
        yield
    finally:
        _STOP.reset(token)


class Deadline:
    """A point in time after which a search should stop; without a limit it comes only by the thread's stop signal.

    Parameters
    ----------
    limit_s : float or None
        Seconds from now; None means no limit.
    """

    def __init__(self, limit_s: float | None) -> None:
        self._end = None if limit_s is None else time.monotonic() + limit_s
        self._stop = _STOP.get()

    def get_remaining_s(self) -> float | None:
        """Return the seconds left, never below 0; None without a limit."""
        if self._stop is not None and self._stop.is_set():
            return 0.0
        return None if self._end is None else max(0.0, self._end - time.monotonic())

    def get_share(self, share: float) -> Deadline:
        """Return the deadline after this share of the time left; none where there is none."""
        left = self.get_remaining_s()
        return Deadline(None if left is None else share * left)

    def is_over(self) -> bool:
        """Tell whether the time is up."""
        if self._stop is not None and self._stop.is_set():
            return True
        return self._end is not None and time.monotonic() >= self._end
