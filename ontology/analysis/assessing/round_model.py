"""The integer program of a part of a round: who assesses which rows, within the hours, never each other. Pure.

May import the linear model and the problem. Rows that no rule and no aim tells apart are one variable for each who may
assess them: how many of them they take. As long as nobody takes more of them than there are, they can be dealt out so
that nobody assesses a row twice and as many rows as possible have someone.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from ontology.analysis.assessing.round_problem import Assignment, Pair, RoundProblem
from ontology.analysis.assessing.round_rows import RoundRow
from ontology.analysis.engine.linear_model import LinearModel

__all__ = ["AIMS", "Aim", "Grain", "Limits", "RoundModel"]

Aim = Literal["unserved", "missing", "largest_load_minutes", "pairs"]
AIMS: Final[tuple[Aim, ...]] = ("unserved", "missing", "largest_load_minutes", "pairs")
#: Which rows are told apart: those of different kinds, also those of different people, or each.
Grain = Literal["kinds", "people", "rows"]
_Group = tuple[str, int, int, tuple[str, ...], int]


@dataclass(frozen=True, slots=True)
class Limits:
    """What the aims before have come to; None: not looked at yet."""

    unserved: int | None = None
    missing: int | None = None
    largest_load_minutes: int | None = None
    pairs: int | None = None


class RoundModel:
    """The program of one part.

    Parameters
    ----------
    problem : RoundProblem
        r rows, a assessors.
    limits : Limits
        Kept as whole numbers.
    aim : Aim or None
        What is to be small; None: nothing yet, costs are set by who asks.

    Attributes
    ----------
    model : LinearModel
        Loads are counted in the largest unit of which every row takes a whole number.
    taken : dict
        (group, assessor) -> variable: how many rows of the group they take.
    constant : int
        What the aim comes to beside the costs of the variables.
    scale : int
        Minutes of a unit where the aim is a load, else 1.
    """

    def __init__(self, problem: RoundProblem, limits: Limits, aim: Aim | None, grain: Grain) -> None:
        self.problem, self._limits, self._aim = problem, limits, aim
        self.model = LinearModel()
        self.taken: dict[tuple[_Group, str], int] = {}
        self.groups: dict[_Group, list[int]] = defaultdict(list)
        self._uncovered: dict[_Group, int] = {}
        self._opened: dict[Pair, int] = {}
        self._most: int | None = None
        unit = math.gcd(*(row.minutes for row in problem.rows)) or 1
        self.scale = unit if aim == "largest_load_minutes" else 1
        clashing = {name for pair in problem.clashes for name in pair}
        for number, row in enumerate(problem.rows):
            self.groups[self._get_group(number, row, grain, clashing)].append(number)
        self.constant = 0
        self._add_groups()
        self._add_pairs()
        self._add_loads(unit)

    def _get_group(self, number: int, row: RoundRow, grain: Grain, clashing: set[str]) -> _Group:
        capacity = self.problem.capacity
        able = tuple([assessor for assessor in row.able if capacity[assessor] >= row.minutes])
        person = row.person if grain != "kinds" or row.person in clashing else ""
        return person, row.minutes, row.wanted, able, number if grain == "rows" else -1

    def _add_groups(self) -> None:
        limits, model = self._limits, self.model
        for group, numbers in self.groups.items():
            _, _, wanted, able, _ = group
            count = len(numbers)
            for assessor in able:
                cost = -1 if self._aim == "missing" else 0
                self.taken[group, assessor] = model.add_variable(cost, upper=count)
            entries = [(self.taken[group, assessor], 1) for assessor in able]
            model.add_row(entries, upper=min(wanted, len(able)) * count)
            cost = 1 if self._aim == "unserved" else 0
            self._uncovered[group] = model.add_variable(cost, upper=count)
            model.add_row([*entries, (self._uncovered[group], 1)], lower=count)
        if limits.unserved is not None:
            model.add_row([(variable, 1) for variable in self._uncovered.values()], upper=limits.unserved)
        wanted_in_all = sum(row.wanted for row in self.problem.rows)
        if self._aim == "missing":
            self.constant = wanted_in_all
        if limits.missing is not None:
            model.add_row([(variable, 1) for variable in self.taken.values()], lower=wanted_in_all - limits.missing)

    def _add_pairs(self) -> None:
        """Add whether someone assesses a person, where that is counted or could clash."""
        both = {*self.problem.clashes, *(pair[::-1] for pair in self.problem.clashes)}
        is_counted = self._aim == "pairs" or self._limits.pairs is not None
        for (group, assessor), variable in self.taken.items():
            pair = group[0], assessor
            if is_counted or pair in both:
                if pair not in self._opened:
                    self._opened[pair] = self.model.add_variable(1 if self._aim == "pairs" else 0)
                self.model.add_row([(variable, 1), (self._opened[pair], -len(self.groups[group]))], upper=0)
        for pair in self.problem.clashes:
            if pair in self._opened and pair[::-1] in self._opened:
                self.model.add_row([(self._opened[pair], 1), (self._opened[pair[::-1]], 1)], upper=1)
        if self._limits.pairs is not None:
            self.model.add_row([(variable, 1) for variable in self._opened.values()], upper=self._limits.pairs)

    def _add_loads(self, unit: int) -> None:
        largest = self._limits.largest_load_minutes
        loads: defaultdict[str, list[tuple[int, float]]] = defaultdict(list)
        for (group, assessor), variable in self.taken.items():
            if group[1]:
                loads[assessor].append((variable, group[1] // unit))
        capacity = self.problem.capacity
        if self._aim == "largest_load_minutes":
            self._most = self.model.add_variable(1, upper=max(capacity.values(), default=0) // unit)
        for assessor, entries in loads.items():
            if self._most is not None:
                self.model.add_row([*entries, (self._most, -1)], upper=0)
            at_most = capacity[assessor] if largest is None else min(capacity[assessor], largest)
            self.model.add_row(entries, upper=at_most // unit)

    def read(self, x: Sequence[float]) -> Assignment:
        """Return the assignment of a solution."""
        chosen: list[list[str]] = [[] for _ in self.problem.rows]
        for group, numbers in self.groups.items():
            turns = [
                assessor for assessor in group[3] for _ in range(round(x[self.taken[group, assessor]]))
            ]  # nobody has more turns than there are rows, so nobody comes to one twice
            for turn, assessor in enumerate(turns):
                chosen[numbers[turn % len(numbers)]].append(assessor)
        return tuple([tuple(sorted(row)) for row in chosen])

    def write(self, assignment: Assignment) -> list[float]:
        """Return an assignment as a solution to start from."""
        x = [0.0] * len(self.model.costs)
        unit = self.scale
        loads: Counter[str] = Counter()
        for group, numbers in self.groups.items():
            for number in numbers:
                x[self._uncovered[group]] += not assignment[number]
                for assessor in assignment[number]:
                    x[self.taken[group, assessor]] += 1
                    loads[assessor] += group[1]
                    if (group[0], assessor) in self._opened:
                        x[self._opened[group[0], assessor]] = 1
        if self._most is not None:
            x[self._most] = max(loads.values(), default=0) // unit
        return x

    def get_choices(self, number: int) -> Mapping[str, int]:
        """Return assessor -> variable of one row, by id, where every row is told apart."""
        row = self.problem.rows[number]
        group = self._get_group(number, row, "rows", set())
        return {assessor: self.taken[group, assessor] for assessor in group[3]}
