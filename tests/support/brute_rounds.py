"""Rounds of assessments the slow way: every assignment tried, and a program of whole choices with another solver.

Both speak of choices (who together assesses a row), where the analysis speaks of each assessor by themselves.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations, product

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from ontology.analysis.assessing.round_problem import Assignment, RoundProblem
from ontology.analysis.assessing.round_rows import RoundRow

#: Stands for nobody: after every id.
NOBODY = "~"


def list_choices(row: RoundRow) -> list[tuple[str, ...]]:
    """Return who may assess a row together, the first that is to be taken first: nobody last."""
    sets = [group for size in range(row.wanted + 1) for group in combinations(row.able, size)]
    return sorted(sets, key=lambda group: (*group, *[NOBODY] * (row.wanted - len(group))))


def find_by_trying(problem: RoundProblem) -> tuple[tuple[int, int, int, int], Assignment]:
    """Return the best values and the first of the best assignments, of all that keep the rules."""
    best = None
    for numbers in product(*(range(len(list_choices(row))) for row in problem.rows)):
        chosen = tuple(list_choices(row)[n] for row, n in zip(problem.rows, numbers, strict=True))
        value = _judge(problem, chosen)
        if value is not None and (best is None or (value, numbers) < best[:2]):
            best = value, numbers, chosen
    assert best is not None
    return best[0], best[2]


def _judge(problem: RoundProblem, chosen: Assignment) -> tuple[int, int, int, int] | None:
    loads: defaultdict[str, int] = defaultdict(int)
    pairs = set()
    unserved = missing = 0
    for row, group in zip(problem.rows, chosen, strict=True):
        unserved += group == ()
        missing += row.wanted - len(group)
        for assessor in group:
            loads[assessor] += row.minutes
            pairs.add((row.person, assessor))
    if any(minutes > problem.capacity[i] for i, minutes in loads.items()):
        return None
    if any((assessor, person) in pairs for person, assessor in pairs):
        return None
    return unserved, missing, max(loads.values(), default=0), len(pairs)


class ChoiceProgram:
    """The same as a program over choices, solved by scipy's solver: aim by aim, then row by row."""

    def __init__(self, problem: RoundProblem) -> None:
        self.problem = problem
        self.choices = [list_choices(row) for row in problem.rows]
        self.columns = [(r, n) for r, group in enumerate(self.choices) for n in range(len(group))]
        self.pairs = sorted({(row.person, i) for row in problem.rows for i in row.able})
        self.n = len(self.columns) + len(self.pairs) + 1
        self.lines: list[tuple[dict[int, float], float, float]] = list(self._iterate_rules())

    def _pair(self, pair: tuple[str, str]) -> int:
        return len(self.columns) + self.pairs.index(pair)

    def _iterate_rules(self) -> Iterator[tuple[dict[int, float], float, float]]:
        loads: defaultdict[str, dict[int, float]] = defaultdict(dict)
        for r, row in enumerate(self.problem.rows):
            mine = {n: column for column, (of, n) in enumerate(self.columns) if of == r}
            yield dict.fromkeys(mine.values(), 1.0), 1, 1
            for n, column in mine.items():
                for i in self.choices[r][n]:
                    loads[i][column] = row.minutes
                    yield {column: 1.0, self._pair((row.person, i)): -1.0}, -np.inf, 0
        for i, line in loads.items():
            yield line, -np.inf, self.problem.capacity[i]
            yield line | {self.n - 1: -1.0}, -np.inf, 0
        for person, i in self.pairs:
            if (i, person) in self.pairs:
                yield {self._pair((person, i)): 1.0, self._pair((i, person)): 1.0}, -np.inf, 1

    def solve(self, costs: dict[int, float]) -> int:
        """Return the least cost, and keep to it."""
        vector = np.zeros(self.n)
        for column, cost in costs.items():
            vector[column] = cost
        matrix = np.zeros((len(self.lines), self.n))
        for line, (entries, _, _) in enumerate(self.lines):
            for column, value in entries.items():
                matrix[line, column] = value
        rules = LinearConstraint(matrix, [low for _, low, _ in self.lines], [high for _, _, high in self.lines])
        upper = np.ones(self.n)
        upper[-1] = max(self.problem.capacity.values(), default=0)
        found = milp(vector, constraints=rules, bounds=Bounds(0, upper), integrality=np.ones(self.n))
        assert found.success, found.message
        self.x = np.round(found.x)
        value = round(float(vector @ self.x))
        self.lines.append((dict(costs), -np.inf, value))
        return value

    def run(self) -> tuple[tuple[int, int, int, int], Assignment]:
        """Return the best values and the first of the best assignments."""
        rows = self.problem.rows
        group = {column: self.choices[r][n] for column, (r, n) in enumerate(self.columns)}
        wanted = {column: rows[r].wanted for column, (r, _) in enumerate(self.columns)}
        values = (
            self.solve({column: 1.0 for column in group if not group[column]}),
            self.solve({column: wanted[column] - len(group[column]) for column in group}),
            self.solve({self.n - 1: 1.0}),
            self.solve({self._pair(pair): 1.0 for pair in self.pairs}),
        )
        for r in range(len(rows)):
            self.solve({column: n for column, (of, n) in enumerate(self.columns) if of == r})
        chosen = {r: group[column] for column, (r, _) in enumerate(self.columns) if self.x[column]}
        return values, tuple(chosen[r] for r in range(len(rows)))
