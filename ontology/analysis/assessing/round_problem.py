"""A round of assessments as plain data: rows, who may assess them, hours; what an assignment is worth and breaks. Pure.

Nothing here knows how an assignment is found: both measures read the assignment alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from ontology.analysis.assessing.round_rows import RoundRow

__all__ = ["Assignment", "Pair", "RoundProblem", "RoundValue", "count_loads", "find_broken_rule", "measure", "split"]

#: For each row its assessors, by id.
Assignment = tuple[tuple[str, ...], ...]
#: A person and who assesses them.
Pair = tuple[str, str]


@dataclass(frozen=True)
class RoundProblem:
    """Rows by person and competency, and the minutes that each assessor has; those of no row may be among them."""

    rows: tuple[RoundRow, ...]
    capacity: Mapping[str, int]

    @cached_property
    def clashes(self) -> tuple[Pair, ...]:
        """Pairs of assessors who could assess each other, (smaller id, larger id), sorted: only one way is allowed."""
        could = {(row.person, assessor) for row in self.rows for assessor in row.able}
        return tuple(sorted(pair for pair in could if pair[0] < pair[1] and pair[::-1] in could))


@dataclass(frozen=True, slots=True, order=True)
class RoundValue:
    """What is to be small, in this order."""

    unserved: int
    missing: int
    largest_load_minutes: int
    pairs: int


def count_loads(problem: RoundProblem, assignment: Assignment) -> Counter[str]:
    """Return assessor -> minutes, of those who assess."""
    loads: Counter[str] = Counter()
    for row, chosen in zip(problem.rows, assignment, strict=True):
        for assessor in chosen:
            loads[assessor] += row.minutes
    return loads


def iterate_pairs(problem: RoundProblem, assignment: Assignment) -> Iterator[Pair]:
    """Yield each person with who assesses them, once for each row."""
    for row, chosen in zip(problem.rows, assignment, strict=True):
        for assessor in chosen:
            yield row.person, assessor


def measure(problem: RoundProblem, assignment: Assignment) -> RoundValue:
    """Return the values of the aims: rows without an assessor, assessors missing, largest load, pairs."""
    return RoundValue(
        sum(not chosen for chosen in assignment),
        sum(row.wanted - len(chosen) for row, chosen in zip(problem.rows, assignment, strict=True)),
        max(count_loads(problem, assignment).values(), default=0),
        len(set(iterate_pairs(problem, assignment))),
    )


def find_broken_rule(problem: RoundProblem, assignment: Assignment) -> str:
    """Return what an assignment breaks, in words; "" where it keeps every rule."""
    for row, chosen in zip(problem.rows, assignment, strict=True):
        what = f"{row.person} in {row.competency}"
        if len(chosen) > row.wanted or list(chosen) != sorted(set(chosen)):
            return f"{what} has the assessors {', '.join(chosen)}"
        if not set(chosen) <= set(row.able):
            return f"{what} is assessed by someone who may not"
    for assessor, minutes in count_loads(problem, assignment).items():
        if minutes > problem.capacity[assessor]:
            return f"{assessor} assesses for {minutes} of {problem.capacity[assessor]} minutes"
    pairs = set(iterate_pairs(problem, assignment))
    both = next((pair for pair in sorted(pairs) if pair[::-1] in pairs), None)
    return f"{both[0]} and {both[1]} assess each other" if both else ""


def split(problem: RoundProblem) -> list[tuple[int, ...]]:
    """Return the rows that hang together, as numbers, in the order of their first row.

    Rows hang together that an assessor could both do, and those in which two people could assess each other: nothing
    that is chosen in one part changes what can be chosen in another. O(rows times assessors).
    """
    roots: dict[str, str] = {}

    def find(node: str) -> str:
        while roots.setdefault(node, node) != node:
            roots[node] = roots[roots[node]]
            node = roots[node]
        return node

    def join(nodes: Iterable[str]) -> None:
        first, *others = [find(node) for node in nodes]
        for other in others:
            roots[find(other)] = find(first)

    for row in problem.rows:
        if row.able:
            join(row.able)
    for pair in problem.clashes:
        join(pair)
    parts: dict[str, list[int]] = {}
    for number, row in enumerate(problem.rows):
        if row.able:
            parts.setdefault(find(row.able[0]), []).append(number)
    return [tuple(part) for part in parts.values()]


def cut(problem: RoundProblem, part: Sequence[int]) -> RoundProblem:
    """Return a part of a round: some rows, with those who may assess them."""
    rows = tuple([problem.rows[number] for number in part])
    able = sorted({assessor for row in rows for assessor in row.able})
    return RoundProblem(rows, {assessor: problem.capacity[assessor] for assessor in able})
