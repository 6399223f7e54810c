"""What is worked out once and kept, until there is too much of it: then all of it goes."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

_K = TypeVar("_K")
_V = TypeVar("_V")


def find_kept(kept: dict[_K, _V], key: _K, most: int, build: Callable[[], _V]) -> _V:
    """Return what is kept under a key, else what is built and kept from now on; `most` are kept at once.

    Safe for many threads: at worst something is built twice. None is never kept.

    Examples
    --------
    >>> kept = {}
    >>> [find_kept(kept, n, 2, lambda: n * n) for n in (1, 2, 3)], kept
    ([1, 4, 9], {3: 9})
    """
    found = kept.get(key)
    if found is None:
        found = build()
        if len(kept) >= most:
            kept.clear()
        kept[key] = found
    return found
