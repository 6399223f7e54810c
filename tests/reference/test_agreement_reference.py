"""Kappa and intraclass correlations against the numbers of the papers they come from."""

from __future__ import annotations

import random
from collections import Counter
from fractions import Fraction
from itertools import permutations, product

import pytest

from ontology.analysis.assessing.agreement_statistics import (
    compute_kappa,
    compute_one_way_icc,
    compute_two_way_icc,
)

#: Cohen (1968), Psychological Bulletin 70, 213-220: two judges sort 200 cases into three kinds.
COHEN = [[88, 14, 18], [10, 40, 10], [2, 6, 12]]
#: His weights of disagreement.
COHEN_WEIGHTS = [[0, 1, 3], [1, 0, 6], [3, 6, 0]]
#: Shrout & Fleiss (1979), Psychological Bulletin 86, 420-428, Table 2: six targets, four judges.
SHROUT_FLEISS = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]
#: Ten people rated twice; worked out by hand beforehand, no source.
TEN_PAIRS = [(1, 1), (2, 2), (2, 3), (3, 3), (3, 3), (2, 2), (1, 2), (4, 4), (4, 3), (2, 2)]


def tabulate(rows: list[list[int]]) -> dict[tuple[int, int], int]:
    return {(i, j): count for i, row in enumerate(rows) for j, count in enumerate(row)}


def test_kappa_without_and_with_weights_is_that_of_cohen() -> None:
    """.492 and .348 as printed (seen); the quadratic one, .454545, recomputed with statsmodels beforehand."""
    table = tabulate(COHEN)
    assert float(compute_kappa(table, lambda i, j: int(i != j)) or 0) == pytest.approx(0.492, abs=5e-4)
    assert float(compute_kappa(table, lambda i, j: COHEN_WEIGHTS[i][j]) or 0) == pytest.approx(0.348, abs=5e-4)
    assert compute_kappa(table) == Fraction(5, 11)


def test_intraclass_correlations_are_those_of_shrout_and_fleiss() -> None:
    """ICC(1,1) .17 and ICC(2,1) .29 as printed (seen); the digits after them recomputed beforehand."""
    one, two = compute_one_way_icc(SHROUT_FLEISS), compute_two_way_icc(SHROUT_FLEISS)
    assert one is not None
    assert two is not None
    assert (round(float(one), 2), round(float(two), 2)) == (0.17, 0.29)
    assert float(one) == pytest.approx(0.165742, abs=5e-7)
    assert float(two) == pytest.approx(0.289764, abs=5e-7)


def test_the_worked_example_of_ten_pairs() -> None:
    """Kappa 0.823529, which is 1 - 0.3 / 1.7, and ICC(1,1) 0.839286."""
    assert compute_kappa(Counter(TEN_PAIRS)) == 1 - Fraction(3, 17)
    assert float(compute_one_way_icc(TEN_PAIRS) or 0) == pytest.approx(0.839286, abs=5e-7)


def test_full_agreement_is_one_and_what_cannot_be_told_has_no_value() -> None:
    assert compute_kappa({(1, 1): 3, (4, 4): 2}) == 1
    assert compute_one_way_icc([(1, 1), (4, 4)]) == compute_two_way_icc([(1, 1), (4, 4)]) == 1
    assert compute_kappa({(2, 2): 9}) is None
    assert compute_kappa({}) is None
    for icc in (compute_one_way_icc, compute_two_way_icc):
        assert icc([]) is None
        assert icc([(1, 2)]) is None
        assert icc([(2, 2), (2, 2)]) is None


@pytest.mark.parametrize("seed", range(40))
def test_quadratic_kappa_is_agreement_against_every_pairing_of_the_same_ratings(seed: int) -> None:
    """What chance would give, by its meaning: each rating in rows against each in columns, all as likely."""
    rng = random.Random(f"kappa {seed}")
    pairs = [(rng.randint(0, 4), rng.randint(0, 4)) for _ in range(rng.randint(2, 12))]
    seen = Fraction(sum((i - j) ** 2 for i, j in pairs), len(pairs))
    chance = [(i - j) ** 2 for (i, _), (_, j) in product(pairs, repeat=2)]
    expected = None if not any(chance) else 1 - seen / Fraction(sum(chance), len(chance))
    assert compute_kappa(Counter(pairs)) == expected


@pytest.mark.parametrize("seed", range(40))
def test_intraclass_correlations_are_those_of_sums_over_all_ratings(seed: int) -> None:
    """The mean squares by their meaning, deviation by deviation."""
    rng = random.Random(f"icc {seed}")
    k = rng.randint(2, 4)
    targets = [[rng.randint(0, 4) for _ in range(k)] for _ in range(rng.randint(2, 7))]
    n = len(targets)
    means = [Fraction(sum(target), k) for target in targets]
    raters = [Fraction(sum(column), n) for column in zip(*targets, strict=True)]
    grand = sum(means) / Fraction(n)
    between = k * sum((mean - grand) ** 2 for mean in means) / Fraction(n - 1)
    within = sum((x - mean) ** 2 for target, mean in zip(targets, means, strict=True) for x in target) / Fraction(
        n * (k - 1)
    )
    judges = n * sum((mean - grand) ** 2 for mean in raters) / Fraction(k - 1)
    error = sum(
        (x - means[i] - raters[j] + grand) ** 2 for i, target in enumerate(targets) for j, x in enumerate(target)
    ) / Fraction((n - 1) * (k - 1))
    one = between + (k - 1) * within
    two = between + (k - 1) * error + Fraction(k) * (judges - error) / n
    assert compute_one_way_icc(targets) == ((between - within) / one if one else None)
    assert compute_two_way_icc(targets) == ((between - error) / two if two else None)


def test_no_answer_hangs_on_the_order_of_targets() -> None:
    uneven = [(1, 2), (3, 3, 4), (2, 2, 1, 2)]
    assert len({compute_one_way_icc(order) for order in permutations(uneven)}) == 1
    # k0 of 2, 3 and 4 ratings: (9 - 29 / 9) / 2 = 26 / 9; MSB and MSW by hand
    between, within = (Fraction(9, 2) + Fraction(100, 3) + Fraction(49, 4) - Fraction(400, 9)) / 2, Fraction(0)
    within = (Fraction(52) - Fraction(9, 2) - Fraction(100, 3) - Fraction(49, 4)) / 6
    assert compute_one_way_icc(uneven) == (between - within) / (between + (Fraction(26, 9) - 1) * within)
