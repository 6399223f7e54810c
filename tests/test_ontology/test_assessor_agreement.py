"""How far assessors agree: what is compared, what is hidden, what is to be seen again; against plain loops."""

from __future__ import annotations

import random
from datetime import date, timedelta
from fractions import Fraction
from itertools import combinations
from typing import Any

import pytest
from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.assessing.assessor_agreement import AssessorAgreement, compute_assessor_agreement
from ontology.errors import InputError
from ontology.snapshot.snapshot import Snapshot

FIRST, LAST = date(2026, 1, 1), date(2026, 12, 31)
DAY = date(2026, 6, 1)
#: Ten people rated twice; worked out by hand beforehand, no source.
TEN_PAIRS = ("11", "22", "23", "33", "33", "22", "12", "44", "43", "22")


def rate(person: str, assessor: str, level: int, day: date = DAY, **more: Any) -> dict[str, Any]:
    row = {"person": person, "competency": "weld", "level": level, "date": day, "source": "assessor"}
    return row | {"assessor": assessor} | more


def build(assessments: list[dict[str, Any]], *, is_safety: bool = False, unsupervised: int = 4) -> Snapshot:
    wanted = {"role": "r", "competency": "weld", "level": 4, "unsupervised_level": unsupervised}
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("weld", safety=is_safety) + build_competencies("log"),
        roles=[{"id": "r", "label": "R"}],
        requirements=[wanted],
        people=[{"id": i, "name": i.upper(), "role": "r"} for i in sorted({row["person"] for row in assessments})],
        assessments=assessments,
    )


def ask(assessments: list[dict[str, Any]], **more: Any) -> AssessorAgreement:
    return compute_assessor_agreement(build(assessments, **more), from_date=FIRST, until=LAST)


def rate_ten(*assessors: str) -> list[dict[str, Any]]:
    pairs = list(enumerate(TEN_PAIRS))
    return [rate(f"p{n}", assessor, int(pair[i])) for n, pair in pairs for i, assessor in enumerate(assessors)]


def test_the_worked_example_of_ten_pairs() -> None:
    """Kappa 0.823529, which is 1 - 0.3 / 1.7, and ICC(1,1) 0.839286."""
    (row,) = ask(rate_ten("x", "y")).competencies
    assert (row.competency, row.targets, row.assessors, row.pairs, row.is_hidden) == ("weld", 10, 2, 10, False)
    assert row.exact_share == 0.7
    assert row.kappa == pytest.approx(0.823529, abs=5e-7)
    assert (row.icc, row.icc_model) == (pytest.approx(0.839286, abs=5e-7), "ICC(1,1)")
    assert row.icc_two_way is not None


def test_figures_of_fewer_than_ten_pairs_are_hidden() -> None:
    (row,) = ask(rate_ten("x", "y")[:-2]).competencies
    assert (row.targets, row.pairs, row.is_hidden) == (9, 9, True)
    assert (row.exact_share, row.kappa, row.icc, row.icc_two_way) == (None, None, None, None)


def test_what_has_no_value_is_null_and_not_hidden() -> None:
    (row,) = ask([rate(f"p{n}", assessor, 3) for n in range(10) for assessor in "xy"]).competencies
    assert (row.exact_share, row.kappa, row.icc, row.icc_two_way, row.is_hidden) == (1.0, None, None, None, False)


def test_with_two_assessors_the_smaller_id_stands_in_rows_with_more_neither_does() -> None:
    """Judged by the margins: x always gives 1 where y gives 2; of pairs in either order nobody does."""
    two = [rate(f"p{n}", assessor, 1 + (assessor == "y")) for n in range(10) for assessor in "xy"]
    assert ask(two).competencies[0].kappa == 0
    three = [rate(f"p{n}", a, 1 + i) for n in range(10) for i, a in enumerate(("xy", "yz", "xz")[n % 3])]
    # half of all ratings are 1, half 2: chance gives 1/2, seen is 1
    assert ask(three).competencies[0].kappa == -1


def test_the_two_way_correlation_needs_the_same_assessors_everywhere() -> None:
    same = rate_ten("x", "y")
    assert ask([*same, rate("more", "x", 1), rate("more", "z", 1)]).competencies[0].icc_two_way is None
    assert ask([*same, rate("p0", "z", 1)]).competencies[0].icc_two_way is None
    assert ask([*same, *(rate(f"p{n}", "z", 2) for n in range(10))]).competencies[0].icc_two_way is not None


@pytest.mark.parametrize(
    ("second", "is_target"),
    [
        (rate("p", "y", 3), True),
        (rate("p", "y", 3, DAY + timedelta(days=30)), True),
        (rate("p", "y", 3, DAY + timedelta(days=31)), False),
        (rate("p", "y", 3, source="manager"), False),
        (rate("p", "y", 3, withdrawn_on=LAST), False),
        (rate("p", "", 3), False),
        (rate("p", "x", 3), False),
        (rate("p", "y", 3, FIRST - timedelta(days=1)), False),
        (rate("p", "y", 3) | {"competency": "log"}, False),
        (rate("q", "y", 3), False),
    ],
)
def test_which_ratings_are_of_the_same(second: dict[str, Any], is_target: bool) -> None:
    assert bool(ask([rate("p", "x", 2), second]).competencies) == is_target


