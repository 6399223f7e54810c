"""What a budget buys on middle-sized companies: an independent integer program, the quick choice, the time limit."""

from __future__ import annotations

import random
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from budget_cases import NOBODY, build_company, get_ids
from scipy.optimize import LinearConstraint, milp

from ontology.analysis.engine.relaxed import RelaxedProblem, SideRow
from ontology.analysis.paths.budget_greedy import choose_greedily
from ontology.analysis.paths.learning_path import find_learning_path
from ontology.analysis.profiles.profile import Profile
from ontology.snapshot.snapshot import Snapshot


def test_a_quick_choice_takes_what_brings_most_for_its_share() -> None:
    # three operators of 5, 5 and 4 units within 9; worth 10, 1 and 4
    problem = RelaxedProblem(
        3,
        ("x0", "x1", "x2"),
        (frozenset(),) * 3,
        (frozenset({0}), frozenset({1}), frozenset({2})),
        ((0, 0, 0),),
        frozenset(),
        frozenset(),
        side_rows=(SideRow(((0, 5), (1, 5), (2, 4)), 9),),
    )
    assert choose_greedily(problem, {0: 10, 1: 1, 2: 4}) == [0, 2]
    assert choose_greedily(problem, {1: 1}) == [1]


def build_choice(*rows: tuple[int, set[int], set[int]], limit: int, is_free: tuple[bool, ...] = ()) -> RelaxedProblem:
    """Return a problem of operators (units, facts asked, facts given) within a limit of units."""
    return RelaxedProblem(
        1 + max(fact for _, asked, given in rows for fact in asked | given),
        tuple(f"x{n}" for n in range(len(rows))),
        tuple(frozenset(asked) for _, asked, _ in rows),
        tuple(frozenset(given) for _, _, given in rows),
        ((0,) * len(rows),),
        frozenset(),
        frozenset(),
        is_free,
        (SideRow(tuple((n, units) for n, (units, _, _) in enumerate(rows) if units), limit),),
    )


def test_a_quick_choice_pays_for_what_it_took_before_only_once() -> None:
    # x0 is taken for fact 0; then x1, which asks for it, is a smaller share than x2
    problem = build_choice((5, set(), {0}), (3, {0}, {1}), (4, set(), {1}), limit=9)
    assert choose_greedily(problem, {0: 10, 1: 1}) == [0, 1]


def test_a_quick_choice_pays_for_what_a_course_waits_for() -> None:
    assert choose_greedily(build_choice((5, set(), {0}), (3, {0}, {1}), limit=6), {1: 5}) == []
    assert choose_greedily(build_choice((5, set(), {0}), (3, {0}, {1}), limit=8), {1: 5}) == [0, 1]


def test_a_quick_choice_counts_everything_a_course_brings() -> None:
    problem = build_choice((5, set(), {0, 1}), (4, set(), {2}), limit=5)
    assert choose_greedily(problem, {0: 3, 1: 3, 2: 4}) == [0]


def test_a_quick_choice_does_not_choose_what_is_free() -> None:
    problem = build_choice((0, set(), {0}), (3, {0}, {1}), limit=3, is_free=(True, False))
    assert choose_greedily(problem, {1: 1}) == [1]


def test_an_answer_that_is_not_proved_tells_how_much_more_there_may_be() -> None:
    # a (6 h, weight 7) brings most for its hours, b and c (5 h, weight 5 each) bring more together
    rows = [("xa", 6, 0, "", "a:1"), ("xb", 5, 0, "", "b:1"), ("xc", 5, 0, "", "c:1")]
    weights = {"a": 7.0, "b": 5.0, "c": 5.0}
    company = build_company(
        rows,  # type: ignore[arg-type]
        [{"competency": i, "level": 1, "weight": weight} for i, weight in weights.items()],
    )
    assert find_learning_path(company, NOBODY, "r", max_hours=10).readiness_after == 10 / 17
    result = find_learning_path(company, NOBODY, "r", max_hours=10, time_limit_s=1e-9)
    assert (result.status, get_ids(result), result.readiness_after) == ("feasible", ["xa"], 7 / 17)
    assert result.budget is not None
    assert result.budget.readiness_bound is not None
    assert result.budget.readiness_bound >= 10 / 17


def build_middle_company(seed: int, courses: int = 40, competencies: int = 16) -> Snapshot:
    """Return a company with bundled courses, conditions one level below, and a role that asks for twelve levels."""
    rng = random.Random(seed)
    rows = []
    for n in range(courses):
        first = n % competencies
        level = rng.choice([1, 2, 2, 3, 4])
        given = {f"k{first:02}": level}
        if rng.random() < 0.4:
            given[f"k{rng.randrange(competencies):02}"] = rng.choice([1, 2, 3])
        asked = {i: level - 1 for i, level in given.items() if level > 1 and rng.random() < 0.7}
        if rng.random() < 0.3:
            asked[f"k{rng.randrange(competencies):02}"] = 1
        hours, cost = rng.choice([4, 6, 8, 10.5, 16, 24]), rng.choice([0, 80, 120, 199.5, 400])
        texts = [" ".join(f"{i}:{level}" for i, level in sorted(levels.items())) for levels in (asked, given)]
        rows.append((f"x{n:02}", hours, cost, *texts))
    chosen = rng.sample(range(competencies), 12)
    requirements = [
        {
            "competency": f"k{n:02}",
            "level": rng.choice([2, 3, 4]),
            "weight": rng.choice([1.0, 2.5, 3.0, 4.12, 5.0]),
            "necessity": rng.choice(["blocking", "essential", "essential", "desirable"]),
        }
        for n in chosen
    ]
    return build_company(rows, requirements)  # type: ignore[arg-type]


