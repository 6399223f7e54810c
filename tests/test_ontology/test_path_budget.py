"""What a budget buys: hand-worked rows, an independent integer program on middle-sized companies, the time limit."""

from __future__ import annotations

import random
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from scipy.optimize import LinearConstraint, milp
from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.engine.relaxed import RelaxedProblem, SideRow
from ontology.analysis.paths.budget_greedy import choose_greedily
from ontology.analysis.paths.learning_path import LearningPathResult, find_learning_path
from ontology.analysis.profiles.levels import Profile
from ontology.errors import InputError
from ontology.snapshot.snapshot import Snapshot

NOBODY = Profile({})


def build_company(courses: list[tuple[str, float, float, str, str]], requirements: list[dict[str, Any]]) -> Snapshot:
    """Return a company of (course, hours, cost, entry conditions, outcomes); levels stand after a colon."""
    parts: list[tuple[str, str, list[tuple[str, int]]]] = []
    for course, _, _, asked, given in courses:
        for table, text in (("entry_conditions", asked), ("outcomes", given)):
            pairs = [(word.partition(":")[0], int(word.partition(":")[2] or 1)) for word in text.split()]
            parts.append((table, course, pairs))
    ids = sorted({i for _, _, pairs in parts for i, _ in pairs} | {r["competency"] for r in requirements})
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies(" ".join(ids)),
        courses=[{"id": c, "label": c, "hours": hours, "cost": cost} for c, hours, cost, _, _ in courses],
        roles=[{"id": "r", "label": "R"}],
        requirements=[{"role": "r"} | row for row in requirements],
        **{
            table: [
                {"course": course, "competency": i, "level": level}
                for kind, course, pairs in parts
                if kind == table
                for i, level in pairs
            ]
            for table in ("entry_conditions", "outcomes")
        },
    )


def get_ids(result: LearningPathResult) -> list[str]:
    return [course.id for course in result.courses]


#: a: level 4, weight 2, by steps of 10 h and 6 h; b: level 1, weight 1, in 5 h; c: level 2, weight 1, in 8 h
COMPANY = build_company(
    [
        ("a2", 10, 100, "", "a:2"),
        ("a4", 6, 10, "a:2", "a:4"),
        ("b1", 5, 300, "", "b:1"),
        ("c2", 8, 20, "", "c:2"),
    ],
    [
        {"competency": "a", "level": 4, "weight": 2.0},
        {"competency": "b", "level": 1, "weight": 1.0},
        {"competency": "c", "level": 2, "weight": 1.0, "necessity": "desirable"},
    ],
)


@pytest.mark.parametrize(
    ("limits", "courses", "within", "after"),
    [
        ({"max_hours": 21}, ["a2", "b1", "a4"], True, 0.75),
        ({"max_hours": 18.9}, ["b1", "c2"], False, 0.5),
        ({"max_hours": 17}, ["b1", "c2"], False, 0.5),
        ({"max_hours": 13}, ["b1", "c2"], False, 0.5),
        ({"max_hours": 12.99}, ["b1"], False, 0.25),
        ({"max_hours": 4.9}, [], False, 0.0),
        ({"max_hours": 0}, [], False, 0.0),
        ({"max_cost": 130}, ["a2", "c2", "a4"], False, 0.75),
        ({"max_cost": 110}, ["a2", "a4"], False, 0.5),
        ({"max_hours": 16, "max_cost": 129.99}, ["a2", "a4"], False, 0.5),
        ({"max_hours": 100, "max_cost": 410}, ["a2", "b1", "a4"], True, 0.75),
    ],
)
def test_budget_buys_the_largest_readiness(
    limits: dict[str, float], courses: list[str], within: bool, after: float
) -> None:
    # a2 + c2 (18 h), a2 + a4 (16 h), a2 + b1 (15 h) and b1 + c2 (13 h) all bring 0.5; the least hours win
    result = find_learning_path(COMPANY, NOBODY, "r", **limits)  # type: ignore[arg-type]
    assert (get_ids(result), result.within_budget, result.readiness_after) == (courses, within, after)
    assert result.status == "optimal"


def test_a_partial_level_counts_and_says_whom_it_serves() -> None:
    result = find_learning_path(COMPANY, NOBODY, "r", max_hours=10, max_cost=100, exclude=frozenset({"c2"}))
    assert (get_ids(result), result.readiness_after) == (["a2"], 0.25)
    assert result.courses[0].serves == ("a",)
    rows = {row.competency: (row.reached, row.reached_by, row.state) for row in result.requirements}
    assert rows == {"a": (2, "a2", "beyond-budget"), "b": (0, None, "beyond-budget"), "c": (0, None, "not-asked")}


