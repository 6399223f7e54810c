"""Booked courses in the calendar, worked out by hand; and the critical chain in words, or why there is none."""

from __future__ import annotations

from datetime import date
from typing import Any

from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.paths.learning_path import find_learning_path, find_path_to_levels
from ontology.analysis.profiles.profile import Profile, build_profile
from ontology.analysis.schedule.critical_chain import Slack
from ontology.analysis.schedule.critical_links import explain_no_chain
from ontology.analysis.schedule.schedule import ScheduleResult, plan_schedule
from ontology.analysis.schedule.schedule_model import Problem, Task, Window
from ontology.analysis.schedule.study_calendar import Grid
from ontology.snapshot.snapshot import Snapshot

#: A Monday.
MONDAY = date(2026, 11, 30)
PROFILE = Profile({}, study_hours_per_week=5.0)


def build(courses: dict[str, dict[str, Any]], conditions: dict[str, str] | None = None) -> Snapshot:
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies(" ".join(courses)),
        courses=[{"id": i, "label": i.title()} | row for i, row in courses.items()],
        outcomes=[{"course": i, "competency": i, "level": 1} for i in courses],
        entry_conditions=[{"course": i, "competency": other, "level": 1} for i, other in (conditions or {}).items()],
    )


def plan(snapshot: Snapshot, targets: str, booked: str = "", **more: Any) -> ScheduleResult:
    path = find_path_to_levels(
        snapshot, PROFILE, dict.fromkeys(targets.split(), 1), already_booked=frozenset(booked.split())
    )
    return plan_schedule(snapshot, PROFILE, path, on=MONDAY, **more)


def get_days(result: ScheduleResult) -> dict[str, tuple[str, str]]:
    return {c.id: (c.first_day.isoformat(), c.last_day.isoformat()) for c in result.courses}


def test_a_course_waits_for_the_booked_one_that_gives_what_it_asks() -> None:
    result = plan(build({"a": {"hours": 5.0}, "b": {"hours": 5.0, "cost": 9.0}}, {"a": "b"}), "a", "b")
    assert get_days(result) == {"b": ("2026-11-30", "2026-12-04"), "a": ("2026-12-07", "2026-12-11")}
    assert [(c.id, c.is_booked, c.waits_for) for c in result.courses] == [("b", True, ()), ("a", False, ("b",))]
    assert (result.study_hours, result.cost, result.booked_hours, result.booked_cost) == (5, 0, 5, 9)
    assert [(link.course, link.after, link.kind, link.reason) for link in result.critical_links] == [
        ("b", None, "start", "It begins with the plan."),
        ("a", "b", "condition", "It asks for what B gives."),
    ]


def test_a_booked_course_waits_for_no_lead_time_and_a_new_one_does() -> None:
    rows = {"a": {"hours": 5.0, "lead_weeks": 2.0}}
    assert plan(build(rows), "a", "a").courses[0].first_day == MONDAY
    late = plan(build(rows), "a")
    assert late.courses[0].first_day == date(2026, 12, 14)
    assert [link.kind for link in late.critical_links] == ["release"]


def test_a_booked_course_takes_a_place_and_hours_of_the_week() -> None:
    snapshot = build({"a": {"hours": 5.0}, "b": {"hours": 5.0}})
    assert plan(snapshot, "a").finish == date(2026, 12, 4)
    both = plan(snapshot, "a", "b", at_once=1)
    assert both.finish == date(2026, 12, 11)
    assert [link.kind for link in both.critical_links] == ["start", "place"]


def test_a_booked_course_that_cannot_begin_is_told_and_not_placed() -> None:
    result = plan(build({"a": {"hours": 5.0}, "b": {"hours": 5.0}, "c": {"hours": 5.0}}, {"b": "c"}), "a", "b")
    assert list(get_days(result)) == ["a"]
    assert any("The booked course B (b) waits for" in remark for remark in result.remarks)


def test_hours_link_courses_that_nothing_else_links() -> None:
    # whole weeks of five hours each, three at once: one after the other by the hours alone
    snapshot = build({i: {"hours": 10.0} for i in "ab"})
    result = plan(snapshot, "a b", at_once=3)
    assert [link.kind for link in result.critical_links] == ["start", "hours"]
    assert result.critical_links[1].reason == f"The hours a week are taken until {result.courses[0].label} ends."
    assert all(course.is_critical for course in result.courses)


