"""Schedules against published critical-path examples: with room for everything at once a schedule is that method's.

One slot is one time unit; nothing has hours, and as many run at once as there are tasks.
"""

from __future__ import annotations

from collections.abc import Mapping

import networkx as nx
import pytest

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.schedule.critical_chain import build_link_graph, find_critical_chain, measure_slack
from ontology.analysis.schedule.schedule_bound import find_heads, find_tails
from ontology.analysis.schedule.schedule_model import Problem, Task, Window, get_makespan
from ontology.analysis.schedule.schedule_search import search_schedule
from ontology.analysis.schedule.study_calendar import Grid

#: activity -> (duration, what comes before it)
Network = Mapping[str, tuple[int, str]]

# B. W. Taylor, Introduction to Management Science, chapter 8 (project management): activities by their two events
TAYLOR: Network = {
    "1-2": (7, ""),
    "1-3": (10, ""),
    "2-4": (6, "1-2"),
    "3-4": (5, "1-3"),
    "3-5": (4, "1-3"),
    "4-5": (3, "2-4 3-4"),
    "5-6": (2, "3-5 4-5"),
}
#: earliest start and finish, latest start and finish, slack as printed
TAYLOR_TIMES = {
    "1-2": (0, 7, 2, 9, 2),
    "1-3": (0, 10, 0, 10, 0),
    "2-4": (7, 13, 9, 15, 2),
    "3-4": (10, 15, 10, 15, 0),
    "3-5": (10, 14, 14, 18, 4),
    "4-5": (15, 18, 15, 18, 0),
    "5-6": (18, 20, 18, 20, 0),
}

# F. S. Hillier and G. J. Lieberman, Introduction to Operations Research, the Reliable Construction Co. example, weeks;
# the network partly from memory, its answers recomputed with networkx below
RELIABLE: Network = {
    "A": (2, ""),
    "B": (4, "A"),
    "C": (10, "B"),
    "D": (6, "C"),
    "E": (4, "C"),
    "F": (5, "E"),
    "G": (7, "D"),
    "H": (9, "E G"),
    "I": (7, "C"),
    "J": (8, "F I"),
    "K": (4, "J"),
    "L": (5, "J"),
    "M": (2, "H"),
    "N": (6, "K L"),
}
RELIABLE_SLACK = {"D": 4, "G": 4, "H": 4, "M": 4, "I": 2, "K": 1}


def build(network: Network) -> Problem:
    ids = list(network)
    tasks = tuple(
        Task(i, 0, duration, 0, tuple(frozenset({ids.index(j)}) for j in before.split()))
        for i, (duration, before) in network.items()
    )
    return Problem(tasks, Grid([1] * (sum(d for d, _ in network.values()) + 1)), len(ids))


def solve(problem: Problem) -> tuple[Window, ...]:
    found = search_schedule(problem, Deadline(None))
    assert found.is_proved
    assert found.windows is not None
    return found.windows


def test_taylor_earliest_latest_and_slack_are_the_printed_ones() -> None:
    problem = build(TAYLOR)
    windows = solve(problem)
    slack = tuple(row.slots for row in measure_slack(problem, windows))
    times = {
        task.id: (w.first, w.last + 1, w.first + spare, w.last + 1 + spare, spare)
        for task, w, spare in zip(problem.tasks, windows, slack, strict=True)
    }
    assert times == TAYLOR_TIMES
    assert get_makespan(windows) == 20


def test_taylor_critical_path_runs_through_1_3_4_5_6() -> None:
    problem = build(TAYLOR)
    windows = solve(problem)
    links = build_link_graph(problem, windows, [{}] * len(problem.tasks))
    chain = find_critical_chain(problem, windows, links, measure_slack(problem, windows))
    assert [problem.tasks[n].id for n in chain] == ["1-3", "3-4", "4-5", "5-6"]


def test_reliable_construction_takes_44_weeks_with_the_known_slack_and_critical_path() -> None:
    problem = build(RELIABLE)
    windows = solve(problem)
    assert get_makespan(windows) == 44
    slack = tuple(row.slots for row in measure_slack(problem, windows))
    assert {t.id: s for t, s in zip(problem.tasks, slack, strict=True) if s} == RELIABLE_SLACK
    links = build_link_graph(problem, windows, [{}] * len(problem.tasks))
    chain = find_critical_chain(problem, windows, links, measure_slack(problem, windows))
    assert "".join(problem.tasks[n].id for n in chain) == "ABCEFJLN"


@pytest.mark.parametrize("network", [TAYLOR, RELIABLE], ids=["Taylor", "Hillier and Lieberman"])
def test_the_length_is_the_longest_path_of_networkx(network: Network) -> None:
    graph = nx.DiGraph()
    for i, (duration, before) in network.items():
        graph.add_edge("start", i, weight=duration)
        for j in before.split():
            graph.add_edge(j, i, weight=duration)
    longest = nx.dag_longest_path_length(graph, weight="weight")
    problem = build(network)
    heads, tails = find_heads(problem), find_tails(problem)
    assert get_makespan(solve(problem)) == longest == max(map(sum, zip(heads, tails, strict=True)))


# R. L. Graham 1969, SIAM Journal on Applied Mathematics 17 ("Bounds on multiprocessing timing anomalies"): nine tasks,
# three machines, list order 12 units; from memory. With weaker precedence, shorter tasks or one machine more the list
# takes longer (16, 13, 15); the shortest schedule never does.
GRAHAM: Network = {
    "T1": (3, ""),
    "T2": (2, ""),
    "T3": (2, ""),
    "T4": (2, ""),
    "T5": (4, "T4"),
    "T6": (4, "T4"),
    "T7": (4, "T4"),
    "T8": (4, "T4"),
    "T9": (9, "T1"),
}


def count_slots(network: Network, at_once: int) -> int:
    problem = build(network)
    return get_makespan(solve(Problem(problem.tasks, problem.grid, at_once)))


def test_the_shortest_schedule_of_grahams_tasks_shows_no_anomaly() -> None:
    assert count_slots(GRAHAM, 3) == 12
    shorter = {i: (duration - 1, before) for i, (duration, before) in GRAHAM.items()}
    freed = {i: (d, "" if i in ("T5", "T6") else before) for i, (d, before) in GRAHAM.items()}
    assert count_slots(GRAHAM, 4) <= 12
    assert count_slots(shorter, 3) <= 12
    assert count_slots(freed, 3) <= 12
