"""Rounds of assessments against every assignment, against another solver, and under a time limit."""

from __future__ import annotations

from dataclasses import astuple, replace

import pytest
from brute_rounds import ChoiceProgram, find_by_trying
from drawn_rounds import draw_round

from ontology.analysis.assessing.round_model import AIMS
from ontology.analysis.assessing.round_problem import RoundProblem, RoundValue, find_broken_rule, measure, split
from ontology.analysis.assessing.round_rows import RoundRow
from ontology.analysis.assessing.round_solver import build_start, solve_round
from ontology.analysis.engine.deadline import Deadline

NEVER = Deadline(None)


@pytest.mark.parametrize("seed", range(160))
def test_no_assignment_comes_before_the_one_found(seed: int) -> None:
    problem = draw_round(seed, rows=4, assessors=4, people=3)
    value, first = find_by_trying(problem)
    solved = solve_round(problem, NEVER)
    assert (astuple(measure(problem, solved.assignment)), solved.assignment) == (value, first)
    assert (solved.unproved, solved.lower_bound, solved.is_settled) == (None, None, True)


@pytest.mark.parametrize(
    ("seed", "rows", "assessors"), [(seed, 7, 5) for seed in range(160)] + [(seed, 14, 5) for seed in range(6)]
)
def test_another_solver_finds_the_same_in_every_aim_and_every_tie(seed: int, rows: int, assessors: int) -> None:
    """scipy's solver over whole choices, without parts, kinds or relaxations."""
    problem = draw_round(seed, rows=rows, assessors=assessors, people=5)
    solved = solve_round(problem, NEVER)
    assert (astuple(measure(problem, solved.assignment)), solved.assignment) == ChoiceProgram(problem).run()


@pytest.mark.parametrize("seed", range(30))
def test_the_start_keeps_every_rule(seed: int) -> None:
    problem = draw_round(seed, rows=12, assessors=6, people=6)
    assert find_broken_rule(problem, build_start(problem)) == ""


def test_without_time_the_first_aim_not_proved_is_told_with_a_bound_that_holds() -> None:
    told = set()
    for seed in range(25):
        problem = draw_round(seed, rows=12, assessors=6, people=6)
        best = astuple(measure(problem, solve_round(problem, NEVER).assignment))
        solved = solve_round(problem, Deadline(0.0))
        assert find_broken_rule(problem, solved.assignment) == ""
        if solved.unproved is None:
            assert astuple(measure(problem, solved.assignment)) == best
            continue
        at = AIMS.index(solved.unproved)
        told.add(solved.unproved)
        value = astuple(measure(problem, solved.assignment))
        assert value[:at] == best[:at]
        assert solved.lower_bound is not None
        assert solved.lower_bound <= best[at] <= value[at]
        assert solved.lower_bound < value[at]
        assert not solved.is_settled
    assert told >= {"unserved", "largest_load_minutes"}


def test_what_is_seen_at_once_is_proved_without_time() -> None:
    """Rows that nobody may assess are left out in every round; where there are hours for all, nobody else is."""
    rows = tuple(RoundRow(person, "k", "old", 60, 2, ("q", "x", "y")) for person in "ab")
    nobody = RoundRow("z", "k", "old", 60, 2, ())
    plenty = solve_round(RoundProblem((*rows, nobody), dict.fromkeys("qxy", 600)), Deadline(0.0))
    assert plenty.unproved == "largest_load_minutes"
    told = 0
    for seed in range(40):
        short = draw_round(seed, rows=12, assessors=6, people=6)
        solved = solve_round(replace(short, rows=(*short.rows, nobody)), Deadline(0.0))
        if solved.unproved == "unserved":
            told += 1
            assert solved.lower_bound is not None
            assert solved.lower_bound >= sum(not row.able for row in short.rows) + 1
    assert told


def test_parts_share_no_assessor_and_nobody_who_could_assess_back() -> None:
    rows = (
        RoundRow("a", "k", "old", 60, 1, ("x",)),
        RoundRow("b", "k", "old", 60, 1, ("x", "y")),
        RoundRow("c", "k", "old", 60, 1, ("z",)),
        RoundRow("d", "k", "old", 60, 1, ()),
    )
    assert split(RoundProblem(rows, dict.fromkeys("xyz", 60))) == [(0, 1), (2,)]
    back = (*rows[:3], RoundRow("x", "k", "old", 60, 1, ("w",)), RoundRow("w", "k", "old", 60, 1, ("x",)))
    assert split(RoundProblem(back, dict.fromkeys("wxyz", 60))) == [(0, 1, 3, 4), (2,)]


def test_the_largest_load_is_one_for_all_parts() -> None:
    """A part that could do with less may use what another needs anyway, where that saves an interview."""
    many = [RoundRow("a", f"k{n}", "old", 60, 1, ("x",)) for n in range(3)]
    free = [RoundRow("b", f"k{n}", "old", 60, 1, ("y", "z")) for n in range(2)]
    solved = solve_round(RoundProblem((*many, *free), dict.fromkeys("xyz", 600)), NEVER)
    assert solved.assignment == (*[("x",)] * 3, *[("y",)] * 2)


@pytest.mark.parametrize(
    ("changed", "broken"),
    [
        ((("x", "y"), ("y",)), "a in k has the assessors x, y"),
        ((("y", "x"), ("y",)), "a in k has the assessors y, x"),
        ((("z",), ()), "a in k is assessed by someone who may not"),
        ((("x",), ("x",)), "x assesses for 120 of 60 minutes"),
        ((("y",), ("a",)), "a and y assess each other"),
    ],
)
def test_what_an_assignment_breaks_is_told(changed: tuple[tuple[str, ...], ...], broken: str) -> None:
    rows = (RoundRow("a", "k", "old", 60, 1, ("x", "y")), RoundRow("y", "k", "old", 60, 1, ("a", "x", "y")))
    problem = RoundProblem(rows, {"a": 600, "x": 60, "y": 600})
    assert find_broken_rule(problem, changed) == broken
    assert find_broken_rule(problem, (("x",), ("a",))) == ""


def test_aims_are_counted_from_the_assignment() -> None:
    rows = [RoundRow(person, "k", "old", 30, 2, ("x", "y")) for person in "aab"]
    rows[1] = replace(rows[1], competency="l", minutes=45)
    problem = RoundProblem(tuple(rows), {"x": 99, "y": 99})
    assert measure(problem, (("x", "y"), ("x",), ())) == RoundValue(1, 3, 75, 2)
