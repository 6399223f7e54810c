"""Small teams with courses to learn by, drawn from a seed, and every plan of theirs tried."""

from __future__ import annotations

import random
from collections.abc import Iterator
from itertools import chain, combinations, product
from typing import Any

from small_company import ON
from small_team import Rows, build_team, build_team_rows

from ontology.analysis.cover.presence import get_presence
from ontology.analysis.training.cross_training import TrainingAsked
from ontology.analysis.training.learners import Plan, build_team_learning
from ontology.analysis.training.training_goals import build_goals
from ontology.analysis.training.training_rules import build_learner_rules
from ontology.analysis.training.training_state import TrainingState, Value


def build_course_rows(rng: random.Random, count: int) -> Rows:
    """Draw courses that teach a, b and c up to level 2; some wait for a level that another gives, maybe in a circle."""
    rows: Rows = {"courses": [], "outcomes": [], "entry_conditions": []}
    for n in range(count):
        course = {"id": f"c{n}", "label": "c", "hours": rng.randint(1, 6) / 2, "cost": float(rng.randint(0, 2))}
        rows["courses"].append(course | {"coach_hours": rng.choice([0.0, 0.0, 0.5])})
        gives = {i: rng.randint(1, 2) for i in rng.sample("abc", rng.choice([1, 1, 2]))}
        rows["outcomes"] += [{"course": f"c{n}", "competency": i, "level": level} for i, level in gives.items()]
        if rng.random() < 0.5:
            asked = {"course": f"c{n}", "competency": rng.choice("abc"), "level": 1}
            if gives.get(asked["competency"], 2) > 1:
                rows["entry_conditions"].append(asked)
    return rows


def build_state(rows: Rows, needs: list[dict[str, Any]], courses: Rows, *, is_fair: bool = False) -> TrainingState:
    """Return the prepared search for a plan that brings the needs to their targets."""
    presence = get_presence(build_team(rows, cover_needs=needs, **courses), "t", ON)
    goals = build_goals(presence, None, False)
    rules = build_learner_rules(presence, TrainingAsked(is_fair=is_fair))
    state = TrainingState(build_team_learning(presence, goals, rules), goals, is_fair=is_fair)
    state.prepare()
    return state


def draw_state(seed: int, *, is_fair: bool = False) -> TrainingState:
    """Return the search for a team of two or three people, two or three needs and four or five courses."""
    rng = random.Random(seed)
    levels = {p: {i: 1 for i in "abc" if rng.random() < 0.3} for p in "pqr"[: rng.choice([2, 3])]}
    needs = [
        {"team": "t", "competency": i, "level": rng.randint(1, 2), "minimum": 1, "target": rng.randint(1, 3)}
        for i in rng.sample("abc", rng.choice([2, 3]))
    ]
    courses = build_course_rows(rng, 4 if len(levels) == 3 else 5)
    return build_state(build_team_rows(**levels), needs, courses, is_fair=is_fair)


def iterate_plans(state: TrainingState) -> Iterator[dict[str, frozenset[int]]]:
    """Yield every choice of courses for every learner, useless and impossible ones too."""
    people = sorted(state.team.learners)
    choices = [
        [frozenset(some) for some in chain.from_iterable(combinations(courses, n) for n in range(len(courses) + 1))]
        for courses in (sorted(state.team.learners[person].courses) for person in people)
    ]
    for chosen in product(*choices):
        yield {person: courses for person, courses in zip(people, chosen, strict=True) if courses}


def get_pairs(state: TrainingState, plan: Plan) -> tuple[tuple[str, str], ...]:
    """Return the sorted (person, course id) pairs of a plan."""
    learners = state.team.learners
    return tuple(
        sorted((p, learners[p].problem.operator_ids[course]) for p, courses in plan.items() for course in courses)
    )


def find_best_by_trying(state: TrainingState) -> tuple[Value, tuple[tuple[str, str], ...]]:
    """Return the least value of all plans, and the smallest pairs that have it."""
    return min((state.get_value(plan), get_pairs(state, plan)) for plan in iterate_plans(state))
