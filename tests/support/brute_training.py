"""Cross-training plans by trying every set of (person, course): slow, and written without the code it checks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain, combinations

Levels = dict[str, int]


@dataclass(frozen=True)
class PlainCourse:
    """A course as plain numbers; `conditions` and `outcomes` are (competency, level)."""

    id: str
    minutes: int
    coach_minutes: int
    cents: int
    conditions: tuple[tuple[str, int], ...]
    outcomes: tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class PlainGoal:
    """`wanted` of `people` shall have the level."""

    competency: str
    level: int
    wanted: int
    people: frozenset[str]


@dataclass(frozen=True)
class PlainSlots:
    """`count` slots for those of `people` who have all the levels."""

    count: int
    levels: tuple[tuple[str, int], ...]
    people: frozenset[str]


def learn(levels: Levels, courses: Sequence[PlainCourse]) -> Levels:
    """Return the levels after as many of the courses as can be taken."""
    after = dict(levels)
    changed = True
    while changed:
        changed = False
        for course in courses:
            if all(after.get(i, 0) >= level for i, level in course.conditions):
                for i, level in course.outcomes:
                    if after.get(i, 0) < level:
                        after[i] = level
                        changed = True
    return after


def count_missing(goals: Sequence[PlainGoal], slots: Sequence[PlainSlots], spare: int, after: dict[str, Levels]) -> int:
    """Return the people missing over all goals, and for the scarcest set of slots."""
    missing = sum(
        max(0, goal.wanted - sum(after[p].get(goal.competency, 0) >= goal.level for p in goal.people)) for goal in goals
    )
    able = [{p for p in kind.people if all(after[p].get(i, 0) >= level for i, level in kind.levels)} for kind in slots]
    groups = chain.from_iterable(combinations(range(len(slots)), n) for n in range(1, len(slots) + 1))
    scarcest = (
        sum(slots[k].count for k in group) + spare - len(set[str]().union(*(able[k] for k in group)))
        for group in groups
    )
    return missing + max(0, max(scarcest, default=0))


def find_best_plan(
    people: dict[str, Levels],
    courses: Sequence[PlainCourse],
    goals: Sequence[PlainGoal],
    slots: Sequence[PlainSlots] = (),
    spare: int = 0,
    limit_minutes: int | None = None,
) -> tuple[int, int, int, int, tuple[tuple[str, str], ...]]:
    """Return missing people, minutes with coaches, cents, courses and the pairs of the best plan of all."""
    pairs = sorted((person, course.id) for person in people for course in courses)
    by_id = {course.id: course for course in courses}
    outcomes: dict[tuple[str, tuple[str, ...]], Levels] = {}
    best: tuple[int, int, int, int, tuple[tuple[str, str], ...]] | None = None
    for chosen in chain.from_iterable(combinations(pairs, n) for n in range(len(pairs) + 1)):
        taken = [by_id[course] for _, course in chosen]
        sums = (
            sum(c.minutes + c.coach_minutes for c in taken),
            sum(c.cents for c in taken),
            len(taken),
        )
        mine = {person: tuple(course for other, course in chosen if other == person) for person in people}
        if limit_minutes is not None and any(
            sum(by_id[course].minutes for course in ids) > limit_minutes for ids in mine.values()
        ):
            continue
        after = {}
        for person, ids in mine.items():
            if (person, ids) not in outcomes:
                outcomes[person, ids] = learn(people[person], [by_id[course] for course in ids])
            after[person] = outcomes[person, ids]
        value = (count_missing(goals, slots, spare, after), *sums, chosen)
        if best is None or value < best:
            best = value
    assert best is not None
    return best
