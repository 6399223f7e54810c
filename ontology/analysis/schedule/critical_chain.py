"""What holds a schedule's end where it is: slack of each task, and an unbroken chain of tasks without any. Pure.

A task is kept back while the others begin no earlier than planned (they may follow later, and share the time anew): the
slack is how far that goes before the end moves. The chain is a longest path (networkx) through tasks that provably have
none, over the links "the one begins when the other ends, and not by chance".
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import networkx as nx

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.schedule.effort import Effort
from ontology.analysis.schedule.owed_hours import take_owed
from ontology.analysis.schedule.schedule_bound import get_least_length
from ontology.analysis.schedule.schedule_model import Problem, Window, get_makespan
from ontology.analysis.schedule.schedule_rules import build_by_rule
from ontology.analysis.schedule.schedule_search import can_end_by

__all__ = [
    "LinkKind",
    "Slack",
    "build_link_graph",
    "find_critical_chain",
    "find_first_suppliers",
    "measure_slack",
]

LinkKind = Literal["condition", "place", "hours"]
_START, _END = -1, -2
#: Choices looked at for one trial of one task: the same on every machine.
MAX_NODES: Final = 2_000
#: All trials together look at so many times as many.
_HARD_TRIALS: Final = 25


@dataclass(frozen=True, slots=True)
class Slack:
    """How many slots later a task can begin; `is_proved`: a slot more would move the end, or a deadline be missed."""

    slots: int
    is_proved: bool


def measure_slack(
    problem: Problem, windows: Sequence[Window], deadline: Deadline | None = None, *, max_nodes: int = MAX_NODES
) -> tuple[Slack, ...]:
    """Return how much later each task can begin so that everything still ends when planned and no deadline is missed.

    Each alone; the others begin no earlier than planned, and later where they have to. Without limits on places and
    hours it is the total float of the critical path method.

    Parameters
    ----------
    deadline : Deadline, optional
        When it is over what is left is told without proof.
    max_nodes : int
        So is a trial that takes more choices, and everything once 25 times as many are used up.

    Notes
    -----
    What can begin later is monotone, so a schedule is looked for O(log slots) times a task: what is returned has been
    seen to work. Rules of thumb first, then the bound, then the search.
    """
    effort = Effort(_HARD_TRIALS * max_nodes, deadline or Deadline(None))
    end = get_makespan(windows)
    found = []
    for number, window in enumerate(windows):
        low, high = 0, max(0, end - window.first - get_least_length(problem, number))
        is_proved = True
        # most have none, and one trial tells
        step = 1
        while low < high:
            if effort.deadline.is_over():
                is_proved = False
                break
            verdict = _can_begin_later(problem, windows, number, low + step, effort, max_nodes)
            if verdict:
                low += step
            else:
                high, is_proved = low + step - 1, verdict is False
            step = max(1, (high - low + 1) // 2)
        found.append(Slack(low, is_proved))
    return tuple(found)


def _can_begin_later(
    problem: Problem, windows: Sequence[Window], delayed: int, slots: int, effort: Effort, max_nodes: int
) -> bool | None:
    """Tell whether a task can begin so much later without moving the end; None where the search gave up."""
    end = get_makespan(windows)
    later = [slots if number == delayed else 0 for number in range(len(windows))]
    tasks = tuple(
        replace(task, release=window.first + more)
        for task, window, more in zip(problem.tasks, windows, later, strict=True)
    )
    trial = replace(problem, tasks=tasks)
    found = build_by_rule(
        trial,
        [window.first + more for window, more in zip(windows, later, strict=True)],
        [window.last + more for window, more in zip(windows, later, strict=True)],
    )
    if found is not None and get_makespan(found) <= end:
        return True
    part = effort.take(max_nodes)
    verdict = can_end_by(trial, end, part)
    effort.give_back(part)
    return verdict


def find_first_suppliers(problem: Problem, windows: Sequence[Window], number: int) -> tuple[int, ...]:
    """Return the tasks whose end met the needs of a task: of each need the one that ended first."""
    first = {min(group, key=lambda n: (windows[n].last, n)) for group in problem.tasks[number].needs}
    return tuple(sorted(first, key=lambda n: (windows[n].last, n)))


def build_link_graph(
    problem: Problem, windows: Sequence[Window], shares: Sequence[Mapping[int, int]]
) -> nx.DiGraph[int]:
    """Return the links between tasks of which one begins when the other ends, and not by chance.

    Parameters
    ----------
    shares : sequence of mapping
        Slot -> units, for each task.

    Returns
    -------
    nx.DiGraph
        Nodes are positions; edges have `kind`: "condition" (it needed the other, which had just ended), "place" (all
        places were taken until the other ended) or "hours" (the slot before had not the time that its first one takes,
        because the other took some; that one ends then, or in this task's first slot, which both share).
    """
    graph: nx.DiGraph[int] = nx.DiGraph()
    graph.add_nodes_from(range(len(windows)))
    paid = take_owed(problem, windows)
    for number, window in enumerate(windows):
        suppliers = find_first_suppliers(problem, windows, number)
        for other, before in enumerate(windows):
            if other == number or before.first >= window.first:
                continue
            kind: LinkKind | None = None
            slot = problem.grid.get_working_before(window.first - 1)
            has_ended = before.last == slot
            is_ending = has_ended or before.last == window.first
            if has_ended and other in suppliers:
                kind = "condition"
            elif has_ended and sum(w.first <= slot <= w.last for w in windows) >= problem.at_once:
                kind = "place"
            elif (
                is_ending
                and shares[other].get(slot)
                and _get_free(paid, shares, slot) < shares[number].get(window.first, 0)
            ):
                kind = "hours"
            if kind is not None:
                graph.add_edge(other, number, kind=kind)
    return graph


def _get_free(problem: Problem, shares: Sequence[Mapping[int, int]], slot: int) -> int:
    return problem.grid.capacity[slot] - sum(share.get(slot, 0) for share in shares)


def find_critical_chain(
    problem: Problem,
    windows: Sequence[Window],
    links: nx.DiGraph[int],
    slack: Sequence[Slack],
    deadline: Deadline | None = None,
) -> tuple[int, ...]:
    """Return tasks, in order, each of which moves the end when it is late; none where no chain of them is unbroken.

    The first begins as early as it may by itself, each next one waits for the end of the one before
    (`build_link_graph`), the last one ends with everything. Of several chains the longest, and of equally long ones
    the one networkx finds first.

    Parameters
    ----------
    links : nx.DiGraph
        As `build_link_graph` gives them.
    slack : sequence of Slack
        As `measure_slack` tells it.
    deadline : Deadline, optional
        As there.
    """
    end = get_makespan(windows)
    effort = Effort(_HARD_TRIALS * MAX_NODES, deadline or Deadline(None))
    # what only a deadline holds does not hold the end
    free = replace(problem, tasks=tuple(replace(task, deadline=None) for task in problem.tasks))
    has_deadlines = any(task.deadline is not None for task in problem.tasks)
    graph: nx.DiGraph[int] = nx.DiGraph()
    graph.add_nodes_from((_START, _END))
    for number, window in enumerate(windows):
        if slack[number].slots or not slack[number].is_proved:
            continue
        if has_deadlines and _can_begin_later(free, windows, number, 1, effort, MAX_NODES) is not False:
            continue
        graph.add_node(number)
        if window.first <= problem.grid.get_working(problem.tasks[number].release):
            graph.add_edge(_START, number, weight=window.last + 1 - window.first)
        if window.last + 1 == end:
            graph.add_edge(number, _END, weight=0)
    for tail, head in links.edges:
        if tail in graph and head in graph:
            graph.add_edge(tail, head, weight=windows[head].last - windows[tail].last)
    unbroken = {*nx.descendants(graph, _START)} & {*nx.ancestors(graph, _END)}
    if not unbroken:
        return ()
    chain = nx.dag_longest_path(graph.subgraph({*unbroken, _START, _END}), weight="weight")
    return tuple(number for number in chain if number >= 0)
