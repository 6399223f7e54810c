"""How much one account may ask in a minute: a program gone wild leaves others served (OWASP ASVS V2.4.1)."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Final

_MINUTE_S: Final = 60.0


class Rates:
    """Counts requests by account, each minute anew; kept in memory, since a restart harms nobody.

    `clock` gives seconds that never go back.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._begun = clock()
        self._counts: dict[int, int] = {}

    def count(self, account: int, most: int) -> float:
        """Count a request of an account; return the seconds it has to wait, 0 where it may go on. O(1)."""
        with self._lock:
            now = self._clock()
            if now - self._begun >= _MINUTE_S:
                self._begun, self._counts = now, {}
            self._counts[account] = number = self._counts.get(account, 0) + 1
            return 0.0 if number <= most else self._begun + _MINUTE_S - now