def test_no_chain_is_told_where_courses_side_by_side_share_the_hours() -> None:
    # 10 h are two weeks, and either course alone can be later: the other one takes the hours
    result = plan(build({"a": {"hours": 3.0, "weeks": 1.0}, "b": {"hours": 7.0}}), "a b")
    assert result.finish == date(2026, 12, 11)
    assert {course.id: course.slack_days for course in result.courses} == {"a": 7, "b": 3}
    assert (result.critical_chain, result.critical_links) == ((), ())
    assert "no single chain sets the finish" in result.no_chain


def test_a_long_course_alone_holds_the_finish() -> None:
    # 6 h in four weeks beside 14 h: all hours of four weeks are taken, and neither course waits for the other
    result = plan(build({"a": {"hours": 6.0, "weeks": 4.0}, "b": {"hours": 14.0}}), "a b")
    assert result.finish == date(2026, 12, 25)
    assert result.critical_chain == ("a",)
    assert result.no_chain == ""


def test_why_there_is_no_chain() -> None:
    windows = [Window(0, 1), Window(0, 3)]
    full = Problem((Task("a", 4, 1), Task("b", 4, 1)), Grid([2] * 9), 2)
    assert "use all study hours" in explain_no_chain(full, windows, [Slack(0, True)] * 2)
    loose = Problem((Task("a", 1, 1), Task("b", 1, 1)), Grid([2] * 9), 2)
    assert "gives way" in explain_no_chain(loose, windows, [Slack(1, True)] * 2)
    assert "not found out" in explain_no_chain(full, windows, [Slack(0, True), Slack(0, False)])


def build_holder() -> Snapshot:
    """Return a company in which p holds a certificate until 2026-12-24 and has ten weeks to learn."""
    return build_snapshot(
        scales=build_scale(),
        competencies=[
            {"id": "card", "label": "Card", "scale": "s", "kind": "certificate"},
            {"id": "x", "label": "X", "scale": "s"},
        ],
        roles=[{"id": "r", "label": "R"}],
        requirements=[{"role": "r", "competency": i, "level": 1} for i in ("card", "x")],
        courses=[
            {"id": "long", "label": "Long", "hours": 50.0},
            {"id": "cheap", "label": "Cheap", "hours": 1.0},
            {"id": "again", "label": "Again", "hours": 2.0, "lead_weeks": 9.0},
        ],
        outcomes=[
            {"course": "long", "competency": "x", "level": 1},
            {"course": "cheap", "competency": "card", "level": 1, "renews": True},
            {"course": "again", "competency": "card", "level": 1, "renews": True},
        ],
        teams=[{"id": "t", "label": "T"}],
        people=[{"id": "p", "name": "P", "team": "t", "study_hours_per_week": 5.0}],
        assessments=[
            {
                "person": "p",
                "competency": "card",
                "level": 1,
                "date": date(2025, 12, 24),
                "source": "certificate",
                "valid_until": date(2026, 12, 24),
            }
        ],
    )


def test_a_booked_refresher_is_the_renewal_and_ends_in_time() -> None:
    snapshot = build_holder()
    profile = build_profile(snapshot, "p", MONDAY)

    def renew(booked: str) -> ScheduleResult:
        path = find_learning_path(snapshot, profile, "r", already_booked=frozenset(booked.split()))
        return plan_schedule(snapshot, profile, path, on=MONDAY)

    plain, booked = renew(""), renew("again")
    assert [(row.renewal, row.is_in_time) for row in plain.lapsing] == [("cheap", True)]
    assert [(row.renewal, row.is_in_time) for row in booked.lapsing] == [("again", True)]
    flags = {course.id: (course.is_renewal, course.is_booked) for course in booked.courses}
    assert flags == {"long": (False, False), "again": (True, True)}
    again = next(course for course in booked.courses if course.id == "again")
    assert again.last_day <= date(2026, 12, 24)
    assert (booked.study_hours, booked.booked_hours) == (50, 2)
