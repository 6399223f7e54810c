"""Every kind of picture, asked of a company: the demonstration, large ones, and ones whose names are awkward."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import fields, replace
from datetime import date
from functools import cache, partial
from itertools import cycle
from pathlib import Path
from typing import Any

from asking import PERSON, TEAM, answer
from drawn import AWKWARD
from picture_companies import (
    add_dues,
    build_calendar_company,
    build_career_company,
    build_certified_team,
    build_course_company,
    build_learning_team,
    build_scarce_team,
    build_sized_company,
    build_team_company,
)

from api.desk.question import COMPANY, SubjectKind
from api.pictures import pictures
from api.pictures.calendar import build_calendar_picture
from api.pictures.paging import PageError
from loaders.pipeline import load_paths
from ontology.analysis.compare.comparison import compare_states
from ontology.analysis.paths.learning_path import find_learning_path, find_path_to_levels
from ontology.analysis.profiles.profile import Profile, build_role_profile
from ontology.analysis.routes.routes import find_routes
from ontology.analysis.schedule.schedule import plan_schedule
from ontology.analysis.schedule.schedule_result import ScheduleResult
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

ON = date(2026, 11, 24)
SCENARIO = Path(__file__).resolve().parents[2] / "data" / "water_utility"

#: A picture that is asked for by layout and page.
Draw = Callable[..., str]


@cache
def load_scenario() -> Snapshot:
    """Return the demonstration scenario as it is served: a load writes into each record until when it counts."""
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    snapshot = graph.get_snapshot()
    graph.close()
    return snapshot


@cache
def load_awkward_scenario() -> Snapshot:
    """Return the demonstration scenario with awkward names, labels and texts, one after the other."""
    return rename(load_scenario())


def rename(snapshot: Snapshot, names: Sequence[str] = AWKWARD) -> Snapshot:
    """Return a company with every word that people give replaced by one of these; ids stay."""
    words = cycle(names)
    tables: dict[str, list[Any]] = {}
    for name in TABLES:
        tables[name] = []
        for record in snapshot.get_table(name).values():
            given = {field.name for field in fields(record)} & {"label", "name", "family", "definition", "method"}
            tables[name].append(replace(record, **{field: next(words) for field in sorted(given)}))
    return Snapshot(tables)


def draw_answer(snapshot: Snapshot, name: str, kind: SubjectKind, subject: str, on: date = ON, **asked: Any) -> Draw:
    """Return the picture of an answer, asked at the desk once it is first drawn."""

    @cache
    def ask() -> Draw:
        told = answer(snapshot, name, kind, subject, on=on, **asked)
        enquiry, draw = told.enquiry, told.enquiry.question.draw
        assert draw is not None
        return partial(draw, snapshot, enquiry.subject, enquiry.asked, told.result)

    return lambda **shown: ask()(**shown)


def draw_coverage(snapshot: Snapshot, team: str, on: date = ON) -> Draw:
    return draw_answer(snapshot, "coverage", TEAM, team, on)


def draw_staffing(snapshot: Snapshot, team: str, on: date = ON, away: str = "") -> Draw:
    return draw_answer(snapshot, "staffing", TEAM, team, on, away=frozenset(away.split()))


def draw_cross_training(snapshot: Snapshot, team: str, on: date = ON, **question: Any) -> Draw:
    return draw_answer(snapshot, "cross-training", TEAM, team, on, **question)


def draw_training_chart(snapshot: Snapshot, team: str, on: date = ON, **question: Any) -> Draw:
    return draw_answer(snapshot, "training-timetable", TEAM, team, on, **question)


def draw_dues(snapshot: Snapshot, team: str, *competencies: str) -> Draw:
    return draw_answer(add_dues(snapshot, team, competencies), "obligations", TEAM, team)


def ask_team_pictures(snapshot: Snapshot) -> dict[str, Draw]:
    """Return the demonstration's pictures for team leads, and calendars."""
    return {
        "cover-treatment": draw_coverage(snapshot, "treatment"),
        "cover-networks": draw_coverage(snapshot, "networks"),
        "staffing-treatment": draw_staffing(snapshot, "treatment"),
        "staffing-networks": draw_staffing(snapshot, "networks", away="p026 p027"),
        "cross-training-networks": draw_cross_training(snapshot, "networks"),
        "cross-training-wastewater": draw_cross_training(snapshot, "wastewater"),
        "training-chart-networks": draw_training_chart(snapshot, "networks"),
        "dues-laboratory": draw_dues(snapshot, "laboratory", "cert-first-aid", "cert-sampler"),
        "session-weeks": draw_answer(snapshot, "session-plan", COMPANY, "", until=date(2027, 2, 16)),
        "calendar-p008": draw_answer(snapshot, "schedule", PERSON, "p008", role="treatment-operator"),
    }