def solve_by_times(snapshot: Snapshot, levels: Mapping[str, int], max_hours: float) -> float:
    """Return the largest readiness within the hours by scipy's milp, every level reached at a time.

    x course, y level reached, z course is the one a level comes from, t time of a level: it comes after the levels
    that its course asks for.
    """
    facts = [(i, k) for i in snapshot.competencies for k in range(levels.get(i, 0) + 1, 5)]
    courses = list(snapshot.courses.values())
    gives = {c.id: {o.competency: o.level for o in snapshot.get_outcomes(c.id)} for c in courses}
    asks = {
        c.id: [
            (e.competency, e.level)
            for e in snapshot.get_entry_conditions(c.id)
            if e.level > levels.get(e.competency, 0)
        ]
        for c in courses
    }
    pairs = [(c.id, f) for c in courses for f in facts if gives[c.id].get(f[0], 0) >= f[1]]
    names: list[Any] = [*(("x", c.id) for c in courses), *(("y", f) for f in facts), *(("z", p) for p in pairs)]
    names += [("t", f) for f in facts]
    number = {name: n for n, name in enumerate(names)}
    rows, low = [], []

    def add(entries: dict[Any, float], lower: float) -> None:
        row = np.zeros(len(names))
        for name, value in entries.items():
            row[number[name]] += value
        rows.append(row)
        low.append(lower)

    big = len(facts) + 1
    for f in facts:
        add({("y", f): -1.0, **{("z", p): 1.0 for p in pairs if p[1] == f}}, 0)
    for course_id, f in pairs:
        add({("x", course_id): 1, ("z", (course_id, f)): -1}, 0)
        for asked in asks[course_id]:
            add({("y", asked): 1, ("z", (course_id, f)): -1}, 0)
            if asked == f:
                add({("z", (course_id, f)): -1}, 0)
                continue
            add({("t", f): 1, ("t", asked): -1, ("z", (course_id, f)): -big}, 1 - big)
    add({("x", c.id): -c.hours for c in courses}, -max_hours)
    requirements = snapshot.get_requirements("r")
    total = sum(r.weight for r in requirements)
    gain = np.zeros(len(names))
    for r in requirements:
        for k in range(levels.get(r.competency, 0) + 1, r.level + 1):
            gain[number["y", (r.competency, k)]] -= r.weight / r.level / total
    upper = np.array([1.0 if name[0] != "t" else big for name in names])
    whole = np.array([0 if name[0] == "t" else 1 for name in names])
    answer = milp(
        gain,
        constraints=LinearConstraint(np.array(rows), np.array(low), np.inf),
        integrality=whole,
        bounds=(np.zeros(len(names)), upper),
        options={"mip_rel_gap": 0},
    )
    assert answer.success
    held = sum(r.weight * min(1, levels.get(r.competency, 0) / r.level) for r in requirements) / total
    return held - float(answer.fun)


@pytest.mark.parametrize("seed", range(6))
def test_readiness_equals_that_of_a_program_with_times(seed: int) -> None:
    company = build_middle_company(seed)
    profile = Profile({"k00": 1, "k05": 2})
    whole = find_learning_path(company, profile, "r", with_desirable=True)
    for share in (0.3, 0.6):
        max_hours = whole.study_hours * share
        result = find_learning_path(company, profile, "r", with_desirable=True, max_hours=max_hours)
        assert (result.within_budget, result.study_hours <= max_hours) == (False, True)
        assert result.readiness_after == pytest.approx(solve_by_times(company, profile.levels, max_hours), abs=1e-7)
        assert result.budget is not None
        assert result.budget.readiness_bound == result.readiness_after


def test_weights_with_decimals_are_proved_too() -> None:
    weights = [4.12, 3.37, 2.89, 1.01, 4.99, 3.14, 2.71, 1.41]
    rows = [(f"x{n}", 3 + n % 4, 0, "", f"k{n}:{1 + n % 5}") for n in range(8)]
    company = build_company(
        rows,  # type: ignore[arg-type]
        [{"competency": f"k{n}", "level": 1 + n % 5, "weight": w} for n, w in enumerate(weights)],
    )
    result = find_learning_path(company, NOBODY, "r", max_hours=20)
    total = sum(Fraction(str(w)) for w in weights)
    best = max(
        sum(Fraction(str(weights[n])) for n in range(8) if mask >> n & 1)
        for mask in range(256)
        if sum(3 + n % 4 for n in range(8) if mask >> n & 1) <= 20
    )
    assert result.status == "optimal"
    assert result.readiness_after == pytest.approx(float(best / total), abs=1e-12)


def test_when_time_is_up_the_answer_keeps_the_budget_and_tells_a_bound() -> None:
    company = build_middle_company(7, courses=160, competencies=40)
    result = find_learning_path(company, NOBODY, "r", max_hours=30, time_limit_s=1e-6)
    assert result.study_hours <= 30
    assert result.budget is not None
    if result.within_budget:
        assert result.budget.readiness_bound is None
    else:
        assert result.status in ("feasible", "unreachable")
        assert result.readiness_after is not None
        best = find_learning_path(company, NOBODY, "r", max_hours=30)
        assert best.readiness_after is not None
        assert result.budget.readiness_bound is not None
        assert result.readiness_after <= best.readiness_after <= result.budget.readiness_bound
