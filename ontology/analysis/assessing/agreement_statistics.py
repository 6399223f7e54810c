"""How far ratings agree beyond chance: weighted kappa and intraclass correlations, exact. Pure statistics.

May import nothing of ours. Every sum is one of whole numbers or fractions, so no answer hangs on the order of rows.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction

__all__ = ["compute_kappa", "compute_one_way_icc", "compute_two_way_icc", "square_difference"]

#: (rank in rows, rank in columns) -> how often.
RatingTable = Mapping[tuple[int, int], Fraction | int]


def square_difference(first: int, second: int) -> int:
    """Return how far two ranks disagree: the square of their difference."""
    return (first - second) ** 2


def compute_kappa(table: RatingTable, disagreement: Callable[[int, int], int] = square_difference) -> Fraction | None:
    """Return the weighted kappa of a table of pairs of ratings; None where chance alone leaves no disagreement.

    Parameters
    ----------
    table : mapping
        How often one rating (rows) met another (columns); what is absent is 0.
    disagreement : callable
        Weight of a cell, 0 on the diagonal.

    Notes
    -----
    1 - sum w o / sum w e: o the observed shares, e those expected from the margins. O(cells of the margins).

    References
    ----------
    .. [1] Cohen (1968), Psychological Bulletin 70, 213-220.

    Examples
    --------
    >>> compute_kappa({(1, 1): 2, (1, 2): 1, (2, 2): 1})
    Fraction(1, 2)
    """
    rows: defaultdict[int, Fraction] = defaultdict(Fraction)
    columns: defaultdict[int, Fraction] = defaultdict(Fraction)
    for (first, second), count in table.items():
        rows[first] += count
        columns[second] += count
    total = sum(rows.values(), Fraction())
    observed = sum((disagreement(*cell) * count for cell, count in table.items()), Fraction())
    expected = sum(
        (disagreement(first, second) * m * n for first, m in rows.items() for second, n in columns.items()), Fraction()
    )
    return None if not expected else 1 - observed * total / expected


def compute_one_way_icc(targets: Sequence[Sequence[int]]) -> Fraction | None:
    """Return ICC(1,1) of targets that some raters rated, not always the same nor as many; None where it has no value.

    Parameters
    ----------
    targets : sequence of sequences of int
        The ratings of each target, two or more.

    Notes
    -----
    (MSB - MSW) / (MSB + (k0 - 1) MSW) with k0 = (N - sum k_i^2 / N) / (n - 1) for N ratings of n targets, k_i of each.

    References
    ----------
    .. [1] Shrout & Fleiss (1979), Psychological Bulletin 86, 420-428.
    """
    count, ratings = len(targets), sum(map(len, targets))
    if count < 2 or ratings == count:
        return None
    squares = sum((Fraction(sum(target) ** 2, len(target)) for target in targets), Fraction())
    between = (squares - Fraction(sum(map(sum, targets)) ** 2, ratings)) / (count - 1)
    within = (sum(x * x for target in targets for x in target) - squares) / (ratings - count)
    raters = (ratings - Fraction(sum(len(target) ** 2 for target in targets), ratings)) / (count - 1)
    return _divide(between - within, between + (raters - 1) * within)


def compute_two_way_icc(targets: Sequence[Sequence[int]]) -> Fraction | None:
    """Return ICC(2,1) of targets that the same raters rated, in the same order; None where it has no value.

    References
    ----------
    .. [1] Shrout & Fleiss (1979), Psychological Bulletin 86, 420-428.
    """
    n, k = len(targets), len(targets[0]) if targets else 0
    if n < 2 or k < 2:
        return None
    correction = Fraction(sum(map(sum, targets)) ** 2, n * k)
    total = sum(x * x for target in targets for x in target) - correction
    between = Fraction(sum(sum(target) ** 2 for target in targets), k) - correction
    raters = Fraction(sum(sum(column) ** 2 for column in zip(*targets, strict=True)), n) - correction
    residual = (total - between - raters) / ((n - 1) * (k - 1))
    between, raters = between / (n - 1), raters / (k - 1)
    return _divide(between - residual, between + (k - 1) * residual + k * (raters - residual) / n)


def _divide(numerator: Fraction, denominator: Fraction) -> Fraction | None:
    return numerator / denominator if denominator else None
