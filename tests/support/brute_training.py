"""Cross-training plans by trying every set of (person, course): slow, and written without the code it checks."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence, Set
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import chain, combinations, product
from math import ceil, floor

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
    lead_weeks: Fraction = Fraction(0)
    weeks: Fraction = Fraction(0)
    is_off_job: bool = False


@dataclass(frozen=True)
class PlainGoal:
    """`wanted` of `people` shall have the level."""

    competency: str
    level: int
    wanted: int
    people: frozenset[str]
    weight: int = 1


@dataclass(frozen=True)
class PlainSlots:
    """`count` slots for those of `people` who have all the levels; an empty one weighs `weight`."""

    count: int
    levels: tuple[tuple[str, int], ...]
    people: frozenset[str]
    weight: int = 1


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


def count_missing(
    goals: Sequence[PlainGoal], slots: Sequence[PlainSlots], spare: int | None, after: dict[str, Levels]
) -> int:
    """Return the people missing over all goals, and for the slots: empty ones, or for the scarcest set with a spare."""
    missing = sum(
        goal.weight * max(0, goal.wanted - sum(after[p].get(goal.competency, 0) >= goal.level for p in goal.people))
        for goal in goals
    )
    able = [{p for p in kind.people if all(after[p].get(i, 0) >= level for i, level in kind.levels)} for kind in slots]
    if spare is None:
        kinds = tuple((kind.count, kind.weight, frozenset(who)) for kind, who in zip(slots, able, strict=True))
        return missing + _count_empty(kinds)
    groups = chain.from_iterable(combinations(range(len(slots)), n) for n in range(1, len(slots) + 1))
    scarcest = (
        sum(slots[k].count for k in group) + spare - len(set[str]().union(*(able[k] for k in group)))
        for group in groups
    )
    return missing + max(0, max(scarcest, default=0))


@cache
def _count_empty(kinds: tuple[tuple[int, int, frozenset[str]], ...]) -> int:
    """Return the least weight of empty slots over all ways to give each person one slot or none."""
    people = sorted(frozenset[str]().union(*(able for _, _, able in kinds)))
    least = sum(count * weight for count, weight, _ in kinds)
    for choice in product(*([None, *(k for k, kind in enumerate(kinds) if p in kind[2])] for p in people)):
        empty = sum(max(0, count - choice.count(k)) * weight for k, (count, weight, _) in enumerate(kinds))
        least = min(least, empty)
    return least


def find_done_day(levels: Levels, courses: Sequence[PlainCourse], absent: Set[int] = frozenset()) -> int | None:
    """Return the day on which the last of a person's courses is done (0: none), or None where it never is.

    One after the other: that which can begin first, then the shortest, then by id. 40 hours are a week of seven days;
    nothing begins on an absent day; the hours of a course off the job are one piece, others stand still on such days.
    """
    left, done, clock = sorted(courses, key=lambda course: course.id), list[PlainCourse](), Fraction(0)
    while left:
        now = learn(levels, done)
        turn = [c for c in left if all(now.get(i, 0) >= level for i, level in c.conditions)]
        if not turn:
            return None
        _, _, _, course = min(
            (max(clock, 7 * course.lead_weeks), max(7 * course.weeks, get_work_days(course)), course.id, course)
            for course in turn
        )
        work = get_work_days(course)
        begin = max(clock, Fraction(7 * course.lead_weeks))
        while floor(begin) in absent or (
            course.is_off_job and any(day in absent for day in range(floor(begin), ceil(begin + work)))
        ):
            begin = Fraction(floor(begin) + 1)
        time = begin
        while work:
            if floor(time) in absent:
                time = Fraction(floor(time) + 1)
                continue
            step = min(work, floor(time) + 1 - time)
            time, work = time + step, work - step
        clock = max(time, begin + 7 * course.weeks)
        left.remove(course)
        done.append(course)
    return ceil(clock)


def get_work_days(course: PlainCourse) -> Fraction:
    """Return the days of a course's hours: 40 hours are seven days."""
    return Fraction(course.minutes, 60) / 40 * 7


def find_coached(levels: Mapping[str, Levels]) -> Callable[[str, PlainCourse], bool]:
    """Return whether each outcome of a course has somebody else of these people at its level."""
    return lambda person, course: all(
        any(levels[p].get(i, 0) >= level for p in levels if p != person) for i, level in course.outcomes
    )


def find_best_plan(
    people: dict[str, Levels],
    courses: Sequence[PlainCourse],
    goals: Sequence[PlainGoal],
    slots: Sequence[PlainSlots] = (),
    spare: int | None = 0,
    limit_minutes: int | None = None,
    *,
    may_take: Callable[[str, PlainCourse], bool] = lambda person, course: True,
    is_coached: Callable[[str, PlainCourse], bool] = lambda person, course: True,
    last_day: int | None = None,
    is_fair: bool = False,
    absent: Mapping[str, Set[int]] | None = None,
) -> tuple[int, int, int, int, tuple[tuple[str, str], ...]]:
    """Return missing people, minutes with coaches, cents, courses and the pairs of the best plan of all.

    `may_take` says who may take what, `is_coached` whose courses have coaches
    (before the cents); with `last_day` every person's courses are done by then; fair: the largest load
    comes right after the missing people. `absent`: person -> days of absence.
    """
    pairs = sorted((person, course.id) for person in people for course in courses if may_take(person, course))
    by_id = {course.id: course for course in courses}
    outcomes: dict[tuple[str, tuple[str, ...]], Levels] = {}
    ends: dict[tuple[str, tuple[str, ...]], int | None] = {}
    best: tuple[int, int, int, int, int, int, tuple[tuple[str, str], ...]] | None = None
    for chosen in chain.from_iterable(combinations(pairs, n) for n in range(len(pairs) + 1)):
        taken = [by_id[course] for _, course in chosen]
        sums = (
            sum(c.minutes + c.coach_minutes for c in taken),
            sum(bool(c.coach_minutes) and not is_coached(p, c) for (p, _), c in zip(chosen, taken, strict=True)),
            sum(c.cents for c in taken),
            len(taken),
        )
        mine = {person: tuple(course for other, course in chosen if other == person) for person in people}
        loads = [sum(by_id[course].minutes for course in ids) for ids in mine.values()]
        if limit_minutes is not None and any(load > limit_minutes for load in loads):
            continue
        after = {}
        is_late = False
        for person, ids in mine.items():
            if (person, ids) not in outcomes:
                own = [by_id[course] for course in ids]
                outcomes[person, ids] = learn(people[person], own)
                ends[person, ids] = (
                    0
                    if last_day is None
                    else find_done_day(people[person], own, (absent or {}).get(person, frozenset()))
                )
            after[person] = outcomes[person, ids]
            end = ends[person, ids]
            is_late |= last_day is not None and (end is None or end > last_day)
        if is_late:
            continue
        value = (count_missing(goals, slots, spare, after), max(loads, default=0) if is_fair else 0, *sums, chosen)
        if best is None or value < best:
            best = value
    assert best is not None
    return best[0], best[2], *best[4:]
