"""What a course or a level brings within reach: against trying every course and level."""

from __future__ import annotations

from collections import Counter

import pytest
from brute_routes import Learner, find_best_path, take, take_all
from company_strategies import build_random_company
from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.profiles.profile import Profile
from ontology.analysis.routes.reach_gains import find_reach_gains
from ontology.snapshot.snapshot import Snapshot


def find_minutes(snapshot: Snapshot, profile: Profile, levels: dict[str, int], targets: dict[str, int]) -> int | None:
    learner = Learner(levels, profile.renewable, profile.role, 4.0)
    best = find_best_path(snapshot, learner, targets, "hours")
    return None if best is None else best[0][0]


def find_within_reach(
    snapshot: Snapshot, profile: Profile, levels: dict[str, int], limit_minutes: int, level_limit: int
) -> dict[str, int]:
    """Return role id -> minutes of every move that keeps both limits."""
    found = {}
    for role_id in snapshot.roles:
        asked = {r.competency: r.entry_level for r in snapshot.get_requirements(role_id) if r.necessity != "desirable"}
        if role_id == profile.role or not snapshot.get_requirements(role_id):
            continue
        if any(
            entry - levels.get(i, 0) > level_limit and snapshot.competencies[i].kind != "certificate"
            for i, entry in asked.items()
        ):
            continue
        minutes = find_minutes(snapshot, profile, levels, asked)
        if minutes is not None and minutes <= limit_minutes:
            found[role_id] = minutes
    return found


@pytest.mark.parametrize("first_seed", range(0, 160, 40))
def test_gains_are_those_of_trying_every_course_and_level(first_seed: int) -> None:
    found: Counter[str] = Counter()
    for seed in range(first_seed, first_seed + 40):
        snapshot, profile = build_random_company(seed)
        require_gains_of_trying_everything(snapshot, profile, (0.0, 4.0, 8.0, 12.0)[seed % 4], seed // 4 % 3, found)
    # the companies must hold all that is looked for
    assert min(found["courses"], found["levels"], found["both"]) > 2, found


def require_gains_of_trying_everything(
    snapshot: Snapshot, profile: Profile, limit_h: float, level_limit: int, found: Counter[str]
) -> None:
    held = dict(profile.levels)
    limit = round(limit_h * 60)
    before = find_within_reach(snapshot, profile, held, limit, level_limit)
    result = find_reach_gains(snapshot, profile, preparation_limit=limit_h, level_limit=level_limit, limit=1000)
    assert result.status == "optimal"
    assert result.within_reach == len(before)
    expected = {}
    learner = Learner(held, profile.renewable, profile.role, 4.0)
    for course in snapshot.courses.values():
        first = find_best_path(
            snapshot, learner, {c.competency: c.level for c in snapshot.get_entry_conditions(course.id)}, "hours"
        )
        if first is None:
            continue
        levels = dict(held)
        assert take_all(snapshot, learner, levels, [snapshot.courses[i] for i in first[1]])
        nearly = find_within_reach(snapshot, profile, levels, limit, level_limit)
        take(snapshot, learner, levels, course)
        after = find_within_reach(snapshot, profile, levels, limit, level_limit)
        gained = {role: minutes / 60 for role, minutes in after.items() if role not in before}
        found["both"] += bool(gained.keys() - nearly.keys() and gained.keys() & nearly.keys() - before.keys())
        if gained.keys() - nearly.keys():
            expected[course.id] = (first[0][0] / 60 + course.hours, gained)
    assert {
        row.id: (row.study_hours, {role.id: role.study_hours for role in row.gained}) for row in result.courses
    } == expected
    sizes = [(-len(row.gained), row.study_hours, row.cost, row.id) for row in result.courses]
    assert sizes == sorted(sizes)
    found.update({"courses": len(expected), "levels": len(result.levels)})
    gaining = set()
    for i in snapshot.competencies:
        below = set(before)
        for level in range(held.get(i, 0) + 1, 5):
            reached = find_within_reach(snapshot, profile, held | {i: level}, limit, level_limit).keys()
            if reached - before.keys() > below - before.keys():
                gaining.add((i, level))
                below = set(reached)
    assert {(row.competency, row.level) for row in result.levels} == gaining
    for row in result.levels:
        after = find_within_reach(snapshot, profile, held | {row.competency: row.level}, limit, level_limit)
        assert {r.id: r.study_hours for r in row.gained} == {
            role: minutes / 60 for role, minutes in after.items() if role not in before
        }


def test_a_course_counts_with_what_it_needs_first_and_the_preparation_left_is_told() -> None:
    company = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("a b"),
        roles=[{"id": "r", "label": "R"}],
        requirements=[{"role": "r", "competency": "a", "level": 3}, {"role": "r", "competency": "b", "level": 1}],
        courses=[{"id": x, "label": x, "hours": h} for x, h in (("first", 10), ("second", 20), ("other", 15))],
        outcomes=[
            {"course": "first", "competency": "a", "level": 2},
            {"course": "second", "competency": "a", "level": 3},
            {"course": "other", "competency": "b", "level": 1},
        ],
        entry_conditions=[{"course": "second", "competency": "a", "level": 2}],
    )
    # 45 hours in all, and three levels to climb at once: closed until something is learned
    result = find_reach_gains(company, Profile({}), preparation_limit=30)
    assert result.within_reach == 0
    rows = [
        (row.id, row.study_hours, row.courses, [(r.id, r.study_hours) for r in row.gained]) for row in result.courses
    ]
    assert rows == [("second", 30.0, ("first", "second"), [("r", 15.0)])]
    assert [(row.competency, row.have, row.level) for row in result.levels] == [("a", 0, 3)]
    easier = find_reach_gains(company, Profile({}), preparation_limit=40)
    assert [(row.id, [(r.id, r.study_hours) for r in row.gained]) for row in easier.courses] == [
        ("first", [("r", 35.0)]),
    ]
    assert [(row.competency, row.level) for row in easier.levels] == [("a", 2)]


def test_time_that_is_up_is_told() -> None:
    company = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("a"),
        roles=[{"id": "r", "label": "R"}],
        requirements=[{"role": "r", "competency": "a", "level": 5}],
        courses=[{"id": "x", "label": "x", "hours": 1}],
        outcomes=[{"course": "x", "competency": "a", "level": 4}],
    )
    result = find_reach_gains(company, Profile({}), time_limit_s=0)
    assert (result.status, result.courses) == ("feasible", ())
    assert result.remarks
