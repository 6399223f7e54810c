"""Small delete-free problems for the tests: by hand, at random, and solved by trying every set of operators."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from hypothesis import strategies as st

from ontology.analysis.engine.relaxed import RelaxedProblem, SideRow, find_closure


def build_problem(
    start: str,
    goal: str,
    operators: Sequence[str],
    costs: Sequence[int] | None = None,
) -> RelaxedProblem:
    """Return the problem with operators "A,B>C,D", facts named by letters, at the given or unit costs."""
    pairs = [tuple(set(part.split(",")) - {""} for part in text.split(">")) for text in operators]
    names = sorted(set().union(*(part for pair in pairs for part in pair), start.split(","), goal.split(",")) - {""})
    number = {name: index for index, name in enumerate(names)}

    def facts(part: set[str]) -> frozenset[int]:
        return frozenset(number[name] for name in part)

    return RelaxedProblem(
        fact_count=len(names),
        operator_ids=tuple(operators),
        conditions=tuple(facts(pair[0]) for pair in pairs),
        effects=tuple(facts(pair[1]) for pair in pairs),
        aims=(tuple(costs or [1] * len(operators)),),
        initial=facts(set(start.split(",")) - {""}),
        goals=facts(set(goal.split(",")) - {""}),
    )


def find_best_by_trying(problem: RelaxedProblem) -> tuple[tuple[int, ...], tuple[str, ...]] | None:
    """Return totals and sorted ids of the best plan, by trying every set of paid operators; None without one.

    Best: the aims in order, then fewest operators, then the smallest sorted ids; goals that no set reaches are left
    out. Exponential in the number of operators.
    """
    goals = problem.goals & find_closure(problem, problem.paid_operators)
    best: tuple[tuple[int, ...], int, tuple[str, ...]] | None = None
    for size in range(len(problem.paid_operators) + 1):
        for chosen in itertools.combinations(problem.paid_operators, size):
            is_within = all(
                sum(value for operator, value in row.coefficients if operator in chosen) <= row.upper_bound
                for row in problem.side_rows
            )
            if is_within and goals <= find_closure(problem, chosen):
                totals = tuple(sum(aim[operator] for operator in chosen) for aim in problem.aims)
                key = (totals, size, tuple(sorted(problem.operator_ids[operator] for operator in chosen)))
                best = key if best is None else min(best, key)
    return None if best is None else (best[0], best[2])


@st.composite
def problems(
    draw: st.DrawFn, *, max_operators: int = 8, has_free: bool = True, has_side_rows: bool = True
) -> RelaxedProblem:
    """Draw a problem: cycles, zero costs, one to three aims, free operators, side rows, shuffled ids."""
    fact_count = draw(st.integers(2, 7))
    count = draw(st.integers(1, max_operators))
    facts = st.integers(0, fact_count - 1)
    conditions = draw(st.lists(st.frozensets(facts, max_size=2), min_size=count, max_size=count))
    effects = draw(st.lists(st.frozensets(facts, min_size=1, max_size=3), min_size=count, max_size=count))
    cost = st.integers(0, 4)
    aims = draw(st.lists(st.tuples(*[cost] * count), min_size=1, max_size=3).map(tuple))
    is_free = draw(st.tuples(*[st.sampled_from([False, False, False, has_free])] * count))
    paid = [index for index in range(count) if not is_free[index]]
    side_rows: tuple[SideRow, ...] = ()
    if has_side_rows and paid and draw(st.booleans()):
        row = draw(st.tuples(*[st.integers(0, 3)] * len(paid)))
        side_rows = (SideRow(tuple(zip(paid, row, strict=True)), draw(st.integers(0, 6))),)
    ids = draw(st.permutations([f"o{index}" for index in range(count)]))
    return RelaxedProblem(
        fact_count=fact_count,
        operator_ids=tuple(ids),
        conditions=tuple(conditions),
        effects=tuple(effects),
        aims=tuple(tuple(0 if free else value for value, free in zip(aim, is_free, strict=True)) for aim in aims),
        initial=draw(st.frozensets(facts, max_size=2)),
        goals=draw(st.frozensets(facts, min_size=1, max_size=4)),
        is_free=is_free,
        side_rows=side_rows,
    )
