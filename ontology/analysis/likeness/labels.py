"""How alike two labels are, whatever the order of their words: the door to rapidfuzz.

rapidfuzz's `token_sort_ratio` is the normalised indel similarity of the texts with their words in order.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from rapidfuzz import fuzz, process

__all__ = ["find_alike", "normalise", "rate_labels"]

_WORDS: Final = re.compile(r"\w+")
#: Labels that are compared with all others at once: a block takes 4 bytes for each pair.
_AT_ONCE: Final = 500


def normalise(text: str) -> str:
    """Return a text as it is compared: NFKC, casefold, its runs of letters and digits joined by one blank.

    Examples
    --------
    >>> normalise("Pump-House,  (LARGE)")
    'pump house large'
    """
    return " ".join(_WORDS.findall(unicodedata.normalize("NFKC", text).casefold()))


def rate_labels(one: str, other: str) -> float:
    """Return how alike two normalised labels are, 0 to 1.

    Examples
    --------
    >>> rate_labels("water chemistry", "chemistry water"), rate_labels("pump", "")
    (1.0, 0.0)
    """
    return fuzz.token_sort_ratio(one, other) / 100


def find_alike(ones: Sequence[str], others: Sequence[str], least: float) -> Iterator[tuple[int, int, float]]:
    """Yield (position, position, how alike) of the normalised labels that are at least so much alike. O(n m)."""
    sorted_ones, sorted_others = ([" ".join(sorted(text.split())) for text in texts] for texts in (ones, others))
    for start in range(0, len(ones), _AT_ONCE):
        # with the words in order once, and not for each pair, it is the same ratio
        ratios = process.cdist(
            sorted_ones[start : start + _AT_ONCE],
            sorted_others,
            scorer=fuzz.ratio,
            score_cutoff=100 * least - 1e-3,
            dtype=np.float32,
        )
        for row, column in zip(*np.nonzero(ratios), strict=True):
            score = rate_labels(sorted_ones[start + row], sorted_others[column])
            if score >= least:
                yield start + int(row), int(column), score
