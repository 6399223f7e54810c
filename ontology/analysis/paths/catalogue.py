"""The courses as operators: a delete-free problem from records, in stages where a route has several moves. Pure.

A fact is a competency at a level at the end of a stage; it holds from then on. Only what is still open (above the
levels held) and can matter for a goal becomes a fact, so problems stay small. All sums are whole minutes and cents.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass

from ontology.analysis.engine.relaxed import RelaxedProblem, SideRow
from ontology.analysis.paths.aims import (
    DEFAULT_PACE,
    Aim,
    get_aim_order,
    get_cents,
    get_common_parts,
    get_minutes,
    get_whole_minutes,
)
from ontology.analysis.paths.offers import (
    Catalogue,
    Fact,
    Offer,
    build_catalogue,
    build_idle_offer,
    leave_out,
    reach_levels,
    take_offers,
)

__all__ = [
    "Aim",
    "Catalogue",
    "Fact",
    "Offer",
    "Stage",
    "StagedProblem",
    "build_catalogue",
    "build_idle_offer",
    "build_staged_problem",
    "get_aim_order",
    "get_cents",
    "get_minutes",
    "get_whole_minutes",
    "leave_out",
    "reach_levels",
    "take_offers",
]


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
    week_parts : int
        Costs in the aim "weeks" count parts of a week, so many to one.
    """

    problem: RelaxedProblem
    facts: tuple[tuple[str, int, int], ...]
    operators: tuple[tuple[Offer, int], ...]
    week_parts: int = 1


def build_staged_problem(
    catalogue: Catalogue,
    stages: Sequence[Stage],
    *,
    aims: Sequence[Aim] = ("hours",),
    stage_limit_minutes: int | None = None,
    booked: AbstractSet[str] = frozenset(),
    pace: float = DEFAULT_PACE,
) -> StagedProblem:
    """Return the problem of placing courses into stages so that each stage ends with its goals.

    Parameters
    ----------
    stages : sequence of Stage
        In the order of time; `held` never falls from one to the next.
    aims : sequence of {"hours", "cost", "courses", "weeks"}
        In the order in which they matter.
    stage_limit_minutes : int or None
        The most minutes of courses in each stage.
    booked : set of str
        Courses that cost nothing and are taken as soon as they can be; not together with `stage_limit_minutes`.
    pace : float
        Study hours a week, for the weeks of courses that name none.

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
    return _assemble(len(stages), needed, goals, chosen, aims, stage_limit_minutes, booked, pace)


def _assemble(
    stage_count: int,
    needed: set[tuple[str, int, int]],
    goals: frozenset[tuple[str, int, int]],
    chosen: Mapping[tuple[str, int], tuple[Offer, int]],
    aims: Sequence[Aim],
    stage_limit_minutes: int | None,
    booked: AbstractSet[str],
    pace: float,
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
    costs, week_parts = _build_costs([offer for offer, _ in operators], aims, pace)
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
        aims=costs,
        initial=frozenset(),
        goals=frozenset(numbers[goal] for goal in goals),
        is_free=tuple(offer.id in booked for offer, _ in operators) if booked else (),
        side_rows=tuple(rows),
    )
    return StagedProblem(problem, facts, operators, week_parts)


def _build_costs(offers: Sequence[Offer], aims: Sequence[Aim], pace: float) -> tuple[tuple[tuple[int, ...], ...], int]:
    """Return the costs of the offers in each aim, and into how many parts a week is divided."""
    by_aim: dict[Aim, tuple[int, ...]] = {
        "hours": tuple(offer.minutes for offer in offers),
        "cost": tuple(offer.cents for offer in offers),
        "courses": (1,) * len(offers),
    }
    parts = 1
    if "weeks" in aims:
        weeks = [offer.get_weeks(pace) for offer in offers]
        parts = get_common_parts(weeks)
        by_aim["weeks"] = tuple(round(value * parts) for value in weeks)
    return tuple(by_aim[aim] for aim in aims), parts
