"""Cross-training plans by trying every set of (person, course): slow, and written without the code it checks."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
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
    lead_weeks: int = 0
    weeks: int = 0
    is_off_job: bool = False


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


def find_last_week(
    levels: Levels, courses: Sequence[PlainCourse], pace: int, lost: Mapping[int, int] | None = None
) -> int | None:
    """Return the week in which the last of a person's courses ends (-1: none), or None where it never does.

    Week by week: a course is open after its lead time when the courses of earlier weeks meet its conditions; the
    minutes of the week, less those `lost` in it, go to the open courses, that with the most weeks behind it first,
    then the order in rounds of ids.
    """
    rounds: list[PlainCourse] = []
    left = sorted(courses, key=lambda course: course.id)
    while left:
        now = learn(levels, rounds)
        turn = [c for c in left if all(now.get(i, 0) >= level for i, level in c.conditions)]
        if not turn:
            return None
        rounds += turn
        left = [course for course in left if course not in turn]

    def helps(course: PlainCourse, other: PlainCourse) -> bool:
        return any(
            i == j and asked > levels.get(i, 0) and reached >= asked
            for i, asked in other.conditions
            for j, reached in course.outcomes
        )

    def get_tail(course: PlainCourse) -> float:
        own = max(float(course.weeks), course.minutes / pace if pace else 0.0)
        later = rounds[rounds.index(course) + 1 :]
        return own + max((get_tail(other) for other in later if helps(course, other)), default=0.0)

    order = sorted(rounds, key=lambda course: (-get_tail(course), rounds.index(course)))
    open_minutes = {course.id: course.minutes for course in order}
    begun: dict[str, int] = {}
    ended: dict[str, int] = {}
    for week in range(500):
        if len(ended) == len(order):
            return week - 1
        now = learn(levels, [course for course in order if ended.get(course.id, week) < week])
        hours = pace - (lost or {}).get(week, 0)
        for course in order:
            is_open = course.lead_weeks <= week and all(now.get(i, 0) >= level for i, level in course.conditions)
            spent = min(hours, open_minutes[course.id])
            if course.id in ended or not is_open or (open_minutes[course.id] and not spent):
                continue
            if course.id not in begun and pace and (lost or {}).get(week) == pace:
                continue
            begun.setdefault(course.id, week)
            open_minutes[course.id] -= spent
            hours -= spent
            if not open_minutes[course.id] and week - begun[course.id] + 1 >= course.weeks:
                ended[course.id] = week
    return None


def find_best_plan(
    people: dict[str, Levels],
    courses: Sequence[PlainCourse],
    goals: Sequence[PlainGoal],
    slots: Sequence[PlainSlots] = (),
    spare: int = 0,
    limit_minutes: int | None = None,
    *,
    may_take: Callable[[str, PlainCourse], bool] = lambda person, course: True,
    weeks: int | None = None,
    pace: int = 240,
    is_fair: bool = False,
    lost: Mapping[str, Mapping[int, int]] | None = None,
) -> tuple[int, int, int, int, tuple[tuple[str, str], ...]]:
    """Return missing people, minutes with coaches, cents, courses and the pairs of the best plan of all.

    `may_take` says who may take what; with `weeks` every person's courses end within so many; fair: the largest load
    comes right after the missing people. `lost`: person -> week -> minutes that absences take.
    """
    pairs = sorted((person, course.id) for person in people for course in courses if may_take(person, course))
    by_id = {course.id: course for course in courses}
    outcomes: dict[tuple[str, tuple[str, ...]], Levels] = {}
    ends: dict[tuple[str, tuple[str, ...]], int | None] = {}
    best: tuple[int, int, int, int, int, tuple[tuple[str, str], ...]] | None = None
    for chosen in chain.from_iterable(combinations(pairs, n) for n in range(len(pairs) + 1)):
        taken = [by_id[course] for _, course in chosen]
        sums = (
            sum(c.minutes + c.coach_minutes for c in taken),
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
                    find_last_week(people[person], own, pace, (lost or {}).get(person)) if weeks is not None else -1
                )
            after[person] = outcomes[person, ids]
            end = ends[person, ids]
            is_late |= weeks is not None and (end is None or end >= weeks)
        if is_late:
            continue
        value = (count_missing(goals, slots, spare, after), max(loads, default=0) if is_fair else 0, *sums, chosen)
        if best is None or value < best:
            best = value
    assert best is not None
    return best[0], *best[2:]
