"""The largest load made small, and among plans equal in every aim the one of the smallest ids. Pure.

May import the state of the search, the bound and the choice in whole numbers.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from typing import Final

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.engine.solver import INFINITY
from ontology.analysis.training.learners import Plan
from ontology.analysis.training.training_bound import TeamBound
from ontology.analysis.training.training_greedy import build_greedy_plan
from ontology.analysis.training.training_master import choose_operators
from ontology.analysis.training.training_rows import Row
from ontology.analysis.training.training_state import COURSES, LOAD, MISSING, TrainingState

__all__ = ["level_loads", "settle_ids"]

_ID_LIMIT: Final = 2000
"""Above this many (person, course) pairs that still matter the ids are not settled, only always the same."""


def level_loads(state: TrainingState, deadline: Deadline) -> bool:
    """Make the largest load of one learner the least, by halving what is open; tell whether it is proved."""
    loads = state.task.get_loads()
    step = math.gcd(*loads) or 1
    low = 0
    while state.value[LOAD] > low and not deadline.is_over():
        limit = (low + state.value[LOAD] - 1) // 2 // step * step
        is_possible = _find_plan_within(state, max(low, limit), loads, deadline)
        if is_possible is None:
            return False
        if not is_possible:
            low = max(low, limit) + step
    return state.value[LOAD] <= low


def _find_plan_within(state: TrainingState, limit: int, loads: Sequence[int], deadline: Deadline) -> bool | None:
    """Look for a plan that misses as few people with no load above a limit; None when time was up."""
    state.take(build_greedy_plan(state.team.limit_all(limit), state.goals))
    if state.value[LOAD] <= limit:
        return True
    caps = state.rows.build_load_rows(state.team.limit_all(limit).limits)
    allowed = [o for o in state.allowed if loads[o] <= limit]
    costs = state.get_costs(MISSING)
    most = state.value[MISSING]
    search = TeamBound(state.pool, costs, caps, most + (math.gcd(*costs) or 1), deadline, allowed)
    search.run(list, lambda _: search.upper)
    if search.lower > most:
        return False
    operators = search.get_candidates(most)
    while not deadline.is_over():
        state.look(search.x, (), state.value[MISSING])
        if state.value[LOAD] <= limit:
            return True
        named = {v: cost for v, cost in enumerate(state.get_costs(MISSING)) if cost}
        choice = choose_operators(state.pool, named, operators, caps, most, deadline)
        if choice.status == "infeasible":
            return False
        if not choice.values:
            return None
        state.find_broken(choice.values)
        if state.value[LOAD] <= limit:
            return True
    return None


def settle_ids(state: TrainingState, deadline: Deadline) -> None:
    """Make the sorted (person, course) pairs the smallest possible, all aims being kept.

    Notes
    -----
    A smaller choice of as many pairs holds, at the first place where it differs, a pair that comes before the one
    there. So one question settles it where there is no other plan: is there one with a pair of its own before the last
    of these? Where there is, the first place at which it can be is found by halving.
    """
    allowed = set(state.allowed)
    pairs = sorted(
        (part.person_id, course, part.first + n)
        for part in state.task.parts
        for n, course in enumerate(part.course_of)
        if course >= 0 and part.first + n in allowed
    )
    if len(pairs) <= _ID_LIMIT:
        _IdOrder(state, [operator for _, _, operator in pairs], deadline).settle()


class _IdOrder:
    """Courses that may be chosen, in the order of (person, course); the chosen ones up to some place are sure."""

    def __init__(self, state: TrainingState, order: list[int], deadline: Deadline) -> None:
        self._state = state
        self._order = order
        self._deadline = deadline
        self._sure = 0
        self._out: set[int] = set()

    def settle(self) -> None:
        """Find smaller choices until there is none, or time is up."""
        if not self._is_held(self._state.plan):
            # found before the problem lost what something else can stand in for: that is what is put in order
            held = self._find(self._state.get_caps(range(COURSES + 1), self._state.value), {})
            if held is None:
                return
            self._state.plan = held
        while self._sure < len(chosen := self._get_places(self._state.plan)):
            low, high, known = self._sure, len(chosen), dict[str, frozenset[int]]()
            while low < high:
                place = (low + high) // 2 if high < len(chosen) else high - 1
                plan = self._find_other(chosen, place, self._sure)
                if self._deadline.is_over():
                    return
                if plan is None:
                    low = place + 1
                else:
                    first = min(set(self._get_places(plan)).difference(chosen))
                    high, known = bisect_left(chosen, first), plan
            if low == len(chosen):
                return
            if low > self._sure:
                self._out.update(self._get_others(chosen, low - 1))
            self._sure = low
            is_smaller = self._get_places(known)[:low] == chosen[:low] and self._get_places(known) < chosen
            plan = known if is_smaller else self._find_other(chosen, low, low)
            if plan is not None:
                self._state.plan = plan
            elif not self._deadline.is_over():
                self._out.update(self._get_others(chosen, low))
                self._sure += 1
            else:
                return

    def _get_places(self, plan: Plan) -> list[int]:
        """Return the places of a plan's courses, rising."""
        operators = {
            part.first + n
            for part in self._state.task.parts
            for n, course in enumerate(part.course_of)
            if course >= 0 and course in plan.get(part.person_id, ())
        }
        return [place for place, operator in enumerate(self._order) if operator in operators]

    def _is_held(self, plan: Plan) -> bool:
        """Whether every course of a plan is among those that may be chosen."""
        return len(self._get_places(plan)) == sum(map(len, plan.values()))

    def _get_others(self, chosen: Sequence[int], place: int) -> list[int]:
        """Return the operators before the chosen one at a place that are not chosen and can be."""
        before = set(range(chosen[place])).difference(chosen)
        return [self._order[n] for n in sorted(before) if self._order[n] not in self._out]

    def _find_other(self, chosen: Sequence[int], place: int, sure: int) -> dict[str, frozenset[int]] | None:
        """Return a plan as good, with the sure ones, and one before the chosen one at a place; None: there is none."""
        state = self._state
        others = self._get_others(chosen, place)
        if not others:
            return None
        rows = [*state.get_caps(range(COURSES + 1), state.value), Row(tuple((o, 1) for o in others), lower=1)]
        rows += [Row(((self._order[n], 1),), lower=1) for n in chosen[:sure]]
        # few new ones, early: then the first place at which there is one is near
        costs = {operator: n + 1 for n, operator in enumerate(self._order)}
        costs |= {self._order[n]: 0 for n in chosen}
        return self._find(rows, costs)

    def _find(self, rows: list[Row], costs: dict[int, int]) -> dict[str, frozenset[int]] | None:
        """Return the plan of least cost within some rows; None: there is none, or time is up."""
        state = self._state
        operators = [operator for operator in state.allowed if operator not in self._out]
        while not self._deadline.is_over():
            choice = choose_operators(state.pool, costs, operators, rows, INFINITY, self._deadline)
            if not choice.values:
                return None
            if not state.find_broken(choice.values):
                return state.task.get_plan(v for v, value in choice.values.items() if value > 0.5)
        return None
