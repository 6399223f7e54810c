"""Seeded catalogues of courses as delete-free planning problems, shaped like real ones.

Several outcomes per course, a level covering all lower ones, entry conditions across competencies of the same
field, and bundles that cost less than the single courses they stand for. The sizes and shares are our own choice
(common practice, no source); nothing is taken from any catalogue.
"""

from __future__ import annotations

import random

from ontology.analysis.engine.relaxed import RelaxedProblem

LEVELS = 5


def build_catalogue(
    course_count: int,
    target_count: int,
    seed: int,
    *,
    competency_count: int | None = None,
    field_size: int = 40,
    bundle_share: float = 0.25,
    start_share: float = 0.15,
    hour_step_minutes: int = 15,
) -> RelaxedProblem:
    """Return a problem with `course_count` courses and `target_count` target levels.

    Parameters
    ----------
    course_count, target_count : int
    seed : int
    competency_count : int or None
        Competencies; by default one for six courses.
    field_size : int
        Competencies that lean on each other form a field of this many.
    bundle_share : float
        Share of courses with three to six outcomes and a lower price per outcome.
    start_share : float
        Share of competencies in which the person has some level already.
    hour_step_minutes : int
        Study time is a multiple of this many minutes.

    Returns
    -------
    RelaxedProblem
        Fact c * 5 + (level - 1) is level 1..5 of competency c; aims are minutes, cents and count.
    """
    rng = random.Random(seed)
    count = competency_count or max(target_count + 5, course_count // 6)

    def facts(competency: int, level: int) -> list[int]:
        return [competency * LEVELS + below for below in range(level)]

    def neighbour(competency: int) -> int:
        field = competency // field_size
        low, high = field * field_size, min(count, (field + 1) * field_size)
        # One condition in twelve crosses into another field.
        return rng.randrange(count) if rng.random() < 1 / 12 else rng.randrange(low, high)

    effort = [rng.uniform(3, 10) for _ in range(count)]
    conditions: list[frozenset[int]] = []
    effects: list[frozenset[int]] = []
    minutes: list[int] = []
    cents: list[int] = []
    for index in range(course_count):
        main = index % count if index < 2 * count else rng.randrange(count)
        is_bundle = rng.random() < bundle_share
        outcome_count = rng.randint(3, 6) if is_bundle else rng.choice((1, 1, 2))
        outcomes = {main: rng.choice((1, 2, 2, 3, 3, 4, 5))}
        while len(outcomes) < outcome_count:
            outcomes.setdefault(neighbour(main), rng.choice((1, 2, 2, 3, 3, 4)))
        entries: dict[int, int] = {}
        for competency, level in outcomes.items():
            if level >= 3 and rng.random() < 0.6:
                entries[competency] = level - rng.choice((1, 2))
        for _ in range(rng.choice((0, 0, 1, 1, 2))):
            other = neighbour(main)
            if other not in outcomes:
                entries[other] = rng.choice((1, 1, 2, 3))
        hours = sum(
            effort[competency] * (level - 0.7 * entries.get(competency, 0)) for competency, level in outcomes.items()
        )
        share = rng.uniform(0.45, 0.75) if is_bundle else rng.uniform(0.8, 1.3)
        steps = max(1, round(hours * share * 60 / hour_step_minutes))
        minutes.append(steps * hour_step_minutes)
        cents.append(rng.choice((0, 0, 5000, 9900)) + rng.randrange(10, 60) * 100 * outcome_count)
        conditions.append(frozenset(fact for c, level in entries.items() for fact in facts(c, level)[-1:]))
        effects.append(frozenset(fact for c, level in outcomes.items() for fact in facts(c, level)))
    initial = frozenset(
        fact for c in range(count) if rng.random() < start_share for fact in facts(c, rng.choice((1, 1, 2, 3)))
    )
    pool = rng.sample(range(count), min(count, 4 * target_count))
    reached = _reach_all(conditions, effects, initial)
    goals: set[int] = set()
    for competency in pool:
        fact = competency * LEVELS + rng.choice((2, 2, 3, 3)) - 0
        if len(goals) < target_count and fact in reached and fact not in initial:
            goals.add(fact)
    return RelaxedProblem(
        fact_count=count * LEVELS,
        operator_ids=tuple(f"course-{index:05d}" for index in range(course_count)),
        conditions=tuple(conditions),
        effects=tuple(effects),
        aims=(tuple(minutes), tuple(cents), (1,) * course_count),
        initial=initial,
        goals=frozenset(goals),
    )


def _reach_all(
    conditions: list[frozenset[int]], effects: list[frozenset[int]], initial: frozenset[int]
) -> frozenset[int]:
    reached = set(initial)
    while True:
        fresh = {
            fact
            for needed, given in zip(conditions, effects, strict=True)
            if needed <= reached
            for fact in given
            if fact not in reached
        }
        if not fresh:
            return frozenset(reached)
        reached |= fresh
