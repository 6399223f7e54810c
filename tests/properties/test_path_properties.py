"""Learning paths against brute force and Dijkstra over profiles, on random small companies."""

from __future__ import annotations

import heapq
from collections.abc import Mapping
from typing import Any

from brute_routes import Learner, find_best_path, reach_everything, take
from company_strategies import draw_profiles, draw_snapshots
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st

from ontology.analysis.paths.learning_path import find_path_to_levels
from ontology.analysis.profiles.profile import Profile
from ontology.snapshot.snapshot import Snapshot

AIMS = st.sampled_from(["hours", "cost", "courses"])


def as_learner(profile: Profile) -> Learner:
    return Learner(profile.levels, profile.renewable, profile.role, profile.study_hours_per_week)


@st.composite
def draw_questions(draw: st.DrawFn) -> tuple[Snapshot, Profile, dict[str, int]]:
    snapshot = draw(draw_snapshots(competencies=5, courses=7))
    targets = st.dictionaries(st.sampled_from(list(snapshot.competencies)), st.integers(1, 4), max_size=3)
    return snapshot, draw(draw_profiles(snapshot)), draw(targets)


@given(draw_questions(), AIMS)
@settings(max_examples=draws(250), deadline=None)
def test_path_equals_brute_force_to_the_last_tie(
    question: tuple[Snapshot, Profile, dict[str, int]], minimise: Any
) -> None:
    snapshot, profile, targets = question
    learner = as_learner(profile)
    result = find_path_to_levels(snapshot, profile, targets, minimise=minimise)
    reached = reach_everything(snapshot, learner)
    lost = {i: level for i, level in targets.items() if reached.get(i, 0) < level}
    assert {row.competency: row.level for row in result.unreachable} == lost
    rest = {i: level for i, level in targets.items() if i not in lost}
    best = find_best_path(snapshot, learner, rest, minimise)
    assert best is not None
    aims, ids = best
    assert tuple(sorted(course.id for course in result.courses)) == ids
    unit = {"hours": 60, "cost": 100, "courses": 1}[minimise]
    assert result.lower_bound == aims[0] / unit
    if lost:
        assert result.status == "unreachable"
    elif all(profile.get(i) >= level for i, level in targets.items()):
        assert result.status == "nothing-to-do"
    else:
        assert result.status == "optimal"
    # the order can be taken, and the sums are those of the courses listed
    levels = dict(profile.levels)
    assert all(take(snapshot, learner, levels, snapshot.courses[course.id]) for course in result.courses)
    assert all(levels.get(i, 0) >= level for i, level in rest.items())
    assert round(result.study_hours * 60) == sum(round(course.study_hours * 60) for course in result.courses)
    assert round(result.cost * 100) == sum(round(course.cost * 100) for course in result.courses)
    assert all(course.serves for course in result.courses)
    assert all(set(course.serves) <= set(rest) for course in result.courses)


def find_by_dijkstra(snapshot: Snapshot, learner: Learner, targets: Mapping[str, int]) -> int | None:
    """Return the least minutes by Dijkstra on the graph whose nodes are whole profiles and whose arcs are courses."""
    start = frozenset(learner.levels.items())
    queue: list[tuple[int, int, frozenset[tuple[str, int]]]] = [(0, 0, start)]
    done = set()
    ticket = 0
    while queue:
        spent, _, node = heapq.heappop(queue)
        if node in done:
            continue
        done.add(node)
        levels = dict(node)
        if all(levels.get(i, 0) >= level for i, level in targets.items()):
            return spent
        for course in snapshot.courses.values():
            after = dict(levels)
            if take(snapshot, learner, after, course) and frozenset(after.items()) not in done:
                ticket += 1
                heapq.heappush(queue, (spent + round(course.hours * 60), ticket, frozenset(after.items())))
    return None


@given(draw_questions())
@settings(max_examples=draws(120), deadline=None)
def test_hours_equal_dijkstra_over_profiles(question: tuple[Snapshot, Profile, dict[str, int]]) -> None:
    snapshot, profile, targets = question
    result = find_path_to_levels(snapshot, profile, targets)
    least = find_by_dijkstra(snapshot, as_learner(profile), targets)
    assert (least is None) == bool(result.unreachable)
    if least is not None:
        assert round(result.study_hours * 60) == least


def get_least(snapshot: Snapshot, profile: Profile, targets: Mapping[str, int], minimise: Any = "hours") -> float:
    result = find_path_to_levels(snapshot, profile, targets, minimise=minimise)
    return float("inf") if result.unreachable else result.lower_bound


@given(draw_questions(), AIMS, st.data())
@settings(max_examples=draws(80), deadline=None)
def test_more_asked_or_less_offered_never_shortens_a_path_and_more_held_never_lengthens_it(
    question: tuple[Snapshot, Profile, dict[str, int]], minimise: Any, data: st.DataObject
) -> None:
    snapshot, profile, targets = question
    before = get_least(snapshot, profile, targets, minimise)
    i = data.draw(st.sampled_from(list(snapshot.competencies)))
    raised = targets | {i: min(4, targets.get(i, 0) + 1)}
    assert get_least(snapshot, profile, raised, minimise) >= before
    course = data.draw(st.sampled_from(list(snapshot.courses)))
    tables = {name: list(snapshot.get_table(name).values()) for name in ("scales", "competencies", "courses")}
    tables["courses"] = [c for c in tables["courses"] if c.id != course]
    for name in ("outcomes", "entry_conditions"):
        tables[name] = [row for row in snapshot.get_table(name).values() if row.course != course]
    assert get_least(Snapshot(tables), profile, targets, minimise) >= before
    larger = Profile(dict(profile.levels) | {i: profile.get(i) + 1}, renewable=profile.renewable)
    assert get_least(snapshot, larger, targets, minimise) <= before


@given(draw_questions(), st.randoms(use_true_random=False))
@settings(max_examples=draws(40), deadline=None)
def test_order_of_rows_does_not_matter(question: tuple[Snapshot, Profile, dict[str, int]], random: Any) -> None:
    snapshot, profile, targets = question
    tables: dict[str, list[Any]] = {}
    for name, record in snapshot.iterate_records():
        tables.setdefault(name, []).append(record)
    for rows in tables.values():
        random.shuffle(rows)
    again = find_path_to_levels(Snapshot(tables), profile, dict(reversed(targets.items())))
    assert again == find_path_to_levels(snapshot, profile, targets)
