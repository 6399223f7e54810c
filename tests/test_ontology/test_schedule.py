"""Calendars of learning paths worked out by hand: hours, weeks, lead time, holidays, conditions."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.paths.learning_path import LearningPathResult, find_path_to_levels
from ontology.analysis.profiles.profile import Profile, build_profile
from ontology.analysis.schedule.schedule import ScheduleResult, plan_schedule
from ontology.analysis.schedule.study_calendar import Grid, StudyCalendar
from ontology.errors import InputError
from ontology.snapshot.snapshot import Snapshot

#: A Monday.
MONDAY = date(2026, 11, 30)


def build(courses: dict[str, dict[str, Any]], conditions: dict[str, str] | None = None) -> Snapshot:
    """Return a company of courses that each reach level 1 of the competency of their name."""
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies(" ".join(courses)),
        courses=[{"id": i, "label": i.title()} | row for i, row in courses.items()],
        outcomes=[{"course": i, "competency": i, "level": 1} for i in courses],
        entry_conditions=[
            {"course": i, "competency": other, "level": 1}
            for i, others in (conditions or {}).items()
            for other in others.split()
        ],
    )


def find_path(snapshot: Snapshot, profile: Profile | None = None) -> LearningPathResult:
    return find_path_to_levels(snapshot, profile or Profile({}), dict.fromkeys(snapshot.courses, 1))


def plan(snapshot: Snapshot, *, on: date = MONDAY, rate: float = 5.0, **more: Any) -> ScheduleResult:
    profile = Profile({}, study_hours_per_week=rate)
    result = plan_schedule(snapshot, profile, find_path(snapshot, profile), on=on, **more)
    assert result.status == "optimal"
    assert result.lower_bound == result.finish
    return result


def get_days(result: ScheduleResult) -> dict[str, tuple[str, str]]:
    return {c.id: (c.first_day.isoformat(), c.last_day.isoformat()) for c in result.courses}


def test_ten_hours_at_five_a_week_take_two_weeks_from_monday_to_friday() -> None:
    result = plan(build({"a": {"hours": 10.0}}))
    assert get_days(result) == {"a": ("2026-11-30", "2026-12-11")}
    (course,) = result.courses
    assert (course.hours_per_week, course.slack_days, course.is_critical) == (5, 0, True)
    assert [(w.monday, w.study_hours) for w in course.weeks] == [(MONDAY, 5), (date(2026, 12, 7), 5)]


def test_a_holiday_takes_its_share_of_the_hours_and_no_day_begins_or_ends_on_it() -> None:
    result = plan(build({"a": {"hours": 10.0}}), holidays=[MONDAY, date(2026, 12, 14), date(2026, 12, 13)])
    # an hour a day: nine days from Tuesday to Friday week, one more on the Tuesday after the second holiday
    assert get_days(result) == {"a": ("2026-12-01", "2026-12-15")}
    assert result.holidays == (MONDAY, date(2026, 12, 14))


@pytest.mark.parametrize("weekend", [date(2026, 11, 28), date(2026, 11, 29)])
def test_a_plan_that_starts_on_a_weekend_begins_on_monday(weekend: date) -> None:
    result = plan(build({"a": {"hours": 5.0}}), on=weekend)
    assert get_days(result) == {"a": ("2026-11-30", "2026-12-04")}


def test_a_plan_that_starts_on_a_wednesday_ends_on_a_tuesday() -> None:
    result = plan(build({"a": {"hours": 5.0}}), on=date(2026, 12, 2))
    assert get_days(result) == {"a": ("2026-12-02", "2026-12-08")}


def test_a_course_takes_its_own_weeks_and_its_hours_are_spread_over_them() -> None:
    result = plan(build({"a": {"hours": 4.0, "weeks": 4.0}}))
    assert get_days(result) == {"a": ("2026-11-30", "2026-12-25")}
    assert [week.study_hours for week in result.courses[0].weeks] == [1, 1, 1, 1]


def test_courses_side_by_side_share_the_hours() -> None:
    # 8 + 2 hours: two weeks, whatever runs when; the long one is spread over its two weeks
    snapshot = build({"a": {"hours": 8.0, "weeks": 2.0}, "b": {"hours": 2.0}})
    result = plan(snapshot)
    assert result.finish == date(2026, 12, 11)
    assert sum(week.study_hours for course in result.courses for week in course.weeks) == 10


def test_at_most_so_many_run_at_once() -> None:
    rows = {i: {"hours": 1.0, "weeks": 2.0} for i in "abc"}
    assert plan(build(rows), at_once=3).finish == date(2026, 12, 11)
    assert plan(build(rows), at_once=2).finish == date(2026, 12, 25)
    assert plan(build(rows), at_once=1).finish == date(2027, 1, 8)


def test_a_course_waits_for_what_it_asks_and_begins_the_day_after() -> None:
    result = plan(build({"a": {"hours": 5.0}, "b": {"hours": 5.0}}, {"a": "b"}))
    assert get_days(result) == {"b": ("2026-11-30", "2026-12-04"), "a": ("2026-12-07", "2026-12-11")}
    assert {course.id: course.waits_for for course in result.courses} == {"b": (), "a": ("b",)}
    assert result.critical_chain == ("b", "a")


def test_a_condition_is_met_by_the_first_of_several_suppliers() -> None:
    snapshot = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("x y z"),
        courses=[
            {"id": "long", "label": "Long", "hours": 1.0, "weeks": 8.0},
            {"id": "short", "label": "Short", "hours": 1.0, "weeks": 1.0},
            {"id": "last", "label": "Last", "hours": 1.0, "weeks": 1.0},
        ],
        outcomes=[
            {"course": "long", "competency": "x", "level": 2},
            {"course": "short", "competency": "x", "level": 1},
            {"course": "short", "competency": "y", "level": 1},
            {"course": "last", "competency": "z", "level": 1},
        ],
        entry_conditions=[{"course": "last", "competency": "x", "level": 1}],
    )
    profile = Profile({}, study_hours_per_week=5.0)
    path = find_path_to_levels(snapshot, profile, {"x": 2, "y": 1, "z": 1})
    result = plan_schedule(snapshot, profile, path, on=MONDAY)
    days = get_days(result)
    assert days["short"] == ("2026-11-30", "2026-12-04")
    assert days["last"][0] >= "2026-12-07"
    assert result.finish == date(2027, 1, 22)
    assert next(course for course in result.courses if course.id == "last").waits_for == ("short",)


def test_a_course_that_gives_too_low_a_level_meets_no_condition() -> None:
    snapshot = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("x y"),
        courses=[{"id": i, "label": i, "hours": 5.0} for i in ("low", "high", "last")],
        outcomes=[
            {"course": "low", "competency": "x", "level": 1},
            {"course": "high", "competency": "x", "level": 2},
            {"course": "last", "competency": "y", "level": 1},
        ],
        entry_conditions=[
            {"course": "high", "competency": "x", "level": 1},
            {"course": "last", "competency": "x", "level": 2},
        ],
    )
    profile = Profile({}, study_hours_per_week=5.0)
    result = plan_schedule(snapshot, profile, find_path_to_levels(snapshot, profile, {"x": 2, "y": 1}), on=MONDAY)
    assert [course.id for course in result.courses] == ["low", "high", "last"]
    assert {course.id: course.waits_for for course in result.courses} == {
        "low": (),
        "high": ("low",),
        "last": ("high",),
    }


def test_a_condition_held_at_the_start_is_not_waited_for() -> None:
    snapshot = build({"a": {"hours": 5.0}, "b": {"hours": 5.0}}, {"a": "b"})
    profile = Profile({"b": 1}, study_hours_per_week=5.0)
    result = plan_schedule(snapshot, profile, find_path(snapshot, profile), on=MONDAY)
    assert get_days(result) == {"a": ("2026-11-30", "2026-12-04")}


def test_a_course_begins_no_earlier_than_its_lead_weeks() -> None:
    result = plan(build({"a": {"hours": 5.0, "lead_weeks": 2.0}}))
    assert get_days(result) == {"a": ("2026-12-14", "2026-12-18")}


def test_parts_of_a_week_are_rounded_up_to_days() -> None:
    # half a week is 3.5 days: from Monday to Friday; 0.3 weeks are 1.5 days of study
    late = plan(build({"a": {"hours": 1.0, "lead_weeks": 0.5}}))
    assert late.courses[0].first_day == date(2026, 12, 4)
    assert get_days(plan(build({"a": {"hours": 0.1, "weeks": 0.3}}))) == {"a": ("2026-11-30", "2026-12-01")}


def test_courses_stand_in_the_order_of_their_first_days() -> None:
    result = plan(build({"b": {"hours": 1.0, "weeks": 4.0}, "a": {"hours": 1.0, "weeks": 1.0, "lead_weeks": 1.0}}))
    assert [course.id for course in result.courses] == ["b", "a"]


def test_a_schedule_that_is_not_proved_is_feasible() -> None:
    # three courses of two weeks, two at once: four weeks, and three by the sum
    snapshot = build({i: {"hours": 1.0, "weeks": 2.0} for i in "abc"})
    profile = Profile({}, study_hours_per_week=5.0)
    result = plan_schedule(snapshot, profile, find_path(snapshot, profile), on=MONDAY, max_nodes=0)
    assert (result.status, result.finish) == ("feasible", date(2026, 12, 25))


def test_a_place_that_is_taken_is_a_link_of_the_critical_chain() -> None:
    result = plan(build({"a": {"hours": 1.0, "weeks": 2.0}, "b": {"hours": 1.0, "weeks": 2.0}}), at_once=1)
    assert sorted(result.critical_chain) == ["a", "b"]


def test_hours_a_week_of_less_than_a_minute_count_as_one() -> None:
    result = plan(build({"a": {"hours": 0.1}}), rate=0.001)
    assert get_days(result) == {"a": ("2026-11-30", "2027-01-08")}


def test_the_slot_before_has_earned_what_takes_no_work() -> None:
    assert [Grid([5, 5]).find_earned(1, work) for work in (0, 5, 6)] == [0, 1, 2]


def test_slack_is_what_a_course_can_be_late() -> None:
    result = plan(build({"a": {"hours": 1.0, "weeks": 4.0}, "b": {"hours": 1.0, "weeks": 1.0}}))
    slack = {course.id: (course.slack_days, course.is_critical) for course in result.courses}
    assert slack == {"a": (0, True), "b": (21, False)}


def test_the_answer_says_that_the_hours_decide() -> None:
    assert any("hours a week decide" in line for line in plan(build({"a": {"hours": 10.0}})).remarks)
    assert not plan(build({"a": {"hours": 1.0, "weeks": 4.0}})).remarks


def test_nothing_to_do_has_no_finish() -> None:
    snapshot = build({"a": {"hours": 10.0}})
    profile = Profile({"a": 1})
    result = plan_schedule(snapshot, profile, find_path(snapshot, profile), on=MONDAY)
    assert (result.status, result.finish, result.lower_bound, result.courses) == ("nothing-to-do", None, None, ())


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"study_hours_per_week": 0.0}, "No hours a week"),
        ({"at_once": 0}, "At least one course"),
        ({"start": date(2026, 11, 29)}, "before the day asked about"),
    ],
)
def test_a_wrong_question_is_told(wrong: dict[str, Any], words: str) -> None:
    snapshot = build({"a": {"hours": 10.0}})
    with pytest.raises(InputError, match=words):
        plan_schedule(snapshot, Profile({}), find_path(snapshot), on=MONDAY, **wrong)


def test_a_plan_of_more_than_fifty_years_is_a_wrong_question() -> None:
    snapshot = build({"a": {"hours": 100_000.0}})
    with pytest.raises(InputError, match="fifty years"):
        plan_schedule(snapshot, Profile({}), find_path(snapshot), on=MONDAY)
    with pytest.raises(InputError, match="9999"):
        plan_schedule(build({"a": {"hours": 9.0}}), Profile({}), find_path(snapshot), on=date(9999, 12, 30))


@pytest.mark.parametrize("first", [date(2026, 11, 23 + n) for n in range(7)])
def test_slots_and_days_lead_to_each_other(first: date) -> None:
    calendar = StudyCalendar(first, 300)
    for slot in range(12):
        day = calendar.get_day(slot)
        assert day >= first
        assert day.weekday() < 5
        assert calendar.get_slot(day) == calendar.get_last_slot(day) == slot
    friday = next(calendar.get_day(s) for s in range(5) if calendar.get_day(s).weekday() == 4)
    saturday = friday.replace(day=friday.day + 1) if friday.day < 30 else friday
    if saturday != friday:
        assert calendar.get_slot(saturday) == calendar.get_slot(friday) + 1
        assert calendar.get_last_slot(saturday) == calendar.get_slot(friday)


def test_days_on_which_the_person_is_away_are_days_without_study() -> None:
    snapshot = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("a"),
        courses=[{"id": "a", "label": "A", "hours": 5.0}],
        outcomes=[{"course": "a", "competency": "a", "level": 1}],
        teams=[{"id": "t", "label": "T"}],
        people=[{"id": "p", "name": "P", "team": "t", "study_hours_per_week": 5.0}],
        absences=[
            {"person": "p", "from_date": date(2026, 11, 1), "to_date": date(2026, 12, 1)},
            {"person": "p", "from_date": date(2026, 12, 4), "to_date": date(2026, 12, 7)},
            {"person": "p", "from_date": date(2027, 6, 1), "to_date": date.max},
        ],
    )
    profile = build_profile(snapshot, "p", MONDAY)
    result = plan_schedule(snapshot, profile, find_path(snapshot, profile), on=MONDAY)
    # away on Monday, Tuesday, Friday and the Monday after
    assert get_days(result) == {"a": ("2026-12-02", "2026-12-10")}
    assert [day.day for day in result.holidays] == [30, 1, 4, 7]
