"""Exchange between two assessors: every rule is kept, nothing gets worse, and two by themselves could do no better."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, product

import pytest
from drawn_rounds import draw_round

from ontology.analysis.assessing.round_exchange import exchange
from ontology.analysis.assessing.round_problem import Assignment, RoundProblem, find_broken_rule, measure
from ontology.analysis.assessing.round_rows import RoundRow
from ontology.analysis.assessing.round_solver import build_start
from ontology.analysis.engine.deadline import Deadline

NEVER = Deadline(None)


def list_deals(problem: RoundProblem, assignment: Assignment, two: tuple[str, str], largest: int) -> list[Assignment]:
    """Return everything that two can make of what they have, one row each, within the rules and the largest load."""
    choices = []
    for row, chosen in zip(problem.rows, assignment, strict=True):
        mine = set(chosen) & {*two}
        others = {*chosen} - {*two}
        ways = [i for i in two if i in row.able] if len(mine) == 1 else [None]
        choices.append([chosen if i is None else tuple(sorted(others | {i})) for i in ways])
    deals = [tuple(deal) for deal in product(*choices)]
    return [
        deal
        for deal in deals
        if not find_broken_rule(problem, deal) and measure(problem, deal).largest_load_minutes <= largest
    ]


@pytest.mark.parametrize("seed", range(80))
def test_nothing_is_broken_or_worse_and_no_two_could_better_it(seed: int) -> None:
    problem = draw_round(seed, rows=10, assessors=5, people=5)
    start = build_start(problem)
    before = measure(problem, start)
    largest = before.largest_load_minutes + (seed % 3) * 30
    found = exchange(problem, largest, start, NEVER)
    after = measure(problem, found)
    assert find_broken_rule(problem, found) == ""
    assert [len(chosen) for chosen in found] == [len(chosen) for chosen in start]
    assert after.largest_load_minutes <= largest
    assert after.pairs <= before.pairs
    for two in combinations(sorted(problem.capacity), 2):
        assert min(measure(problem, deal).pairs for deal in list_deals(problem, found, two, largest)) == after.pairs
    assert exchange(problem, largest, start, NEVER) == found


def test_a_person_seen_by_two_is_seen_by_one() -> None:
    rows = [RoundRow(person, f"k{n}", "old", 60, 1, ("x", "y")) for person in "ab" for n in range(2)]
    problem = RoundProblem(tuple(rows), {"x": 120, "y": 120})
    found = exchange(problem, 120, (("x",), ("y",), ("x",), ("y",)), NEVER)
    assert measure(problem, found).pairs == 2
    # the second of two who see the same stays where they are
    both = replace(problem, rows=(*rows[:3], replace(rows[3], wanted=2)), capacity={"x": 300, "y": 300})
    found = exchange(both, 300, (("x",), ("y",), ("x",), ("x", "y")), NEVER)
    assert measure(both, found).pairs == 3
    assert found[3] == ("x", "y")


def test_without_time_nothing_is_dealt_out_anew() -> None:
    problem = draw_round(3, rows=10, assessors=5, people=5)
    assert exchange(problem, 300, build_start(problem), Deadline(0.0)) == build_start(problem)
