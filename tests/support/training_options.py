"""Teams with something to learn, and their best plan by trying every combination of what each person can come to.

Larger than what trying every plan allows: of a person's sets of courses that come to the same levels the best will do.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction
from itertools import chain, combinations, product

from brute_training import Levels, PlainCourse, find_done_day, learn
from small_company import ON, build_competencies
from small_team import build_team, build_team_rows

from ontology.analysis.cover.presence import get_presence
from ontology.analysis.training.learners import TeamLearning, build_team_learning
from ontology.analysis.training.training_goals import TrainingGoals, build_goals
from ontology.analysis.training.training_rules import LearnerRules, TrainingAsked

COMPETENCIES = "abcde"

Fact = tuple[str, int]
Pairs = tuple[tuple[str, str], ...]
Best = tuple[int, int, int, int, int, int, Pairs]
"""Missing people, the largest load (0 unless it is an aim), minutes with coaches, courses that nobody coaches, cents,
courses, (person, course)."""


@dataclass(frozen=True)
class PlainTask:
    """What people hold, the courses, how many are wanted at each level, and the weeks until all has ended.

    `slots` are places, each with how many there are and the levels it asks; with `spare` people to lose, which then
    holds for the levels wanted, too.
    """

    people: dict[str, Levels]
    courses: tuple[PlainCourse, ...]
    wanted: dict[Fact, int]
    weeks: int | None = None
    slots: tuple[tuple[int, tuple[Fact, ...]], ...] = ()
    spare: int | None = None


def draw_task(
    seed: int, people: int = 3, courses: int = 6, *, weeks: int | None = None, spare: int | None = None
) -> PlainTask:
    """Return a task in which most courses teach two things and may wait for each other, now and then in a circle."""
    rng = random.Random(seed)
    ids = COMPETENCIES
    made = []
    for n in range(courses):
        outcomes = {c: rng.choice([1, 2, 2]) for c in rng.sample(ids, rng.choice([1, 2, 2]))}
        conditions = {c: 1 for c in rng.sample(ids, rng.choice([0, 0, 1])) if c not in outcomes}
        length = rng.choice([0, 0, 1, 3]) if weeks is not None else 0
        made.append(
            PlainCourse(
                f"c{n}",
                60 * rng.randint(2, 5),
                60 * rng.choice([0, 0, 1]),
                100 * rng.randint(0, 2),
                tuple(conditions.items()),
                tuple(outcomes.items()),
                weeks=Fraction(length),
            )
        )
    held = {f"p{n}": {c: 1 for c in ids if rng.random() < 0.2} for n in range(people)}
    wanted = {(c, rng.choice([1, 2, 2])): rng.randint(1, people) for c in sorted(rng.sample(ids, 4))}
    if spare is None:
        return PlainTask(held, tuple(made), wanted, weeks)
    slots = [(rng.choice([1, 1, 2]), tuple((c, rng.randint(1, 2)) for c in rng.sample(ids, 2))) for _ in range(3)]
    return PlainTask(held, tuple(made), dict(list(wanted.items())[:1]), weeks, tuple(slots), spare)


def build_training(task: PlainTask) -> tuple[TeamLearning, TrainingGoals]:
    """Return the same team as learners, and its goals."""
    courses = task.courses
    rows = build_team_rows(**task.people) | {"competencies": build_competencies(" ".join(COMPETENCIES))}
    snapshot = build_team(
        rows,
        cover_needs=[
            {"team": "t", "competency": c, "level": level, "minimum": n, "target": n}
            for (c, level), n in task.wanted.items()
        ],
        roles=[{"id": f"r{n}", "label": "r"} for n in range(len(task.slots))],
        requirements=[
            {"role": f"r{n}", "competency": c, "level": level}
            for n, (_, facts) in enumerate(task.slots)
            for c, level in facts
        ],
        places=[
            {"id": f"x{n}", "team": "t", "role": f"r{n}", "count": count} for n, (count, _) in enumerate(task.slots)
        ],
        courses=[
            {
                "id": course.id,
                "label": course.id,
                "hours": course.minutes / 60,
                "coach_hours": course.coach_minutes / 60,
                "cost": course.cents / 100,
                "weeks": float(course.weeks) or None,
            }
            for course in courses
        ],
        outcomes=[{"course": k.id, "competency": c, "level": level} for k in courses for c, level in k.outcomes],
        entry_conditions=[
            {"course": k.id, "competency": c, "level": level} for k in courses for c, level in k.conditions
        ],
    )
    presence = get_presence(snapshot, "t", ON)
    goals = build_goals(presence, task.spare, False)
    by = None if task.weeks is None else ON + timedelta(weeks=task.weeks)
    rules = LearnerRules(TrainingAsked(by=by), presence, ())
    return build_team_learning(presence, goals, rules), goals


def get_pairs(team: TeamLearning, plan: dict[str, frozenset[int]]) -> Pairs:
    """Return the sorted (person, course id) pairs of a plan."""
    return tuple(sorted((p, team.learners[p].offers[o].id) for p, operators in plan.items() for o in operators))


@dataclass(frozen=True, order=True)
class _Option:
    minutes: int
    uncoached: int
    cents: int
    count: int
    pairs: Pairs
    load: int
    levels: frozenset[Fact]


def _find_options(task: PlainTask, person: str) -> list[_Option]:
    """Return a person's sets of courses; of those that come to the same levels none that is worse in all."""
    held, by_levels = task.people[person], dict[frozenset[Fact], list[_Option]]()
    counted = {*task.wanted, *(fact for _, facts in task.slots for fact in facts)}
    sets = chain.from_iterable(combinations(task.courses, n) for n in range(len(task.courses) + 1))
    for chosen in sets:
        if task.weeks is not None:
            done = find_done_day(held, chosen)
            if done is None or done > 7 * task.weeks:
                continue
        after = learn(held, chosen)
        levels = frozenset(fact for fact in counted if after.get(fact[0], 0) >= fact[1])
        load = sum(course.minutes for course in chosen)
        option = _Option(
            load + sum(course.coach_minutes for course in chosen),
            sum(course.coach_minutes > 0 for course in chosen),
            sum(course.cents for course in chosen),
            len(chosen),
            tuple((person, course.id) for course in chosen),
            load,
            levels,
        )
        by_levels.setdefault(levels, []).append(option)
    kept = []
    for options in by_levels.values():
        least = None
        for option in sorted(options):
            if least is None or option.load < least:
                least = option.load
                kept.append(option)
    return kept