def test_first_and_last_day_count_and_of_each_assessor_the_latest_rating() -> None:
    early, late = rate("p", "x", 1, FIRST), rate("p", "x", 4, FIRST + timedelta(days=9))
    found = ask([early, late, rate("p", "y", 4, FIRST)])
    assert (found.competencies[0].pairs, found.disagreements) == (1, ())
    # of two on one day the lower, as levels count
    found = ask([late, rate("p", "x", 2, late["date"]), rate("p", "y", 4, FIRST)])
    assert [row.levels for row in found.disagreements] == [(2, 4)]
    # the earlier of x lies within 30 days of y, the latest does not
    assert ask([rate("p", "x", 1, LAST), early, rate("p", "y", 1, FIRST)]).competencies == ()


def test_all_pairs_of_three_assessors_count() -> None:
    (row,) = ask([rate("p", assessor, 2) for assessor in "xyz"]).competencies
    assert (row.targets, row.assessors, row.pairs) == (1, 3, 3)


@pytest.mark.parametrize(
    ("levels", "more", "is_told"),
    [
        ((2, 2), {"is_safety": True}, False),
        ((2, 3), {}, False),
        ((2, 3), {"is_safety": True}, True),
        ((2, 3), {"unsupervised": 3}, True),  # one of them says: may work alone
        ((2, 3), {"unsupervised": 2}, False),  # both do
        ((3, 2), {"unsupervised": 3}, True),
        ((1, 3), {}, True),
        ((0, 1), {"unsupervised": 1}, True),
        ((0, 2), {}, True),
    ],
)
def test_what_is_to_be_seen_again(levels: tuple[int, int], more: dict[str, Any], is_told: bool) -> None:
    found = ask([rate("p", assessor, level) for assessor, level in zip("xy", levels, strict=True)], **more)
    assert [(row.person, row.competency, row.levels) for row in found.disagreements] == (
        [("p", "weld", tuple(sorted(levels)))] if is_told else []
    )


def test_a_third_assessor_settles_it_and_the_lower_level_counts_until_then() -> None:
    (row,) = ask([rate("p", "x", 1), rate("p", "y", 3)]).disagreements
    assert row.to_do == "A third assessor watches with both; until then the lower level counts: 1."
    (row,) = ask([rate("p", "x", 1), rate("p", "y", 3, DAY + timedelta(days=1))]).disagreements
    assert row.to_do.endswith(
        f"counts: 1. Other answers count level 3 on {LAST}: go by the lower one until it is settled."
    )
    (row,) = ask([rate("p", "x", 1), rate("p", "y", 3), rate("p", "z", 2)]).disagreements
    assert row.levels == (1, 2, 3)
    assert row.to_do == "Another assessor watches with all of them; until then the lowest level counts: 1."


def test_the_unsupervised_level_is_that_of_the_role_held_when_it_was_rated() -> None:
    snapshot = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("weld"),
        roles=[{"id": i, "label": i} for i in ("r", "s")],
        requirements=[{"role": "s", "competency": "weld", "level": 3}],
        teams=[{"id": "t", "label": "T"}],
        people=[{"id": "p", "name": "P", "role": "r"}],
        memberships=[{"person": "p", "from_date": DAY, "to_date": DAY, "team": "t", "role": "s"}],
        assessments=[rate("p", "x", 2), rate("p", "y", 3)],
    )
    assert len(compute_assessor_agreement(snapshot, from_date=FIRST, until=LAST).disagreements) == 1


def test_the_last_day_is_not_before_the_first() -> None:
    with pytest.raises(InputError) as caught:
        compute_assessor_agreement(build([]), from_date=LAST, until=FIRST)
    assert caught.value.context["parameter"] == "until"
    assert compute_assessor_agreement(build([]), from_date=LAST, until=LAST).competencies == ()


@pytest.mark.parametrize("seed", range(60))
def test_figures_are_those_of_plain_loops(seed: int) -> None:
    rng = random.Random(f"agreement {seed}")
    ratings = {
        (f"p{person:02d}", assessor): rng.randint(0, 5)
        for person in range(14)
        for assessor in rng.sample("wxyz"[: rng.choice([2, 3, 4])], 2)
    }
    found = ask([rate(person, assessor, level) for (person, assessor), level in ratings.items()])
    people = sorted({person for person, _ in ratings})
    rated = [[(a, ratings[p, a]) for a in "wxyz" if (p, a) in ratings] for p in people]
    pairs = [(first[1], second[1]) for target in rated for first, second in combinations(target, 2)]
    if len({assessor for target in rated for assessor, _ in target}) > 2:
        pairs += [(second, first) for first, second in pairs]
    seen = Fraction(sum((i - j) ** 2 for i, j in pairs), len(pairs))
    chance = Fraction(sum((i - j) ** 2 for i, _ in pairs for _, j in pairs), len(pairs) ** 2)
    (row,) = found.competencies
    assert row.kappa == pytest.approx(float(1 - seen / chance), rel=1e-12)
    assert row.exact_share == sum(i == j for i, j in pairs) / len(pairs)
    assert [(d.person, d.levels) for d in found.disagreements] == [
        (person, tuple(sorted(level for _, level in target)))
        for person, target in zip(people, rated, strict=True)
        for low, high in [sorted(level for _, level in target)]
        if high - low > 1 or (high - low == 1 and high == 4)
    ]
