"""The rows of the linear program over landmarks, kept as numbers and as arrays.

May import numpy and the types of a row's members.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["Indices", "Row", "RowArrays", "Vector", "pack_rows"]

Vector = NDArray[np.float64]
Indices = NDArray[np.intp]


class Row(NamedTuple):
    """lower <= sum of values * x[operators] + fact_value * y[fact] <= upper; operators of the whole catalogue."""

    lower: float
    upper: float
    operators: Sequence[int]
    values: Sequence[float]
    fact: int
    fact_value: float


class RowArrays(NamedTuple):
    """The rows column by column, to price the whole catalogue in a few array steps."""

    lower: Vector
    upper: Vector
    fact: Indices
    fact_value: Vector
    entry_row: Indices
    entry_operator: Indices
    entry_value: Vector


def pack_rows(rows: Sequence[Row], first: int) -> RowArrays:
    """Return `rows` as arrays; the first of them has the number `first`. O(entries)."""
    entries = sum(len(row.operators) for row in rows)
    return RowArrays(
        np.array([row.lower for row in rows]),
        np.array([row.upper for row in rows]),
        np.array([row.fact for row in rows], dtype=np.intp),
        np.array([row.fact_value for row in rows]),
        np.repeat(np.arange(first, first + len(rows)), [len(row.operators) for row in rows]),
        np.fromiter(chain.from_iterable(row.operators for row in rows), dtype=np.intp, count=entries),
        np.fromiter(chain.from_iterable(row.values for row in rows), dtype=np.float64, count=entries),
    )