def ask_framework_pictures(snapshot: Snapshot) -> dict[str, Draw]:
    """Return the demonstration's pictures of roles, competencies, paths and routes."""
    return {
        "role": lambda **shown: pictures.draw_role(snapshot, "connections-inspector", **shown),
        "competency": lambda **shown: pictures.draw_competency(snapshot, "water-chemistry", **shown),
        "path-p001": draw_answer(snapshot, "learning-path", PERSON, "p001", role="control-shift-leader"),
        "routes-p008": draw_answer(snapshot, "routes", PERSON, "p008", to="control-shift-leader"),
        "comparison": draw_comparison(snapshot),
    }


def draw_comparison(snapshot: Snapshot) -> Draw:
    """Return the picture of what changed since every third competency stood under another one."""
    tops = sorted(one.id for one in snapshot.competencies.values() if not one.broader)
    moved = [one for one in snapshot.competencies.values() if one.broader][::3]
    put = [("competencies", replace(one, broader=(top,))) for one, top in zip(moved, cycle(tops), strict=False)]
    gone = [("requirements", key) for key in list(snapshot.get_table("requirements"))[::4]]
    after = snapshot.with_changes(put, gone)
    rows = compare_states(snapshot, after).rows
    return partial(pictures.draw_comparison, rows, snapshot, after, "What changed from 1.1 to 1.2")


def ask_large_framework_pictures() -> dict[str, Draw]:
    """Return pictures of roles, paths and routes much larger than the demonstration's."""
    found: dict[str, Draw] = {}
    for size in (15, 40):
        company, courses = build_sized_company(size), build_course_company(size * 3 // 2)
        found[f"role-{size}"] = partial(pictures.draw_role, company, "goal")
        start = Profile({"c1": 2, "c3": 2})
        path = find_learning_path(courses, start, "goal")
        found[f"path-{size}"] = partial(pictures.draw_learning_path, courses, start, path)
    careers = build_career_company(20)
    profile = build_role_profile(careers, "now")
    routes = find_routes(careers, profile, "goal", preparation_limit=300.0, level_limit=3)
    return found | {"routes-20-roles": partial(pictures.draw_routes, careers, profile, routes)}


def draw_large_calendar(**shown: Any) -> str:
    """Return a page of the calendar of forty courses."""
    courses, profile, schedule = plan_large_calendar()
    return build_calendar_picture(courses, profile, schedule, **shown).dot


@cache
def plan_large_calendar() -> tuple[Snapshot, Profile, ScheduleResult]:
    """Return forty courses, who takes them and when."""
    courses, profile = build_calendar_company(40), Profile({}, study_hours_per_week=6.0)
    path = find_path_to_levels(courses, profile, dict.fromkeys(courses.competencies, 1))
    return courses, profile, plan_schedule(courses, profile, path, on=ON, max_nodes=500)


@cache
def ask_large_pictures() -> dict[str, Draw]:
    """Return pictures of teams and schedules much larger than the demonstration's."""
    needs, learning = build_team_company(40, n_people=25), build_learning_team(12)
    return {
        "cover-40-needs-25-people": draw_coverage(needs, "t"),
        "staffing-40-needs-25-people": draw_staffing(needs, "t"),
        "staffing-6-places-4-people": draw_staffing(build_scarce_team(), "t"),
        "cross-training-12-learners": draw_cross_training(learning, "t", hours_limit=40.0),
        "training-chart-12-people": draw_training_chart(learning, "t", hours_limit=40.0),
        "dues-40-people": draw_dues(build_certified_team(40), "t", *(f"c{n}" for n in range(5))),
        "calendar-40-courses": draw_large_calendar,
    }


def iterate_pages(draw: Draw) -> Iterator[str]:
    """Yield the pages of a picture on paper."""
    for page in range(1, 200):
        try:
            yield draw(layout="paper", page=page)
        except PageError:
            return
