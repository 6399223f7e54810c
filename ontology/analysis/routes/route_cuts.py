"""A quick lower bound for reaching goals: disjoint shares of cost over cuts (LM-cut). Pure; imports nothing of ours.

Each round finds what the dearest goal costs at the least (h_max), and a zone around it that is entered only by
operators with a price; one of them is in every plan, so their least price counts, and is taken off all of them (Helmert
& Domshlak 2009, ICAPS 19, 162-169).
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

__all__ = ["CutNet", "CutShare"]


class CutShare(NamedTuple):
    """One of `operators` is in every plan that starts with nothing of the zone; `share` of its cost counts here.

    Without operators the goal cannot be reached and the share is infinite.
    """

    zone: list[int]
    operators: list[int]
    share: float


class CutNet:
    """A delete-free problem with nothing held at the start; facts and operators by number.

    Parameters
    ----------
    needs, effects : sequence of sequence of int
        Of each operator.
    goals : iterable of int
    """

    def __init__(
        self,
        fact_count: int,
        costs: Sequence[int],
        needs: Sequence[Sequence[int]],
        effects: Sequence[Sequence[int]],
        goals: Iterable[int],
    ) -> None:
        self._costs = costs
        self._needs = needs
        self._effects = effects
        self._goals = sorted(goals)
        self._left: list[int] = []
        self._achievers: list[list[int]] = [[] for _ in range(fact_count)]
        self._users: list[list[int]] = [[] for _ in range(fact_count)]
        for operator, (asked, given) in enumerate(zip(needs, effects, strict=True)):
            for fact in given:
                self._achievers[fact].append(operator)
            for fact in asked:
                self._users[fact].append(operator)

    def find_shares(self) -> list[CutShare]:
        """Return cuts whose shares add up to a lower bound of the cost of all goals.

        O(cuts x size log size).
        """
        state = _Values(self._needs, self._effects, self._users, list(self._costs))
        self._left = state.costs
        values, costs = state.values, state.costs
        found = []
        for goal in self._goals:
            if values[goal] == math.inf:
                zone, _ = self._grow_zone(goal, state, is_reachable=False)
                found.append(CutShare(zone, [], math.inf))
        while True:
            goal = max(self._goals, key=lambda g: values[g] if values[g] < math.inf else 0.0, default=-1)
            if goal < 0 or not 0 < values[goal] < math.inf:
                return found
            zone, entering = self._grow_zone(goal, state, is_reachable=True)
            share = min(costs[operator] for operator in entering)
            found.append(CutShare(zone, entering, share))
            state.lower(entering, share)

    def find_paid_plan(self) -> list[int] | None:
        """Return a plan of operators whose whole cost the shares found make up, in an order in which it can be taken.

        None of them can be left out. Where its cost is the sum of the shares no plan is cheaper. None where a goal
        cannot be reached. O(n^2 x rounds) for n such operators.
        """
        costs, goals = self._costs, set(self._goals)
        paid = [operator for operator, left in enumerate(self._left) if not left]
        kept = self._take(sorted(paid, key=lambda operator: (costs[operator], operator)))
        if not goals <= self._collect(kept):
            return None
        for operator in sorted(kept, key=lambda operator: (costs[operator], operator), reverse=True):
            fewer = self._take([other for other in kept if other != operator])
            if goals <= self._collect(fewer):
                kept = fewer
        return kept

    def _take(self, operators: Sequence[int]) -> list[int]:
        """Return the operators that can be taken, in an order in which they can be."""
        order: list[int] = []
        reached: set[int] = set()
        waiting = operators
        while True:
            later = []
            for operator in waiting:
                if reached.issuperset(self._needs[operator]):
                    reached.update(self._effects[operator])
                    order.append(operator)
                else:
                    later.append(operator)
            if len(later) == len(waiting):
                return order
            waiting = later

    def _collect(self, operators: Iterable[int]) -> set[int]:
        return {fact for operator in operators for fact in self._effects[operator]}

    def _grow_zone(self, goal: int, state: _Values, *, is_reachable: bool) -> tuple[list[int], list[int]]:
        """Return a zone around a goal and the operators that enter it from outside.

        An operator without a price (any, for a goal that cannot be reached) that would enter gets its dearest need
        into the zone. That need is no more at the start than the goal is, so the zone stays one.
        """
        zone, inside = [goal], {goal}
        entering: dict[int, None] = {}
        for fact in zone:  # grows
            for operator in self._achievers[fact]:
                if state.costs[operator] and is_reachable:
                    entering.setdefault(operator)
                elif inside.isdisjoint(self._needs[operator]):
                    inside.add(state.supporters[operator])
                    zone.append(state.supporters[operator])
        return zone, [operator for operator in entering if inside.isdisjoint(self._needs[operator])]


class _Values:
    """h_max of every fact, kept up to date while costs fall.

    Attributes
    ----------
    values : list of float
        Of each fact; infinite where it cannot be reached.
    costs : list of int
        Of each operator.
    supporters : list of int
        For each operator the dearest fact it needs, -1 where it needs none.
    """

    def __init__(
        self,
        needs: Sequence[Sequence[int]],
        effects: Sequence[Sequence[int]],
        users: Sequence[Sequence[int]],
        costs: list[int],
    ) -> None:
        self.costs = costs
        self.values: list[float] = [math.inf] * len(users)
        self.supporters = [-1] * len(costs)
        self._needs = needs
        self._effects = effects
        self._users = users
        self._base: list[float] = [math.inf if asked else 0.0 for asked in needs]
        self._queue: list[tuple[float, int]] = []
        waiting = [len(asked) for asked in needs]
        for operator, count in enumerate(waiting):
            if not count:
                self._offer(operator)
        queue, values = self._queue, self.values
        while queue:
            value, fact = heapq.heappop(queue)
            if value > values[fact]:
                continue
            for operator in users[fact]:
                waiting[operator] -= 1
                if not waiting[operator]:
                    self.supporters[operator] = fact
                    self._base[operator] = value
                    self._offer(operator)
        for operator, count in enumerate(waiting):
            if count:
                self.supporters[operator] = next(fact for fact in needs[operator] if values[fact] == math.inf)

    def _offer(self, operator: int) -> None:
        total = self._base[operator] + self.costs[operator]
        values = self.values
        for fact in self._effects[operator]:
            if total < values[fact]:
                values[fact] = total
                heapq.heappush(self._queue, (total, fact))

    def lower(self, operators: Iterable[int], share: int) -> None:
        """Take `share` off the costs of `operators`."""
        for operator in operators:
            self.costs[operator] -= share
            self._offer(operator)
        queue, values, supporters = self._queue, self.values, self.supporters
        while queue:
            value, fact = heapq.heappop(queue)
            if value > values[fact]:
                continue
            for operator in self._users[fact]:
                if supporters[operator] == fact:  # else its dearest need is as dear as before
                    dearest = max(self._needs[operator], key=values.__getitem__)
                    supporters[operator] = dearest
                    if values[dearest] < self._base[operator]:
                        self._base[operator] = values[dearest]
                        self._offer(operator)
