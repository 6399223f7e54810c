"""Disjunctive landmarks from zones: sets of facts that nobody enters but by one of a few operators.

May import the reduced task only. A zone is a set of facts, none of them there at the start. The first operator of a
plan that gives a fact of the zone has all its conditions outside. So one of the operators that give a fact of the
zone and need none of it is in every plan that reaches any fact of the zone. Such cuts: Bonet & Helmert 2010 (ECAI);
Haslum, Slaney & Thiebaux 2012 (ICAPS).
"""

from __future__ import annotations

import random
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from typing import NamedTuple

from ontology.analysis.engine.bits import iterate_bits
from ontology.analysis.engine.landmark_task import ReducedTask

__all__ = ["Cut", "CutFinder"]

_EPSILON = 1e-6
_THRESHOLDS = (1e-6, 0.26, 0.51, 0.76)
_PLATEAU = 3
_SHAKES = 4
_MUST_LEAVE = 1e6
"""A free operator may not be a member: one of its conditions has to go into the zone."""


class Cut(NamedTuple):
    """The row: sum of x over `members` >= y of `fact`, where y = 1 says that the plan needs the fact.

    `members` are paid operators in rising order. A row for a fact instead of for each operator that needs it serves
    all of them at once.
    """

    fact: int
    members: tuple[int, ...]


