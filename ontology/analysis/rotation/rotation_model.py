"""A rotation as a mixed-integer program, and the program's answer as a plan. Pure.

May import rotation_problem and linear_model. A variable for each person, place and interval in which the person can
hold it, one for each goal and interval, one for the start of each possible stay. With m the minimum stay, someone who
started in one of the last m intervals is still there; with M the maximum, of any M + 1 intervals one is elsewhere.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Literal

from ontology.analysis.engine.linear_model import LinearModel
from ontology.analysis.rotation.rotation_problem import Plan, RotationProblem

__all__ = ["BrokenRule", "RotationModel", "Rule"]

Rule = Literal["practice", "minimum-stay", "maximum-stay"]


@dataclass(frozen=True, slots=True)
class BrokenRule:
    """A variable that counts how often a rule is broken, and where: `first` is an interval, -1 for the whole period."""

    rule: Rule
    person: int
    places: tuple[int, ...]
    first: int
    column: int


@dataclass
class RotationModel:
    """The program of a problem.

    Attributes
    ----------
    problem : RotationProblem
    soft : collection of Rule
        Rules that may be broken at a cost of 1 each time; the objective is then the number of times.
    largest_strain : int or None
        No one carries more than this; None for no limit.
    model : LinearModel
    holds, learns : dict
        (person, place, interval) and (goal, interval) -> column.
    starts : dict
        Column that is 1 when a stay begins -> column of that interval, and of the interval before where there is one.
    broken : list of BrokenRule
    """

    problem: RotationProblem
    soft: Collection[Rule] = ()
    largest_strain: int | None = None
    model: LinearModel = field(default_factory=LinearModel)
    holds: dict[tuple[int, int, int], int] = field(default_factory=dict)
    learns: dict[tuple[int, int], int] = field(default_factory=dict)
    starts: dict[int, tuple[int, int | None]] = field(default_factory=dict)
    broken: list[BrokenRule] = field(default_factory=list)

    def __post_init__(self) -> None:
        problem = self.problem
        for person, able in enumerate(problem.able):
            for place in sorted(able):
                for t in sorted(able[place]):
                    self.holds[person, place, t] = self.model.add_variable(0)
        for number, goal in enumerate(problem.goals):
            for t in sorted(goal.possible):
                self.learns[number, t] = self.model.add_variable(0)
        self._add_slots()
        self._add_stays()
        self._add_practice()
        if self.largest_strain is not None:
            self.add_strain([], self.largest_strain)

    def add_strain(self, more: Iterable[tuple[int, float]], limit: float) -> None:
        """Keep everyone's sum of strain, plus `more` entries, at `limit` or below."""
        carried: defaultdict[int, list[tuple[int, float]]] = defaultdict(list)
        for (person, place, _), column in self.holds.items():
            carried[person].append((column, self.problem.strain[place]))
        for (number, _), column in self.learns.items():
            goal = self.problem.goals[number]
            carried[goal.person].append((column, self.problem.strain[goal.place]))
        extra = list(more)
        for person in sorted(carried):
            self.model.add_row([*carried[person], *extra], upper=limit)

    def read_plan(self, x: Sequence[float]) -> Plan:
        """Return the plan of a solution."""
        shape = len(self.problem.able), self.problem.intervals
        held = [[-1] * shape[1] for _ in range(shape[0])]
        learning = [[-1] * shape[1] for _ in range(shape[0])]
        for (person, place, t), column in self.holds.items():
            if x[column] > 0.5:
                held[person][t] = place
        for (number, t), column in self.learns.items():
            if x[column] > 0.5:
                learning[self.problem.goals[number].person][t] = number
        return Plan(tuple(map(tuple, held)), tuple(map(tuple, learning)))

    def _add_slots(self) -> None:
        by_slot: defaultdict[tuple[int, int], list[int]] = defaultdict(list)
        by_person: defaultdict[tuple[int, int], list[int]] = defaultdict(list)
        beside: defaultdict[tuple[int, int], list[int]] = defaultdict(list)
        for (person, place, t), column in self.holds.items():
            by_slot[place, t].append(column)
            by_person[person, t].append(column)
        for (number, t), column in self.learns.items():
            goal = self.problem.goals[number]
            by_person[goal.person, t].append(column)
            beside[goal.place, t].append(column)
        for place, count in enumerate(self.problem.slots):
            for t in range(self.problem.intervals):
                self.model.add_row([(c, 1) for c in by_slot[place, t]], lower=count, upper=count)
                if len(beside[place, t]) > count:
                    self.model.add_row([(c, 1) for c in beside[place, t]], upper=count)
        for columns in by_person.values():
            if len(columns) > 1:
                self.model.add_row([(c, 1) for c in columns], upper=1)

    def _add_stays(self) -> None:
        runs: defaultdict[tuple[int, int, int], dict[int, int]] = defaultdict(dict)
        for (person, place, t), column in self.holds.items():
            runs[person, place, -1][t] = column
        for (number, t), column in self.learns.items():
            goal = self.problem.goals[number]
            runs[goal.person, goal.place, number][t] = column
        for (person, place, _), columns in sorted(runs.items()):
            self._add_minimum_stay(person, place, columns, self._add_starts(columns))
            self._add_maximum_stay(person, place, columns)

    def _add_starts(self, columns: dict[int, int]) -> dict[int, int]:
        """Return for each interval the column that is 1 when a stay begins there; later than the first it is a move."""
        starts = {}
        for t, column in columns.items():
            if t == 0:
                starts[t] = column
                continue
            begin = self.model.add_variable(0)
            before = [(columns[t - 1], 1.0)] if t - 1 in columns else []
            self.model.add_row([(begin, 1), (column, -1), *before], lower=0)
            self.model.add_row([(begin, 1), (column, -1)], upper=0)
            starts[t] = begin
            self.starts[begin] = column, columns.get(t - 1)
        return starts

    def _add_minimum_stay(self, person: int, place: int, columns: dict[int, int], starts: dict[int, int]) -> None:
        least = self.problem.minimum_stay
        if least == 1:
            return
        if "minimum-stay" in self.soft:
            for first, begin in starts.items():
                fault = self._add_fault("minimum-stay", person, (place,), first)
                for t in range(first + 1, first + least):
                    still = [(columns[t], -1.0)] if t in columns else []
                    self.model.add_row([(begin, 1), (fault, -1), *still], upper=0)
            return
        for t in range(1, self.problem.intervals + least - 1):
            recent = [(starts[first], 1.0) for first in range(max(0, t - least + 1), t + 1) if first in starts]
            still = [(columns[t], -1.0)] if t in columns else []
            if recent:
                self.model.add_row([*recent, *still], upper=0)

    def _add_maximum_stay(self, person: int, place: int, columns: dict[int, int]) -> None:
        most = self.problem.maximum_stay
        for first in range(self.problem.intervals - most):
            window = [columns[t] for t in range(first, first + most + 1) if t in columns]
            if len(window) > most:
                entries: list[tuple[int, float]] = [(column, 1) for column in window]
                if "maximum-stay" in self.soft:
                    entries.append((self._add_fault("maximum-stay", person, (place,), first), -1))
                self.model.add_row(entries, upper=most)

    def _add_practice(self) -> None:
        for number, goal in enumerate(self.problem.goals):
            columns = [self.learns[number, t] for t in sorted(goal.possible)]
            self._add_wanted(goal.person, (goal.place,), columns, goal.wanted)
        for practice in self.problem.practices:
            columns = [
                self.holds[practice.person, place, t]
                for place in practice.places
                for t in sorted(self.problem.able[practice.person].get(place, ()))
            ]
            self._add_wanted(practice.person, practice.places, columns, practice.wanted)

    def _add_wanted(self, person: int, places: tuple[int, ...], columns: Sequence[int], wanted: int) -> None:
        entries: list[tuple[int, float]] = [(column, 1) for column in columns]
        if "practice" in self.soft:
            entries.append((self._add_fault("practice", person, places, -1, upper=wanted), 1))
        self.model.add_row(entries, lower=wanted)

    def _add_fault(self, rule: Rule, person: int, places: tuple[int, ...], first: int, *, upper: int = 1) -> int:
        column = self.model.add_variable(1, upper=upper)
        self.broken.append(BrokenRule(rule, person, places, first, column))
        return column
