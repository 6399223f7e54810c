"""What holds a schedule's end where it is: slack of each task, and the longest unbroken chain. Pure.

Slack is found by trial: a task is kept back, the others follow no earlier than planned, and the end has to stand. The
chain is a longest path (networkx) over the links "the one began when the other ended, and not by chance".
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal

import networkx as nx

from ontology.analysis.schedule.schedule_model import Problem, Window, get_makespan
from ontology.analysis.schedule.schedule_rules import build_by_rule

__all__ = ["LinkKind", "build_link_graph", "find_critical_chain", "find_slack", "get_first_suppliers"]

LinkKind = Literal["condition", "place", "hours"]
_START, _END = -1, -2


def find_slack(problem: Problem, windows: Sequence[Window]) -> tuple[int, ...]:
    """Return how many slots later each task can begin, at least, so that everything still ends when planned.

    Each alone; the others begin no earlier than planned, and later where they have to. Without limits on places and
    hours it is the total float of the critical path method.

    Notes
    -----
    A schedule is built for each trial, O(log slots) trials a task: what is returned has been seen to work.
    """
    end = get_makespan(windows)
    slack = []
    for number, window in enumerate(windows):
        low, high = 0, end - 1 - window.last
        # most have none, and one trial tells
        if high and not _stands(problem, windows, number, 1, end):
            high = 0
        while low < high:
            middle = (low + high + 1) // 2
            if _stands(problem, windows, number, middle, end):
                low = middle
            else:
                high = middle - 1
        slack.append(low)
    return tuple(slack)


def _stands(problem: Problem, windows: Sequence[Window], delayed: int, slots: int, end: int) -> bool:
    later = [slots if number == delayed else 0 for number in range(len(windows))]
    tasks = tuple(
        replace(task, release=window.first + more)
        for task, window, more in zip(problem.tasks, windows, later, strict=True)
    )
    found = build_by_rule(
        replace(problem, tasks=tasks),
        [window.first + more for window, more in zip(windows, later, strict=True)],
        [window.last + more for window, more in zip(windows, later, strict=True)],
    )
    return found is not None and get_makespan(found) <= end


def get_first_suppliers(problem: Problem, windows: Sequence[Window], number: int) -> tuple[int, ...]:
    """Return the tasks whose end met the needs of a task: of each need the one that ended first."""
    first = {min(group, key=lambda n: (windows[n].last, n)) for group in problem.tasks[number].needs}
    return tuple(sorted(first, key=lambda n: (windows[n].last, n)))


def build_link_graph(
    problem: Problem, windows: Sequence[Window], shares: Sequence[Mapping[int, int]]
) -> nx.DiGraph[int]:
    """Return the links between tasks of which one could not begin a slot earlier because of the other.

    Parameters
    ----------
    problem : Problem
    windows : sequence of Window
    shares : sequence of mapping
        Slot -> units, for each task.

    Returns
    -------
    nx.DiGraph
        Nodes are positions; edges have `kind`: "condition" (it needed the other, which had just ended), "place" (all
        places were taken until the other ended) or "hours" (the slot before had not the time that its first one takes,
        because the other took some).
    """
    graph: nx.DiGraph[int] = nx.DiGraph()
    graph.add_nodes_from(range(len(windows)))
    for number, window in enumerate(windows):
        suppliers = get_first_suppliers(problem, windows, number)
        for other, before in enumerate(windows):
            if other == number or before.first >= window.first:
                continue
            kind: LinkKind | None = None
            slot = problem.grid.get_working_before(window.first - 1)
            has_ended = before.last == slot
            if has_ended and other in suppliers:
                kind = "condition"
            elif has_ended and sum(w.first <= slot <= w.last for w in windows) >= problem.at_once:
                kind = "place"
            elif shares[other].get(slot) and _get_free(problem, shares, slot) < shares[number].get(window.first, 0):
                kind = "hours"
            if kind is not None:
                graph.add_edge(other, number, kind=kind)
    return graph


def _get_free(problem: Problem, shares: Sequence[Mapping[int, int]], slot: int) -> int:
    return problem.grid.capacity[slot] - sum(share.get(slot, 0) for share in shares)


def find_critical_chain(
    problem: Problem, windows: Sequence[Window], shares: Sequence[Mapping[int, int]]
) -> tuple[int, ...]:
    """Return the tasks of the longest unbroken chain that ends with the last task, in order.

    Of equally long ones the one networkx finds first.
    """
    if not windows:
        return ()
    end = get_makespan(windows)
    graph: nx.DiGraph[int] = nx.DiGraph()
    for number, window in enumerate(windows):
        graph.add_edge(_START, number, weight=window.last + 1 - window.first)
        if window.last + 1 == end:
            graph.add_edge(number, _END, weight=0)
    for tail, head in build_link_graph(problem, windows, shares).edges:
        graph.add_edge(tail, head, weight=windows[head].last - windows[tail].last)
    leading = graph.subgraph({*nx.ancestors(graph, _END), _END})
    chain = nx.dag_longest_path(leading, weight="weight")
    return tuple(number for number in chain if number >= 0)
