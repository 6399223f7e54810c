"""Sets of small whole numbers as the bits of an integer: union, intersection and inclusion are single steps."""

from __future__ import annotations

from collections.abc import Iterator

__all__ = ["iterate_bits"]


def iterate_bits(mask: int) -> Iterator[int]:
    """Yield the members of a bit set in rising order. O(members x words of the set)."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low
