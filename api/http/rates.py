"""How much one account may ask in a minute: a program gone wild leaves others served (OWASP ASVS V2.4.1). Flask."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Final

from api.errors import ThrottledError
from api.http.actors import get_actor

_MINUTE_S: Final = 60.0
_REFUSED: Final = "This account has asked as much as it may in a minute: ask again in a moment."


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


def build_rate_guard(rates: Rates, most: int) -> Callable[[], None]:
    """Return what lets a request pass, or raises ThrottledError where its account has asked too much in a minute."""

    def require_rate() -> None:
        account = get_actor().account
        wait = rates.count(account, most) if account else 0.0
        if wait:
            raise ThrottledError(wait, _REFUSED)

    return require_rate