class CutFinder:
    """Finds cuts that a given vector breaks.

    Parameters
    ----------
    fact_costs : sequence of float, length fact_count
        An estimate of what each fact costs; zones keep to the dearer side.
    """

    def __init__(self, task: ReducedTask, fact_costs: Sequence[float]) -> None:
        self._task = task
        self._fact_costs = fact_costs
        self._active: frozenset[int] = frozenset(range(task.paid_count))
        self._active_achievers: dict[int, list[int]] = {}

    def set_active(self, operators: Collection[int]) -> None:
        """Let zones grow around these paid operators alone; the others then stand among the members.

        A zone that minds the whole catalogue is large and its cut weak; one that minds the operators in play is
        small, and the solver asks for the others when their price is right.
        """
        self._active = frozenset(operators)
        self._active_achievers.clear()

    def _get_active_achievers(self, fact: int) -> list[int]:
        line = self._active_achievers.get(fact)
        if line is None:
            active, paid = self._active, self._task.paid_count
            line = [o for o in self._task.achievers[fact] if o in active or o >= paid]
            self._active_achievers[fact] = line
        return line

    def build_first_cut(self, fact: int) -> Cut:
        """Return the cut of the smallest zone around `fact`: itself, and what free operators make it take in."""
        task, costs = self._task, self._fact_costs
        zone, stack = 1 << fact, [fact]
        while stack:
            for operator in task.achievers[stack.pop()]:
                if operator >= task.paid_count and not task.implied[operator] & zone:
                    dearest = min(task.conditions[operator], key=lambda other: (-costs[other], other))
                    zone |= 1 << dearest
                    stack.append(dearest)
        return self.build_cut(fact, zone)

    def build_cut(self, fact: int, zone: int) -> Cut:
        """Return the cut of a zone over the whole catalogue. O(achievers of the zone).

        No free operator may enter the zone from outside.
        """
        task = self._task
        implied, paid = task.implied, task.paid_count
        members = {
            operator
            for other in iterate_bits(zone)
            for operator in task.achievers[other]
            if not implied[operator] & zone and operator < paid
        }
        return Cut(fact, tuple(sorted(members)))

    def find_cuts(self, x: Mapping[int, float], y: Mapping[int, float]) -> list[Cut]:
        """Return different cuts that x and y break.

        Parameters
        ----------
        x : mapping from paid operator to value
            Operators with a value above 0; all of them active.
        y : mapping from fact to value
            How much each fact is needed, where above 0.

        Returns
        -------
        list of Cut
            Never empty if x and y are whole and the operators of x do not reach some fact of y.

        Notes
        -----
        Descent first, since its zones are the tightest: it most often leaves no gap between the linear program and
        whole numbers. What it misses, zones of unreached facts find.
        """
        supporters = self._get_supporters(x)
        found: dict[Cut, None] = {}
        done = 0
        for fact in sorted(y, key=lambda fact: (-y[fact], fact)):
            if not done >> fact & 1:
                zone, value = self._descend(fact, x, supporters)
                if value < y[fact] - _EPSILON:
                    found[self.build_cut(fact, zone)] = None
                    done |= zone
        return list(found) or self._find_shaken_cuts(x, y, supporters) or self.find_reach_cuts(x, y, _THRESHOLDS)

    def _find_shaken_cuts(
        self, x: Mapping[int, float], y: Mapping[int, float], supporters: list[list[int]]
    ) -> list[Cut]:
        """Return broken cuts that descents at slightly different values find; the seed is fixed."""
        implied = self._task.implied
        found: dict[Cut, None] = {}
        rng = random.Random(1)
        for _ in range(_SHAKES):
            shaken = {operator: value * rng.uniform(0.7, 1.3) for operator, value in x.items()}
            for fact in y:
                zone, _ = self._descend(fact, shaken, supporters)
                members = {o for f in iterate_bits(zone) for o in supporters[f] if not implied[o] & zone}
                if sum(x[operator] for operator in members) < y[fact] - _EPSILON:
                    found[self.build_cut(fact, zone)] = None
        return list(found)

    def _get_supporters(self, x: Mapping[int, float]) -> list[list[int]]:
        """Return for each fact the operators of `x`, and the free ones, that give it."""
        supporters: list[list[int]] = [[] for _ in range(self._task.fact_count)]
        for operator in [*x, *range(self._task.paid_count, len(self._task.sources))]:
            for fact in self._task.effects[operator]:
                supporters[fact].append(operator)
        return supporters

    def _descend(self, fact: int, x: Mapping[int, float], supporters: list[list[int]]) -> tuple[int, float]:
        """Return a zone around `fact` and the value of its members, lowered one condition at a time.

        Taking a fact into the zone drops the members that need it, and brings those that give it; the one that
        lowers the value most goes in, a few times also one that leaves it as it is.
        """
        implied, paid, costs = self._task.implied, self._task.paid_count, self._fact_costs
        zone, members, plateau = 0, set[int](), 0
        best = fact
        while True:
            zone |= 1 << best
            members = {operator for operator in members if not implied[operator] >> best & 1}
            members.update(operator for operator in supporters[best] if not implied[operator] & zone)
            changes: dict[int, float] = {}
            for operator in members:
                value = x[operator] if operator < paid else _MUST_LEAVE
                for other in iterate_bits(implied[operator]):
                    changes[other] = changes.get(other, 0.0) - value
            choice = (_EPSILON, 0.0, -1)
            for other, change in changes.items():
                for operator in supporters[other]:
                    if operator not in members and not implied[operator] & (zone | 1 << other):
                        change += x[operator] if operator < paid else 0.0
                choice = min(choice, (change, -costs[other], other))
            plateau += choice[0] > -_EPSILON
            if choice[2] < 0 or plateau > _PLATEAU:
                return zone, sum(x[operator] for operator in members)
            best = choice[2]

    def _grow_zone(self, fact: int, unreached: int, key: Callable[[int], tuple[float, float, int]]) -> int:
        """Return a zone around `fact` that active operators enter only from reached facts.

        An operator that gives a fact of the zone and waits for an unreached one takes one such condition (the
        smallest by `key`) into the zone. Free operators always have one, else their effects would be reached.
        """
        implied = self._task.implied
        zone = 1 << fact
        stack = [fact]
        while stack:
            for operator in self._get_active_achievers(stack.pop()):
                if implied[operator] & zone:
                    continue
                choices = implied[operator] & unreached
                if choices:
                    best = min(iterate_bits(choices), key=key) if choices & (choices - 1) else choices.bit_length() - 1
                    zone |= 1 << best
                    stack.append(best)
        return zone

    def find_reach_cuts(
        self,
        x: Mapping[int, float],
        y: Mapping[int, float],
        thresholds: Iterable[float],
        *,
        is_thorough: bool = False,
    ) -> list[Cut]:
        """Return different cuts that x and y break, from zones of facts that are not reached.

        Parameters
        ----------
        x : mapping from paid operator to value
            Operators with a value above 0.
        y : mapping from fact to value
            How much each fact is needed, where above 0.
        thresholds : iterable of float
            For each, what the operators of at least this value reach is taken as given.
        is_thorough : bool
            Grow a zone around every unreached fact, and by two rules; otherwise facts inside an earlier zone of the
            same threshold are left for the next call.

        Returns
        -------
        list of Cut
            Never empty if x and y are whole, some fact of y is not reached by the operators of x, all operators of x
            are active, and there is a threshold between 0 and 1.
        """
        task = self._task
        weight = [0.0] * task.fact_count
        for operator, value in x.items():
            for fact in task.effects[operator]:
                weight[fact] += value
        costs = self._fact_costs
        keys: list[Callable[[int], tuple[float, float, int]]] = [lambda fact: (weight[fact], -costs[fact], fact)]
        if is_thorough:
            keys.append(lambda fact: (-costs[fact], weight[fact], fact))
        everything = (1 << task.fact_count) - 1
        targets = sorted(y, key=lambda fact: (-y[fact], fact))
        found: dict[Cut, None] = {}
        for threshold in thresholds:
            strong = [operator for operator, value in x.items() if value >= threshold]
            unreached = everything & ~task.get_reached(strong)
            done = 0
            for fact in targets:
                if not unreached >> fact & 1 or done >> fact & 1:
                    continue
                for key in keys:
                    zone = self._grow_zone(fact, unreached, key)
                    cut = self.build_cut(fact, zone)
                    if sum(x.get(member, 0.0) for member in cut.members) < y[fact] - _EPSILON:
                        found[cut] = None
                        done |= 0 if is_thorough else zone
        return list(found)
