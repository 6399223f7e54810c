"""The courses as operators: a delete-free problem from records, in stages where a route has several moves. Pure.

A fact is a competency at a level at the end of a stage; it holds from then on. Only what is still open (above the
levels held) and can matter for a goal becomes a fact, so problems stay small. All sums are whole minutes and cents.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal
from weakref import WeakKeyDictionary

from ontology.analysis.levels import Profile
from ontology.analysis.relaxed import RelaxedProblem, SideRow
from ontology.graph.snapshot import Snapshot
from ontology.records import Course

__all__ = [
    "Aim",
    "Catalogue",
    "Fact",
    "Offer",
    "Stage",
    "StagedProblem",
    "build_catalogue",
    "build_staged_problem",
    "get_aim_order",
    "get_cents",
    "get_minutes",
    "get_whole_minutes",
    "reach_levels",
    "take_offers",
]

Aim = Literal["hours", "cost", "courses"]
Fact = tuple[str, int]

_AIM_ORDERS: Final[dict[str, tuple[Aim, Aim, Aim]]] = {
    "hours": ("hours", "cost", "courses"),
    "cost": ("cost", "hours", "courses"),
    "courses": ("courses", "hours", "cost"),
}


def get_minutes(hours: float) -> int:
    """Return hours as whole minutes."""
    return round(hours * 60)


def get_whole_minutes(hours_limit: float) -> int | None:
    """Return the most whole minutes within a limit of hours; None where the limit is infinite."""
    if math.isinf(hours_limit):
        return None
    # the rounding keeps 0.1 h at 6 minutes although 0.1 * 60 may fall just below
    return math.floor(round(hours_limit * 60, 6))


def get_cents(cost: float) -> int:
    """Return money as whole hundredths."""
    return round(cost * 100)


def get_aim_order(minimise: Aim) -> tuple[Aim, Aim, Aim]:
    """Return the aims in the order in which they matter: the one asked for first, then hours, cost, courses."""
    return _AIM_ORDERS[minimise]


@dataclass(frozen=True, slots=True)
class Offer:
    """A course as one profile can use it: `effects` leaves out renewing outcomes that are of no use to it."""

    id: str
    minutes: int
    cents: int
    conditions: tuple[Fact, ...]
    effects: tuple[Fact, ...]

    def get_cost(self, aim: Aim) -> int:
        """Return what it costs in an aim: minutes, cents, or 1."""
        if aim == "hours":
            return self.minutes
        return self.cents if aim == "cost" else 1


@dataclass(frozen=True)
class Catalogue:
    """The offers usable by a profile, by course id, and which of them reach a level of a competency."""

    offers: tuple[Offer, ...]
    by_competency: Mapping[str, tuple[tuple[int, Offer], ...]]

    def get_achievers(self, competency_id: str, level: int) -> list[Offer]:
        """Return the offers that reach at least this level of the competency, by course id."""
        return [offer for reached, offer in self.by_competency.get(competency_id, ()) if reached >= level]


def _build(offers: Iterable[Offer]) -> Catalogue:
    kept = tuple(offers)
    index: dict[str, list[tuple[int, Offer]]] = {}
    for offer in kept:
        for competency_id, level in offer.effects:
            index.setdefault(competency_id, []).append((level, offer))
    return Catalogue(kept, {key: tuple(group) for key, group in index.items()})


_PLAIN: WeakKeyDictionary[Snapshot, Catalogue] = WeakKeyDictionary()


def _build_offer(snapshot: Snapshot, course: Course, renewable: Mapping[str, int]) -> Offer | None:
    effects = tuple(
        (outcome.competency, outcome.level)
        for outcome in snapshot.get_outcomes(course.id)
        if not outcome.renews or renewable.get(outcome.competency, 0) >= outcome.level
    )
    if not effects:
        return None
    conditions = tuple((c.competency, c.level) for c in snapshot.get_entry_conditions(course.id))
    return Offer(course.id, get_minutes(course.hours), get_cents(course.cost), conditions, effects)


def build_catalogue(snapshot: Snapshot, profile: Profile) -> Catalogue:
    """Return the courses that are of use to a profile, by id.

    A renewing outcome counts where the profile lost that level lately enough. Where it still holds the level the
    outcome adds nothing, and is left out too. A course all of whose outcomes are left out is left out.

    Notes
    -----
    O(size of the courses); for profiles with nothing to renew it is built once for a Snapshot.
    """
    if not profile.renewable:
        known = _PLAIN.get(snapshot)
        if known is not None:
            return known
    offers = (_build_offer(snapshot, course, profile.renewable) for course in snapshot.courses.values())
    catalogue = _build(offer for offer in offers if offer is not None)
    if not profile.renewable:
        _PLAIN[snapshot] = catalogue
    return catalogue


def reach_levels(catalogue: Catalogue, held: Mapping[str, int]) -> dict[str, int]:
    """Return the highest level of every competency that all offers together reach from the levels held.

    O(rounds x size), with at most as many rounds as offers; few in practice.
    """
    return take_offers(catalogue.offers, held)


def take_offers(offers: Sequence[Offer], held: Mapping[str, int]) -> dict[str, int]:
    """Return the levels after all of these offers that can be taken from the levels held, in some order."""
    levels = dict(held)
    waiting = offers
    while True:
        later: list[Offer] = []
        for offer in waiting:
            if all(levels.get(i, 0) >= level for i, level in offer.conditions):
                for competency_id, level in offer.effects:
                    if level > levels.get(competency_id, 0):
                        levels[competency_id] = level
            else:
                later.append(offer)
        if len(later) == len(waiting):
            return levels
        waiting = later


@dataclass(frozen=True, slots=True)
class Stage:
    """The time before one move: `held` are the levels there without courses, `goals` what must hold at its end."""

    held: Mapping[str, int]
    goals: frozenset[Fact]


@dataclass(frozen=True)
class StagedProblem:
    """A problem for the planner and what its operators mean.

    Attributes
    ----------
    problem : RelaxedProblem
        Nothing is there at the start: only open facts are facts.
    facts : tuple of (competency, level, stage)
    operators : tuple of (offer, stage)
        In the order of operator ids.
    """

    problem: RelaxedProblem
    facts: tuple[tuple[str, int, int], ...]
    operators: tuple[tuple[Offer, int], ...]


def build_staged_problem(
    catalogue: Catalogue,
    stages: Sequence[Stage],
    *,
    aims: Sequence[Aim] = ("hours",),
    stage_limit_minutes: int | None = None,
) -> StagedProblem:
    """Return the problem of placing courses into stages so that each stage ends with its goals.

    Parameters
    ----------
    catalogue : Catalogue
    stages : sequence of Stage
        In the order of time; `held` never falls from one to the next.
    aims : sequence of {"hours", "cost", "courses"}
        In the order in which they matter.
    stage_limit_minutes : int or None
        The most minutes of courses in each stage.

    Returns
    -------
    StagedProblem
        A course in a stage gives its levels to this stage and all later ones. Operator ids are the course ids
        where there is one stage; otherwise "course n" with n counting stages from the last, so that the
        smallest ids place a course as late as the aims allow.

    Notes
    -----
    Works backwards from the goals: O(size of what can matter x stages).
    """
    needed: set[tuple[str, int, int]] = set()
    chosen: dict[tuple[str, int], tuple[Offer, int]] = {}
    stack = [
        (i, level, k) for k, stage in enumerate(stages) for i, level in stage.goals if level > stage.held.get(i, 0)
    ]
    goals = frozenset(stack)
    needed.update(stack)
    while stack:
        competency_id, level, last = stack.pop()
        for offer in catalogue.get_achievers(competency_id, level):
            for k in range(last, -1, -1):
                if (offer.id, k) in chosen:
                    continue
                chosen[offer.id, k] = (offer, k)
                held = stages[k].held
                for i, asked in offer.conditions:
                    fact = (i, asked, k)
                    if asked > held.get(i, 0) and fact not in needed:
                        needed.add(fact)
                        stack.append(fact)
    return _assemble(len(stages), needed, goals, chosen, aims, stage_limit_minutes)


def _assemble(
    stage_count: int,
    needed: set[tuple[str, int, int]],
    goals: frozenset[tuple[str, int, int]],
    chosen: Mapping[tuple[str, int], tuple[Offer, int]],
    aims: Sequence[Aim],
    stage_limit_minutes: int | None,
) -> StagedProblem:
    facts = tuple(sorted(needed))
    numbers = {fact: number for number, fact in enumerate(facts)}
    thresholds: dict[str, list[tuple[int, int, int]]] = {}
    for number, (competency_id, level, k) in enumerate(facts):
        thresholds.setdefault(competency_id, []).append((level, k, number))

    def get_id(offer: Offer, k: int) -> str:
        return offer.id if stage_count == 1 else f"{offer.id} {stage_count - 1 - k:04d}"

    operators = tuple(sorted(chosen.values(), key=lambda pair: get_id(*pair)))
    rows = []
    if stage_limit_minutes is not None:
        for k in range(stage_count):
            minutes = tuple((n, offer.minutes) for n, (offer, at) in enumerate(operators) if at == k and offer.minutes)
            if sum(m for _, m in minutes) > stage_limit_minutes:
                rows.append(SideRow(minutes, stage_limit_minutes))
    problem = RelaxedProblem(
        fact_count=len(facts),
        operator_ids=tuple(get_id(offer, k) for offer, k in operators),
        conditions=tuple(
            frozenset(numbers[i, level, k] for i, level in offer.conditions if (i, level, k) in numbers)
            for offer, k in operators
        ),
        effects=tuple(
            frozenset(
                number
                for i, reached in offer.effects
                for level, at, number in thresholds.get(i, ())
                if level <= reached and at >= k
            )
            for offer, k in operators
        ),
        aims=tuple(tuple(offer.get_cost(aim) for offer, _ in operators) for aim in aims),
        initial=frozenset(),
        goals=frozenset(numbers[goal] for goal in goals),
        side_rows=tuple(rows),
    )
    return StagedProblem(problem, facts, operators)