def _count_missing_for_slots(task: PlainTask, chosen: Sequence[_Option]) -> int:
    """Return how many people the scarcest set of slots lacks (Hall's condition, with some to spare)."""
    worst = 0
    for group in chain.from_iterable(combinations(task.slots, n) for n in range(1, len(task.slots) + 1)):
        able = sum(any(option.levels.issuperset(facts) for _, facts in group) for option in chosen)
        worst = max(worst, sum(count for count, _ in group) + (task.spare or 0) - able)
    return worst


def find_best_of_options(task: PlainTask, *, is_fair: bool = False) -> Best:
    """Return the best of all plans in every aim."""
    wanted = [(fact, n + (task.spare or 0)) for fact, n in task.wanted.items()]
    best: Best | None = None
    for chosen in product(*(_find_options(task, person) for person in sorted(task.people))):
        missing = sum(max(0, n - sum(fact in option.levels for option in chosen)) for fact, n in wanted)
        missing += _count_missing_for_slots(task, chosen)
        if best is not None and missing > best[0]:
            continue
        value = (
            missing,
            max(option.load for option in chosen) if is_fair else 0,
            sum(option.minutes for option in chosen),
            sum(option.uncoached for option in chosen),
            sum(option.cents for option in chosen),
            sum(option.count for option in chosen),
            tuple(chain.from_iterable(option.pairs for option in chosen)),
        )
        if best is None or value < best:
            best = value
    assert best is not None
    return best
