"""Needs and slots of a team closed at once, against a program of our own for SciPy's `milp` (HiGHS below it).

Written without landmarks: a level is reached at a rank, and a course asks for levels of a lower rank; people on slots
are a transportation problem. First fewest missing, then least minutes. Source of the ranks, from memory: Imai &
Fukunaga 2015, Journal of Artificial Intelligence Research 54 (integer programs for delete-free planning).
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from large_team import build_large_team
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix
from small_company import ON

from ontology.analysis.training.cross_training import plan_cross_training
from ontology.snapshot.snapshot import Snapshot

Fact = tuple[str, int]


class Program:
    """Variables and rows as they are written down."""

    def __init__(self) -> None:
        self.upper: list[float] = []
        self.whole: list[int] = []
        self.rows: list[tuple[dict[int, float], float, float]] = []

    def add(self, upper: float = 1.0, *, is_whole: bool = True) -> int:
        self.upper.append(upper)
        self.whole.append(int(is_whole))
        return len(self.upper) - 1

    def require(self, entries: dict[int, float], low: float = -np.inf, high: float = np.inf) -> None:
        self.rows.append((entries, low, high))

    def solve(self, costs: dict[int, float]) -> float:
        matrix = lil_matrix((len(self.rows), len(self.upper)))
        for n, (entries, _, _) in enumerate(self.rows):
            for column, value in entries.items():
                matrix[n, column] = value
        sides = np.array([(low, high) for _, low, high in self.rows])
        objective = np.array([costs.get(n, 0.0) for n in range(len(self.upper))])
        found = milp(
            objective,
            constraints=LinearConstraint(matrix.tocsc(), sides[:, 0], sides[:, 1]),
            bounds=Bounds(0, np.array(self.upper)),
            integrality=np.array(self.whole),
            options={"mip_rel_gap": 0.0},
        )
        assert found.status == 0
        return float(found.fun)


def add_learner(program: Program, snapshot: Snapshot, held: dict[str, int], costs: dict[int, float]) -> Any:
    """Add a person's courses; return what tells the variable of a level (True: held, False: nothing gives it)."""
    facts = {(c.competency, c.level) for k in snapshot.courses for c in snapshot.get_entry_conditions(k)}
    facts |= {(need.competency, need.level) for need in snapshot.get_cover_needs("t")}
    facts |= {(r.competency, r.level) for role in snapshot.roles for r in snapshot.get_requirements(role)}
    facts = {fact for fact in facts if held.get(fact[0], 0) < fact[1]}
    most = len(facts) + 1.0
    level = {fact: (program.add(), program.add(most, is_whole=False)) for fact in facts}
    given: dict[Fact, dict[int, float]] = {fact: {} for fact in facts}
    for course in snapshot.courses.values():
        taken = program.add()
        costs[taken] = round(60 * course.hours) + round(60 * course.coach_hours)
        asked = [level[f] for c in snapshot.get_entry_conditions(course.id) if (f := (c.competency, c.level)) in level]
        for known, _ in asked:
            program.require({known: 1, taken: -1}, low=0)
        for outcome in snapshot.get_outcomes(course.id):
            for fact, (_, rank) in level.items():
                if fact[0] != outcome.competency or fact[1] > outcome.level:
                    continue
                by = program.add()
                program.require({taken: 1, by: -1}, low=0)
                given[fact][by] = 1.0
                for _, before in asked:
                    program.require({rank: 1, before: -1, by: -most}, low=1 - most)
    for fact, (known, _) in level.items():
        program.require({**given[fact], known: -1}, low=0)
    return lambda fact: True if held.get(fact[0], 0) >= fact[1] else level[fact][0]


def find_fewest_and_least(snapshot: Snapshot, held: dict[str, dict[str, int]]) -> tuple[int, int]:
    """Return the fewest missing, and the least minutes with so few."""
    program, costs, missing = Program(), dict[int, float](), dict[int, float]()
    ways = {person: add_learner(program, snapshot, held[person], costs) for person in snapshot.people}
    for need in snapshot.get_cover_needs("t"):
        lacking = program.add(need.target)
        missing[lacking] = 1.0
        known = [way((need.competency, need.level)) for way in ways.values()]
        entries = {v: 1.0 for v in known if v is not True}
        program.require({**entries, lacking: 1.0}, low=need.target - sum(v is True for v in known))
    slots: dict[str, dict[int, float]] = {person: {} for person in ways}
    for place in snapshot.get_places("t"):
        empty = program.add(place.count)
        missing[empty] = 1.0
        row = {empty: 1.0}
        for person, way in ways.items():
            fills = program.add()
            row[fills] = slots[person][fills] = 1.0
            for requirement in snapshot.get_requirements(place.role):
                known = way((requirement.competency, requirement.unsupervised_level))
                if known is not True:
                    program.require({known: 1, fills: -1}, low=0)
        program.require(row, low=place.count)
    for own in slots.values():
        program.require(own, high=1)
    fewest = program.solve(missing)
    program.require(missing, high=round(fewest))
    return round(fewest), round(program.solve(costs))


@pytest.mark.parametrize(("seed", "courses"), [(0, 24), (1, 24), (2, 14), (3, 14)])
def test_needs_and_slots_are_closed_as_another_program_closes_them(seed: int, courses: int) -> None:
    team = build_large_team(seed, is_bundled=courses < 20, people=5, needs=4, courses=courses, competencies=8, places=3)
    held = {
        person: {a.competency: a.level for c in team.competencies for a in team.get_assessments(person, c)}
        for person in team.people
    }
    result = plan_cross_training(team, "t", ON)
    assert (result.missing, round(60 * result.total_hours)) == find_fewest_and_least(team, held)
    assert result.is_proved
