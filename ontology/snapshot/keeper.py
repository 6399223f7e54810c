"""What follows from something that never changes, kept with it and dropped with it."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Any, Final, TypeVar

_T = TypeVar("_T")
_MISSING: Final = object()


class Keeper:
    """Keeps what others have derived from it; the one way to do so.

    Notes
    -----
    Safe for many threads without a lock: two that want the same at once may both build it, and both get the one kept.
    """

    def __init__(self) -> None:
        self._kept: dict[Hashable, Any] = {}

    def keep(self, key: Hashable, build: Callable[[], _T]) -> _T:
        """Return what is kept under a key; built at its first use.

        Parameters
        ----------
        key : hashable
            Stands in one place of the program, so that what is kept under it is always of the type that is built there.
        build : callable
            Makes it of the keeper and the key alone. What it makes must not hold the keeper, or the two are dropped
            late.
        """
        kept: _T | Any = self._kept.get(key, _MISSING)
        return self._kept.setdefault(key, build()) if kept is _MISSING else kept