def test_the_budget_says_what_the_whole_path_needs_and_what_is_left() -> None:
    result = find_learning_path(COMPANY, NOBODY, "r", max_hours=14.5)
    budget = result.budget
    assert budget is not None
    assert (budget.max_hours, budget.max_cost) == (14.5, None)
    assert (budget.needed_hours, budget.needed_cost) == (21, 410)
    assert (budget.left_hours, budget.left_cost, budget.readiness_bound) == (1.5, None, 0.5)
    assert (result.study_hours, result.lower_bound) == (13, 21)


def test_ties_of_readiness_go_by_the_aim_asked_for() -> None:
    # 0.5 by a2 + a4 (16 h, 110) or by b1 + c2 (13 h, 320)
    assert get_ids(find_learning_path(COMPANY, NOBODY, "r", max_hours=16)) == ["b1", "c2"]
    assert get_ids(find_learning_path(COMPANY, NOBODY, "r", max_hours=16, minimise="cost")) == ["a2", "a4"]


def test_a_dearer_path_within_both_limits_is_preferred_to_a_share_of_the_cheapest() -> None:
    company = build_company(
        [("quick", 4, 900, "", "a:3"), ("slow", 9, 100, "", "a:3"), ("half", 1, 0, "", "a:2")],
        [{"competency": "a", "level": 3}],
    )
    result = find_learning_path(company, NOBODY, "r", max_cost=500)
    assert (get_ids(result), result.within_budget, result.lower_bound) == (["slow"], True, 9)
    assert result.budget is not None
    assert (result.budget.needed_hours, result.budget.needed_cost) == (4, 900)
    both = find_learning_path(company, NOBODY, "r", max_cost=500, max_hours=9)
    assert (get_ids(both), both.within_budget) == (["slow"], True)
    assert get_ids(find_learning_path(company, NOBODY, "r", max_cost=500, max_hours=8)) == ["half"]


def test_what_the_least_cost_is_says_nothing_of_a_limit_of_hours() -> None:
    company = build_company(
        [("cheap", 20, 100, "", "a:3"), ("quick", 4, 900, "", "a:3")], [{"competency": "a", "level": 3}]
    )
    result = find_learning_path(company, NOBODY, "r", minimise="cost", max_hours=5)
    assert (get_ids(result), result.within_budget) == (["quick"], True)


def test_alternatives_keep_the_budget_and_there_are_none_beyond_it() -> None:
    company = build_company(
        [("x1", 4, 0, "", "a:1"), ("x2", 6, 0, "", "a:1"), ("x3", 9, 0, "", "a:1")], [{"competency": "a", "level": 1}]
    )
    result = find_learning_path(company, NOBODY, "r", max_hours=7, alternatives=5)
    assert result.alternatives is not None
    assert [a.courses for a in result.alternatives] == [("x2",)]
    assert find_learning_path(company, NOBODY, "r", max_hours=3, alternatives=5).alternatives is None


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


def test_booked_courses_cost_nothing_of_the_budget() -> None:
    result = find_learning_path(COMPANY, NOBODY, "r", max_hours=6, minimise="cost", already_booked=frozenset({"a2"}))
    assert (get_ids(result), result.readiness_after, result.booked_hours) == (["a4"], 0.5, 10)
    assert result.order == ("a2", "a4")


def test_nothing_to_do_lies_within_every_budget() -> None:
    result = find_learning_path(COMPANY, Profile({"a": 4, "b": 1}), "r", max_hours=0)
    assert (result.status, result.within_budget, result.readiness_after) == ("nothing-to-do", True, 0.75)


def test_levels_out_of_reach_are_named_and_their_part_still_counts() -> None:
    company = build_company(
        [("a2", 3, 0, "", "a:2"), ("b1", 2, 0, "", "b:1")],
        [{"competency": "a", "level": 4, "weight": 1.0}, {"competency": "b", "level": 1, "weight": 1.0}],
    )
    result = find_learning_path(company, NOBODY, "r", max_hours=1)
    assert (result.status, result.courses, result.readiness_after) == ("unreachable", (), 0)
    assert [row.competency for row in result.unreachable] == ["a"]
    # all that can be reached in full fits: the part of a is no target and is not bought
    assert get_ids(find_learning_path(company, NOBODY, "r", max_hours=2)) == ["b1"]


@pytest.mark.parametrize("limits", [{"max_hours": -1.0}, {"max_cost": -0.5}, {"max_hours": float("nan")}])
def test_a_budget_below_nothing_is_refused(limits: dict[str, float]) -> None:
    with pytest.raises(InputError, match="budget"):
        find_learning_path(COMPANY, NOBODY, "r", **limits)  # type: ignore[arg-type]


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
