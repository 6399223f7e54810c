"""The peer: the same question as one mixed-integer program in which every fact has a time.

The model that comes to mind first, with time stamps and big-M rows (for delete-free planning: Imai & Fukunaga 2015,
Journal of Artificial Intelligence Research 54), given to HiGHS. Shares nothing with our engine but the door to the
solver and the search for relevant operators, so it checks the answers as well as the speed.
"""

from __future__ import annotations

import argparse
import statistics
import time

from catalogues import build_catalogue

from ontology.analysis.engine.landmarks import solve_cheapest_plan
from ontology.analysis.engine.relaxed import RelaxedProblem, find_closure, find_relevant_operators
from ontology.analysis.engine.solver import LinearModel, MixedSolution, solve_mixed


def solve_ordering_milp(problem: RelaxedProblem, *, time_limit_s: float | None = None) -> MixedSolution:
    """Return the least cost in the first aim of reaching all goals.

    Parameters
    ----------
    problem : RelaxedProblem
        All goals can be reached.
    time_limit_s : float or None

    Returns
    -------
    MixedSolution
        The first variables are the relevant operators in index order.

    Notes
    -----
    x[a]: operator a is chosen; z[a, f]: a is the first to give f; y[f]: f is used; time[f] > time[c] if the first to
    give f needs c. Free operators have x = 1 at no cost.
    """
    held = find_closure(problem, ())
    operators = find_relevant_operators(problem)
    facts = sorted({fact for operator in operators for fact in problem.effects[operator]} - held)
    model = LinearModel()
    free = set(problem.free_operators)
    chosen = {
        operator: model.add_variable(problem.aims[0][operator], lower=1 if operator in free else 0)
        for operator in operators
    }
    used = {fact: model.add_variable(0, lower=1 if fact in problem.goals else 0) for fact in facts}
    big = len(facts)
    moment = {fact: model.add_variable(0, upper=big, is_integer=False) for fact in facts}
    givers: dict[int, list[int]] = {fact: [] for fact in facts}
    for operator in operators:
        conditions = problem.conditions[operator] - held
        if operator not in free:
            for fact in conditions:
                model.add_row([(used[fact], 1), (chosen[operator], -1)], lower=0)
        for fact in sorted(problem.effects[operator] - held - conditions):
            first = model.add_variable(0)
            givers[fact].append(first)
            model.add_row([(chosen[operator], 1), (first, -1)], lower=0)
            for condition in conditions:
                model.add_row([(used[condition], 1), (first, -1)], lower=0)
                model.add_row([(moment[fact], 1), (moment[condition], -1), (first, -(big + 1))], lower=-float(big))
    for fact in facts:
        model.add_row([*((first, 1) for first in givers[fact]), (used[fact], -1)], lower=0)
    for row in problem.side_rows:
        entries = [(chosen[o], value) for o, value in row.coefficients if o in chosen and value]
        model.add_row(entries, upper=row.upper_bound)
    return solve_mixed(model, time_limit_s=time_limit_s)


def print_engine_times(courses: int, targets: int, seeds: int) -> None:
    """Print median and maximum of our own times, and how many answers were proved."""
    times, proved = [], 0
    for seed in range(seeds):
        problem = build_catalogue(courses, targets, seed)
        begin = time.perf_counter()
        proved += solve_cheapest_plan(problem).is_proved
        times.append(time.perf_counter() - begin)
    print(
        f"{courses:7} courses {targets:3} targets: median {statistics.median(times):.3f} s, "
        f"max {max(times):.3f} s, proved {proved} of {seeds}",
        flush=True,
    )


def print_comparison(courses: int, seeds: int, time_limit_s: float) -> None:
    """Print times of both for the first aim alone, on the same catalogues."""
    ratios = []
    for seed in range(seeds):
        problem = build_catalogue(courses, max(4, courses // 35), seed)
        begin = time.perf_counter()
        ours = solve_cheapest_plan(problem, lexicographic=False)
        middle = time.perf_counter()
        peer = solve_ordering_milp(problem, time_limit_s=time_limit_s)
        end = time.perf_counter()
        ratios.append((end - middle) / (middle - begin))
        same = "yes" if peer.objective == ours.totals[0] else peer.status
        print(
            f"{courses:7} {len(find_relevant_operators(problem)):8} {len(problem.goals):7} {seed:4} "
            f"{middle - begin:7.3f} {end - middle:7.2f} {ratios[-1]:6.0f}  {same}",
            flush=True,
        )
    print(f"{courses:7} median ratio {statistics.median(ratios):.0f}", flush=True)


def main() -> None:
    """Print the times of our engine, and of the peer where it has a chance."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("--courses", type=int, nargs="*", default=[60, 120, 260, 500])
    parser.add_argument("--seeds", type=int, default=5)
    parser.add_argument("--time-limit-s", type=float, default=120)
    options = parser.parse_args()
    for courses, targets in ((260, 7), (500, 14), (1800, 15), (12000, 20)):
        print_engine_times(courses, targets, 20)
    print("courses relevant targets seed  ours_s  peer_s  ratio  same")
    for courses in options.courses:
        print_comparison(courses, options.seeds, options.time_limit_s)


if __name__ == "__main__":
    main()
