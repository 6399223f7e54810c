"""Why each course of the critical chain waits for the one before it, in words; and why there is no chain. Pure."""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated, Literal

import networkx as nx

from ontology.analysis.schedule.critical_chain import Slack
from ontology.analysis.schedule.owed_hours import take_owed
from ontology.analysis.schedule.schedule_model import Problem, Window, get_makespan
from ontology.snapshot.snapshot import Snapshot

__all__ = ["CriticalLink", "describe_chain", "explain_no_chain", "is_full", "tell_full"]


@dataclass(frozen=True, slots=True)
class CriticalLink:
    """One course of the critical chain and what its first day waits for.

    `after` is the course before it, None for the first. `kind`: "start" (it begins with the plan), "release" (it
    cannot be had earlier), "condition" (it asks for what the other gives), "place" (all places were taken until the
    other ended), "hours" (the hours a week were taken until then). `reason` says so in a sentence.
    """

    course: Annotated[str, "Id of the course."]
    after: Annotated[str | None, "Id of the course before it; null for the first."]
    kind: Annotated[
        Literal["start", "release", "condition", "place", "hours"],
        "start: it begins with the plan; release: it cannot be had earlier; condition: it asks for "
        "what the other gives; place: as many courses as may run at once; hours: the hours a week are"
        " taken until the other ends.",
    ]
    reason: Annotated[str, "The same in a sentence."]


def describe_chain(
    snapshot: Snapshot,
    problem: Problem,
    windows: Sequence[Window],
    chain: Sequence[int],
    links: nx.DiGraph[int],
    fixed: Container[str] = (),
) -> tuple[CriticalLink, ...]:
    """Return the links of a chain (`critical_chain.find_critical_chain`), in order.

    Parameters
    ----------
    links : nx.DiGraph
        As `critical_chain.build_link_graph` gives them.
    fixed : container of str
        Courses that are held on days of their own.
    """
    if not chain:
        return ()
    ids = [task.id for task in problem.tasks]
    first = chain[0]
    if windows[first].first == problem.grid.get_working(0):
        head = CriticalLink(ids[first], None, "start", "It begins with the plan.")
    else:
        reason = "It cannot begin earlier: its lead time, or the time in which a certificate is renewed."
        if ids[first] in fixed:
            reason = "It is held on days of its own: a seat is booked."
        head = CriticalLink(ids[first], None, "release", reason)
    rows = [head]
    for before, after in pairwise(chain):
        kind = links.edges[before, after]["kind"]
        label = snapshot.courses[ids[before]].label
        reason = {
            "condition": f"It asks for what {label} gives.",
            "place": f"At most {problem.at_once} at once: the place is free when {label} has ended.",
            "hours": f"The hours a week are taken until {label} ends.",
        }[kind]
        rows.append(CriticalLink(ids[after], ids[before], kind, reason))
    return tuple(rows)


def explain_no_chain(problem: Problem, windows: Sequence[Window], slack: Sequence[Slack]) -> str:
    """Return why no chain of courses holds the finish."""
    if not all(row.is_proved for row in slack):
        return (
            "Which courses set the finish was not found out in the time allowed: days to spare are told as 'at least'."
        )
    if is_full(problem, windows):
        return "Courses overlap and use all study hours of a week; no single chain sets the finish."
    return (
        "Courses overlap and share the study hours of a week, or one can be later when another gives way; no single "
        "chain sets the finish."
    )


def is_full(problem: Problem, windows: Sequence[Window]) -> bool:
    """Whether all hours are taken until the finish, so that the hours alone hold it."""
    work = sum(task.work for task in problem.tasks)
    return bool(work) and take_owed(problem, windows).grid.find_earned(0, work) >= get_makespan(windows) - 1


def tell_full(problem: Problem, windows: tuple[Window, ...]) -> list[str]:
    """Return the remark that the hours a week decide the finish, where they do."""
    if not is_full(problem, windows):
        return []
    return [
        "The hours a week decide the finish: all of them are taken until then, so only more of them end it earlier."
    ]
