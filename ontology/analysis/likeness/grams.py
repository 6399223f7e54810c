"""How alike texts are by the short runs of letters they share, the rare ones counting more.

Vector space model with tf-idf weights (Salton, Wong and Yang, Communications of the ACM 18 (1975) 613-620); runs of
letters within words in place of words stand up to inflection and spelling.
"""

from __future__ import annotations

import math
from array import array
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ontology.analysis.likeness.labels import normalise

__all__ = ["GramIndex", "Ratings", "count_grams"]

#: How alike a text and each text of an index are.
Ratings = NDArray[np.float64]

_SHORTEST: Final = 3
_LONGEST: Final = 5


def count_grams(text: str) -> Counter[str]:
    """Return how often each run of 3 to 5 characters is in the words of a normalised text, each framed by blanks.

    Examples
    --------
    >>> sorted(count_grams("pump"))
    [' pu', ' pum', ' pump', 'mp ', 'pum', 'pump', 'pump ', 'ump', 'ump ']
    """
    found: Counter[str] = Counter()
    for word in text.split():
        framed = f" {word} "
        for length in range(_SHORTEST, _LONGEST + 1):
            found.update([framed[start : start + length] for start in range(len(framed) - length + 1)])
    return found


class GramIndex:
    """Texts by the runs of letters in them; each text is a vector of length 1.

    Parameters
    ----------
    texts : sequence of str
        Normalised here. The weight of a run is (1 + ln of how often it is in the text) x idf, where
        idf = ln((1 + n) / (1 + n with it)) + 1 over these n texts.

    Notes
    -----
    O(characters) to build, 12 bytes for each run of each text. A question costs what shares a run with it.
    """

    def __init__(self, texts: Sequence[str]) -> None:
        self._size = len(texts)
        self._number: dict[str, int] = {}
        grams, rows, weights = array("l"), array("l"), array("d")
        number = self._number
        for row, text in enumerate(texts):
            for gram, n in count_grams(normalise(text)).items():
                grams.append(number.setdefault(gram, len(number)))
                rows.append(row)
                weights.append(1.0 + math.log(n))
        gram_of = np.frombuffer(grams, dtype=np.int64) if grams else np.zeros(0, dtype=np.int64)
        row_of = np.frombuffer(rows, dtype=np.int64) if rows else np.zeros(0, dtype=np.int64)
        weight = np.frombuffer(weights, dtype=np.float64) if weights else np.zeros(0)
        counts = np.bincount(gram_of, minlength=len(number))
        self._idf: NDArray[np.float64] = np.log((1 + self._size) / (1 + counts)) + 1.0
        self._idf_of_others = math.log(1 + self._size) + 1.0
        weight = weight * self._idf[gram_of]
        lengths = np.sqrt(np.bincount(row_of, weights=weight * weight, minlength=self._size))
        weight = weight / lengths[row_of]
        order = np.argsort(gram_of, kind="stable")
        self._rows: NDArray[np.int32] = row_of[order].astype(np.int32)
        self._weights: NDArray[np.float64] = weight[order]
        self._starts: NDArray[np.int64] = np.concatenate(([0], np.cumsum(counts)))

    def rate_all(self, text: str) -> Ratings:
        """Return the cosine of a text with every text of the index, in their order: 0 to 1."""
        found = np.zeros(self._size)
        for gram, weight in self._weigh(text).items():
            number = self._number.get(gram)
            if number is not None:
                # a text has a run once, so no row comes twice
                part = slice(self._starts[number], self._starts[number + 1])
                found[self._rows[part]] += weight * self._weights[part]
        return np.minimum(found, 1.0)

    def rate(self, one: str, other: str) -> float:
        """Return the cosine of two texts, whether or not they are in the index: 0 to 1."""
        mine, theirs = self._weigh(one), self._weigh(other)
        return min(1.0, math.fsum(weight * theirs[gram] for gram, weight in mine.items() if gram in theirs))

    def _weigh(self, text: str) -> Mapping[str, float]:
        """Return the vector of a text, of length 1; of a text without letters no vector."""
        weights = {gram: (1.0 + math.log(n)) * self._get_idf(gram) for gram, n in count_grams(normalise(text)).items()}
        length = math.sqrt(math.fsum(weight * weight for weight in weights.values()))
        return {gram: weight / length for gram, weight in weights.items()}

    def _get_idf(self, gram: str) -> float:
        number = self._number.get(gram)
        return self._idf_of_others if number is None else float(self._idf[number])
