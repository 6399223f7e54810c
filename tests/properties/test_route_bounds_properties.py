"""Quick bounds of routes never promise too much, and what changes a question changes its answer the right way."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

from brute_routes import Learner, find_least_minutes, find_legal_routes, keep_asked
from company_strategies import build_route_company
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st

from ontology.analysis.engine.solver import Deadline
from ontology.analysis.paths.offers import build_catalogue, reach_levels
from ontology.analysis.profiles.profile import Profile
from ontology.analysis.routes.level_facts import LevelFacts
from ontology.analysis.routes.moves import MoveCosts
from ontology.analysis.routes.route_bounds import RouteCosts
from ontology.analysis.routes.route_landmarks import LandmarkBook
from ontology.analysis.routes.route_reach import Reach
from ontology.analysis.routes.route_search import RoutesAsked, find_intermediate_roles
from ontology.analysis.routes.routes import RoutesResult, find_routes
from ontology.snapshot.snapshot import Snapshot

SEEDS = st.integers(0, 10**6)
LEVEL_LIMITS = st.sampled_from([0, 1, 0, 1, 2, 3])
LIMITS = st.sampled_from([10.0, 8.0, 6.0, 4.0, 14.0, 20.0, math.inf])


def as_learner(profile: Profile) -> Learner:
    return Learner(profile.levels, profile.renewable, profile.role, profile.study_hours_per_week)


def build_costs(snapshot: Snapshot, profile: Profile, limit: float, level_limit: int) -> RouteCosts:
    return RouteCosts(snapshot, profile, preparation_limit=limit, level_limit=level_limit, deadline=Deadline(None))


@given(SEEDS, st.dictionaries(st.sampled_from(["c0", "c1", "c2"]), st.integers(1, 4)))
@settings(max_examples=draws(150), deadline=None)
def test_landmarks_still_hold_where_more_is_held_than_they_were_found_for(seed: int, more: dict[str, int]) -> None:
    snapshot, profile = build_route_company(seed)
    moves = MoveCosts(snapshot, profile, Deadline(None))
    larger = {i: max(profile.get(i), more.get(i, 0)) for i in {*profile.levels, *more}}
    for role_id in snapshot.roles:
        landmarks = moves.get_landmarks(profile.levels, role_id)
        left = [lm for lm in landmarks if not any(larger.get(i, 0) >= level for i, level in lm.zone)]
        plan = moves.find_plan(larger, role_id)
        if plan is not None:
            assert sum(lm.minutes for lm in left) <= (plan.value or 0)
        spent: dict[str, float] = {}
        for landmark in landmarks:
            for course in landmark.courses:
                spent[course] = spent.get(course, 0) + landmark.minutes
        assert all(minutes <= round(snapshot.courses[i].hours * 60) for i, minutes in spent.items())


def test_landmarks_of_one_course_are_all_of_its_hours() -> None:
    snapshot, profile = build_route_company(6)
    catalogue = build_catalogue(snapshot, profile)
    book = LandmarkBook(catalogue, LevelFacts(catalogue, [("nothing", 1)]))
    assert book.find({}, []) == ()
    assert [landmark.courses for landmark in book.find({}, [("nothing", 1)])] == [()]
    assert book.find({"nothing": 1}, [("nothing", 1)]) == ()


@given(SEEDS, st.dictionaries(st.sampled_from(["c0", "c1", "c2"]), st.integers(1, 4)))
@settings(max_examples=draws(100), deadline=None)
def test_what_is_reached_is_the_same_step_by_step_and_at_once(seed: int, raised: dict[str, int]) -> None:
    snapshot, profile = build_route_company(seed)
    catalogue = build_catalogue(snapshot, profile)
    reach = Reach(catalogue)
    first = reach.start(profile.levels)
    assert first == reach_levels(catalogue, profile.levels)
    larger = {i: max(profile.get(i), raised.get(i, 0)) for i in {*profile.levels, *raised}}
    assert reach.extend(first, raised) == reach_levels(catalogue, larger)


@given(SEEDS, LIMITS, LEVEL_LIMITS, st.booleans())
@settings(max_examples=draws(60), deadline=None)
def test_no_legal_sequence_is_left_out_or_bounded_above_its_minutes(
    seed: int, limit: float, level_limit: int, has_via: bool
) -> None:
    snapshot, profile = build_route_company(seed)
    costs = build_costs(snapshot, profile, limit, level_limit)
    roles = (*find_intermediate_roles(costs, RoutesAsked("r0", 3)), "r0")
    via = roles[0] if has_via and len(roles) > 1 else None
    outlook = costs.build_outlook(roles)
    legal = keep_asked(find_legal_routes(snapshot, as_learner(profile), "r0", 3, limit, level_limit), (), via)
    listed = {
        outlook.get_sequence(batch, k): (float(batch.minutes[k]), float(batch.months[k]))
        for moves in (1, 2, 3)
        for batch in outlook.iterate(moves, via)
        for k in range(len(batch.lasts))
    }
    assert set(legal) <= set(listed)
    for sequence, least in legal.items():
        minutes, months = listed[sequence]
        assert minutes <= least
        assert months == sum(snapshot.roles[r].months_to_full for r in sequence[:-1])
        assert costs.get_landmarks(sequence).minutes <= least
        if len(sequence) > 1:
            assert outlook.bound_later(len(sequence), roles.index(sequence[0])) <= least
        assert costs.find_relaxed(sequence).lower <= least
        assert costs.get_value(sequence).lower == costs.get_value(sequence).upper == least


@given(SEEDS, LIMITS, LEVEL_LIMITS)
@settings(max_examples=draws(60), deadline=None)
def test_landmarks_of_a_sequence_bound_it_with_one_role_more(seed: int, limit: float, level_limit: int) -> None:
    snapshot, profile = build_route_company(seed)
    costs = build_costs(snapshot, profile, limit, level_limit)
    roles = (*find_intermediate_roles(costs, RoutesAsked("r0", 3)), "r0")
    outlook = costs.build_outlook(roles)
    legal = find_legal_routes(snapshot, as_learner(profile), "r0", 3, limit, level_limit)
    for sequence, least in legal.items():
        for place in range(len(sequence) - 1):
            shorter = sequence[:place] + sequence[place + 1 :]
            if costs.keeps_first_gate(shorter):
                bounds = outlook.bound_insertions(shorter, costs.get_landmarks(shorter), place)
                assert bounds[roles.index(sequence[place])] <= least


# ---- what changes the question changes the answer the right way ----


def get_least(result: RoutesResult) -> float:
    return math.inf if result.best.study_hours is None else result.best.study_hours.study_hours


@given(SEEDS, LIMITS, st.data())
@settings(max_examples=draws(50), deadline=None)
def test_less_to_choose_from_never_shortens_and_more_levels_never_lengthen(
    seed: int, limit: float, data: st.DataObject
) -> None:
    snapshot, profile = build_route_company(seed)
    limits: dict[str, Any] = {"preparation_limit": limit, "level_limit": data.draw(LEVEL_LIMITS)}
    least = get_least(find_routes(snapshot, profile, "r0", **limits))
    middle = [r for r in snapshot.roles if r not in ("r0", profile.role)]
    avoided = data.draw(st.sampled_from(middle))
    assert get_least(find_routes(snapshot, profile, "r0", avoid=[avoided], **limits)) >= least
    assert get_least(find_routes(snapshot, profile, "r0", via=avoided, **limits)) >= least
    competency = data.draw(st.sampled_from(list(snapshot.competencies)))
    larger = replace(profile, levels=dict(profile.levels) | {competency: profile.get(competency) + 1})
    assert get_least(find_routes(snapshot, larger, "r0", **limits)) <= least
    course = data.draw(st.sampled_from(list(snapshot.courses)))
    assert get_least(find_routes(leave_out_course(snapshot, course), profile, "r0", **limits)) >= least


def leave_out_course(snapshot: Snapshot, course_id: str) -> Snapshot:
    names = ("scales", "competencies", "roles", "requirements", "courses", "outcomes", "entry_conditions")
    tables = {name: list(snapshot.get_table(name).values()) for name in names}
    tables["courses"] = [course for course in tables["courses"] if course.id != course_id]
    for name in ("outcomes", "entry_conditions"):
        tables[name] = [record for record in tables[name] if record.course != course_id]
    return Snapshot(tables, revision=2, store_id="test")


@given(SEEDS, LIMITS, st.sampled_from([0.0, 0.002, 0.01]))
@settings(max_examples=draws(40), deadline=None)
def test_a_struck_time_limit_leaves_true_bounds_and_legal_routes(seed: int, limit: float, time_limit_s: float) -> None:
    snapshot, profile = build_route_company(seed)
    result = find_routes(snapshot, profile, "r0", preparation_limit=limit, level_limit=1, time_limit_s=time_limit_s)
    legal = find_legal_routes(snapshot, as_learner(profile), "r0", 3, limit, 1)
    least = min(legal.values(), default=math.inf)
    if result.lower_bound is None:
        assert least == math.inf
    else:
        assert result.lower_bound * 60 <= least
    assert result.status == "feasible" or get_least(result) * 60 == least
    routes = [result.best.study_hours, *result.trade_off, *result.other_routes]
    for route in filter(None, routes):
        assert round(route.study_hours * 60) >= legal[route.roles]
        assert find_least_minutes(snapshot, as_learner(profile), route.roles, limit, 1) is not None


PROGRAM = """
import json, sys
from company_strategies import build_random_company
from ontology.analysis.routes.routes import find_routes
found = []
for seed in range(40):
    snapshot, profile = build_random_company(seed)
    result = find_routes(snapshot, profile, "r0", preparation_limit=12.0)
    routes = [result.best.study_hours, result.best.months, *result.trade_off, *result.other_routes]
    found.append([[r.roles, r.study_hours, r.cost, [m.courses for m in r.moves]] for r in routes if r])
print(json.dumps(found))
"""


def test_the_answer_is_the_same_in_every_process() -> None:
    root = Path(__file__).resolve().parents[2]
    answers = []
    for seed in ("1", "2"):
        environment = os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": f"{root}{os.pathsep}{root / 'tests/support'}"}
        done = subprocess.run(
            [sys.executable, "-c", PROGRAM], env=environment, capture_output=True, text=True, check=True, cwd=root
        )
        answers.append(json.loads(done.stdout))
    assert answers[0] == answers[1]
    assert sum(map(len, answers[0])) > 40
