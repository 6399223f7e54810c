"""How alike two labels are, whatever the order of their words: the door to rapidfuzz.

rapidfuzz's `token_sort_ratio` is the normalised indel similarity of the texts with their words in order.
"""

from __future__ import annotations

import re
import unicodedata
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from rapidfuzz import fuzz, process

__all__ = ["find_alike", "find_alike_pairs", "normalise", "rate_each", "rate_labels", "rate_words"]

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


def rate_each(ones: Sequence[str], others: Sequence[str], least: float) -> list[float]:
    """Return how alike the normalised labels at each place of two lists are, 0 where that is less than `least`.

    Examples
    --------
    >>> rate_each(["water chemistry", "pump"], ["chemistry water", "gate"], 0.5)
    [1.0, 0.0]
    """
    sorted_ones, sorted_others = ([" ".join(sorted(text.split())) for text in texts] for texts in (ones, others))
    ratios = process.cpdist(
        sorted_ones, sorted_others, scorer=fuzz.ratio, score_cutoff=100 * least - 1e-3, dtype=np.float32
    )
    found = [0.0] * len(sorted_ones)
    for place in np.nonzero(ratios)[0]:
        score = rate_labels(sorted_ones[place], sorted_others[place])
        found[place] = score if score >= least else 0.0
    return found


def rate_words(one: str, other: str) -> float:
    """Return how alike the words of two normalised texts are, 0 to 1: 1 where one holds all words of the other.

    Examples
    --------
    >>> rate_words("does it alone", "alone does it"), rate_words("does it", "does it with help")
    (1.0, 1.0)
    """
    return fuzz.token_set_ratio(one, other) / 100


def find_alike_pairs(texts: Sequence[str], least: float) -> Iterator[tuple[int, int, float]]:
    """Yield (place, later place, how alike) of the normalised texts that are at least so much alike, each pair once.

    Texts whose lengths differ too much to be so alike are not compared: O(n m) for n texts, m of them of a like length.
    """
    order = sorted(range(len(texts)), key=lambda place: len(texts[place]))
    lengths = [len(texts[place]) for place in order]
    for start in range(0, len(order), _AT_ONCE):
        block = order[start : start + _AT_ONCE]
        # 2 x common / (sum of lengths) reaches `least` only where the longer is no longer than this
        longest = lengths[start + len(block) - 1] * (2 - least) / max(least, 1e-9) + 1e-6
        others = order[start : bisect_right(lengths, longest)]
        for one, other, score in find_alike([texts[i] for i in block], [texts[i] for i in others], least):
            if one < other:
                first, second = sorted((block[one], others[other]))
                yield first, second, score


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
