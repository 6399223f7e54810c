"""Cross-training plans against every set of courses on random small teams."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import Any

from brute_training import PlainCourse, PlainGoal, PlainSlots, count_missing, find_best_plan, find_coached, learn
from effort import draws
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small_company import ON
from small_team import PlainTeam, Rows, assess, build_team, team_rows
from training_questions import read_goals, read_levels

from ontology.analysis.places.staffing import compute_staffing
from ontology.analysis.training.cross_training import CrossTrainingResult, plan_cross_training
from ontology.analysis.training.training_goals import Holes

MANY = settings(max_examples=draws(60), deadline=None, suppress_health_check=[HealthCheck.too_slow])
FACT = st.tuples(st.sampled_from("abc"), st.integers(1, 2))


@st.composite
def course_rows(draw: st.DrawFn, least: int = 2, most: int = 4) -> Rows:
    """Draw courses that mostly teach what is needed; their conditions may wait for each other in a circle."""
    rows: Rows = {"courses": [], "outcomes": [], "entry_conditions": []}
    for n in range(draw(st.integers(least, most))):
        hours, coach, cost = draw(st.integers(0, 3)), draw(st.sampled_from([0, 0, 1])), draw(st.integers(0, 2))
        rows["courses"].append(
            {"id": f"c{n}", "label": "c", "hours": float(hours), "coach_hours": float(coach), "cost": float(cost)}
        )
        reached = draw(st.lists(FACT, min_size=1, max_size=2, unique_by=lambda fact: fact[0]))
        asked = draw(st.lists(FACT, max_size=1)) if draw(st.booleans()) else []
        rows["outcomes"] += [{"course": f"c{n}", "competency": i, "level": level} for i, level in reached]
        rows["entry_conditions"] += [{"course": f"c{n}", "competency": i, "level": level} for i, level in asked]
    return rows


@st.composite
def lacking_team_rows(draw: st.DrawFn, people: int, places: int) -> Rows:
    """Draw a team of few levels in which something is open more often than not."""
    rows = draw(team_rows(max_people=people, max_needs=3, max_places=places, min_people=2, min_needs=1))
    rows["assessments"] = [row for row in rows["assessments"] if draw(st.integers(0, 3)) == 0]
    for need in rows["cover_needs"]:
        need["target"] = max(need["minimum"], 2)
    return rows


def read_courses(rows: Rows) -> list[PlainCourse]:
    return [
        PlainCourse(
            row["id"],
            round(row["hours"] * 60),
            round(row["coach_hours"] * 60),
            round(row["cost"] * 100),
            tuple((e["competency"], e["level"]) for e in rows["entry_conditions"] if e["course"] == row["id"]),
            tuple((o["competency"], o["level"]) for o in rows["outcomes"] if o["course"] == row["id"]),
        )
        for row in rows["courses"]
    ]


def check_answer(result: CrossTrainingResult, expected: tuple[Any, ...]) -> None:
    missing, minutes, cents, count, pairs = expected
    assert result.missing == missing
    assert round(result.total_hours * 60) == minutes
    assert round(result.cost * 100) == cents
    chosen = sorted((row.person, course) for row in result.learners for course in row.courses)
    assert len(chosen) == count
    assert tuple(chosen) == pairs
    assert result.is_proved
    assert result.lower_bound == result.total_hours == result.study_hours + result.coach_hours
    if missing:
        assert result.status == "unreachable"
    else:
        assert result.status == ("optimal" if pairs else "nothing-to-do")
    named = {(line.person, course) for line in result.plan for course in line.courses}
    assert named == set(pairs)


@MANY
@given(lacking_team_rows(3, 0), course_rows(), st.sampled_from([None, None, 1.0, 3.0]))
def test_plan_for_targets_is_the_best_of_all(rows: Rows, courses: Rows, hours_limit: float | None) -> None:
    plain = PlainTeam(rows)
    result = plan_cross_training(build_team(rows, **courses), "t", ON, hours_limit=hours_limit, holes="needs")
    limit = None if hours_limit is None else round(hours_limit * 60)
    best = find_best_plan(
        read_levels(plain),
        read_courses(courses),
        read_goals(plain),
        limit_minutes=limit,
        is_coached=find_coached(read_levels(plain)),
    )
    check_answer(result, best)


def read_slots(rows: Rows, plain: PlainTeam, *, is_weighted: bool = False) -> list[PlainSlots]:
    """Return the slots of groups and places and who of those present may fill them."""
    slots = [
        PlainSlots(
            need["minimum"],
            ((need["competency"], need["level"]),),
            goal.people & plain.present,
            need.get("criticality", 3) if is_weighted else 1,
        )
        for goal, (need, _, _, _) in zip(read_goals(plain), plain.scopes, strict=True)
        if need["together"]
    ]
    for place in rows["places"]:
        asked = [r for r in rows["requirements"] if r["role"] == place["role"]]
        levels = tuple(
            (r["competency"], r.get("unsupervised_level", r["level"]))
            for r in asked
            if r.get("necessity") != "desirable"
        )
        people = frozenset(p for p in plain.present if asked and place["shift"] in ("", plain.shift_of[p]))
        slots.append(PlainSlots(place["count"], levels, people, 3 if is_weighted else 1))
    return slots


@MANY
@given(lacking_team_rows(3, 3), course_rows(), st.sampled_from(["needs", "places", "all"]), st.booleans(), st.data())
def test_plan_for_needs_and_slots_is_the_best_of_all(
    rows: Rows, courses: Rows, holes: Holes, is_weighted: bool, data: st.DataObject
) -> None:
    for need in rows["cover_needs"]:
        need["criticality"] = data.draw(st.integers(1, 5))
    plain = PlainTeam(rows)
    goals, slots = list[PlainGoal](), list[PlainSlots]()
    if holes != "places":
        goals = [
            replace(goal, weight=need["criticality"] if is_weighted else 1)
            for goal, (need, _, _, _) in zip(read_goals(plain), plain.scopes, strict=True)
        ]
    if holes != "needs":
        slots = read_slots(rows, plain, is_weighted=is_weighted)
    result = plan_cross_training(build_team(rows, **courses), "t", ON, holes=holes, weigh_criticality=is_weighted)
    best = find_best_plan(
        read_levels(plain), read_courses(courses), goals, slots, None, is_coached=find_coached(read_levels(plain))
    )
    after = apply_plan(rows, plain, courses, result)
    levels = read_levels(PlainTeam(after)) if result.learners else read_levels(plain)
    assert count_missing(goals, slots, None, levels) == best[0]
    unweighted = [replace(goal, weight=1) for goal in goals], [replace(kind, weight=1) for kind in slots]
    check_answer(result, (result.missing, *best[1:]))
    assert bool(result.missing) == bool(best[0])
    # of plans equal in weight that which leaves most of little weight may miss more people, never fewer
    assert result.missing == sum(row.missing for row in result.unmet) == count_missing(*unweighted, None, levels)
    assert not result.unmet_places
    snapshot = build_team(after)
    if holes != "needs":
        staffing = compute_staffing(snapshot, "t", ON)
        empty = Counter(staffing.unfilled)
        groups = Counter({(n.competency, n.level, n.applies, n.together): 0 for n in staffing.unfilled_needs})
        for n in staffing.unfilled_needs:
            groups[n.competency, n.level, n.applies, n.together] += n.slots
        told = {row.place: row.missing for row in result.unmet if row.kind == "place"}
        told_groups = {
            (row.competency, row.level, row.applies, row.together): row.missing
            for row in result.unmet
            if row.kind == "together"
        }
        if is_weighted:
            assert sum(empty.values()) + sum(groups.values()) == sum(told.values()) + sum(told_groups.values())
        else:
            assert (told, told_groups) == (empty, groups)


@MANY
@given(lacking_team_rows(3, 2), course_rows(), st.integers(0, 1))
def test_plan_for_a_tolerance_is_the_best_of_all(rows: Rows, courses: Rows, tolerance: int) -> None:
    plain = PlainTeam(rows)
    goals = [
        replace(goal, wanted=need["minimum"] + tolerance, people=goal.people & plain.present)
        for goal, (need, _, _, _) in zip(read_goals(plain), plain.scopes, strict=True)
    ]
    slots = read_slots(rows, plain)
    snapshot = build_team(rows, **courses)
    result = plan_cross_training(snapshot, "t", ON, tolerance=tolerance)
    best = find_best_plan(
        read_levels(plain), read_courses(courses), goals, slots, tolerance, is_coached=find_coached(read_levels(plain))
    )
    check_answer(result, best)
    if not result.missing and (goals or slots):
        after = apply_plan(rows, plain, courses, result)
        overall = compute_staffing(build_team(after), "t", ON).tolerance.overall
        assert overall is not None
        assert overall >= tolerance


def apply_plan(rows: Rows, plain: PlainTeam, courses: Rows, result: CrossTrainingResult) -> Rows:
    by_id = {course.id: course for course in read_courses(courses)}
    levels = read_levels(plain)
    for row in result.learners:
        levels[row.person] = learn(levels[row.person], [by_id[course] for course in row.courses])
    return {**rows, "assessments": [assess(p, i, level) for p, held in levels.items() for i, level in held.items()]}


@MANY
@given(lacking_team_rows(4, 0), course_rows())
def test_plan_applied_closes_what_it_says_in_the_order_it_says(rows: Rows, courses: Rows) -> None:
    plain = PlainTeam(rows)
    result = plan_cross_training(build_team(rows, **courses), "t", ON, holes="needs")
    by_id = {course.id: course for course in read_courses(courses)}
    for line in [(r.person, r.courses, None) for r in result.learners] + [
        (r.person, r.courses, (r.competency, r.level)) for r in result.plan
    ]:
        person, ids, fact = line
        levels = read_levels(plain)[person]
        for course_id in ids:
            assert all(levels.get(i, 0) >= level for i, level in by_id[course_id].conditions)
            levels = learn(levels, [by_id[course_id]])
        if fact is not None:
            assert levels[fact[0]] >= fact[1]
    after_rows = apply_plan(rows, plain, courses, result)
    again = plan_cross_training(build_team(after_rows, **courses), "t", ON, holes="needs")
    assert again.missing == result.missing
    assert again.study_hours == 0
    assert not again.plan
    goals = read_goals(plain)
    assert count_missing(goals, (), 0, read_levels(PlainTeam(after_rows)) | {}) == result.missing
    assert sum(row.missing for row in result.unmet) == result.missing


@MANY
@given(lacking_team_rows(4, 0), course_rows(), st.floats(0, 6))
def test_limit_of_hours_holds_and_a_wider_one_never_misses_more(rows: Rows, courses: Rows, hours: float) -> None:
    snapshot = build_team(rows, **courses)
    narrow = plan_cross_training(snapshot, "t", ON, hours_limit=hours)
    wide = plan_cross_training(snapshot, "t", ON, hours_limit=hours + 1)
    free = plan_cross_training(snapshot, "t", ON)
    assert all(row.study_hours <= hours for row in narrow.learners)
    assert narrow.missing >= wide.missing >= free.missing
