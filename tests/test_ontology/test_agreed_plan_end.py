"""When what is open of an agreed plan is done, whether that is in time, and how it differs from a new plan; by hand."""

from __future__ import annotations

from datetime import date

import pytest
from agreed_cases import AGREED_ON, DAYS, DONE_A, DONE_B, ON, assess, book, build, find

from ontology.analysis.agreed.agreement import build_agreement
from ontology.analysis.paths.person_path import find_person_path
from ontology.analysis.profiles.profile import build_profile
from ontology.analysis.schedule.schedule import ScheduleResult, plan_schedule
from ontology.errors import ConflictError, InputError, UnknownIdError
from ontology.model.agreement_records import AgreedCourse, AgreedPlan
from ontology.snapshot.snapshot import Snapshot


def test_what_keeps_its_days_ends_as_agreed() -> None:
    plan = find(build(assessments=[DONE_A]))
    assert [row.state for row in plan.courses] == ["done", "under-way", "to-come"]
    assert (plan.first_day, plan.last_day) == (date(2026, 11, 16), date(2026, 12, 11))
    assert (plan.expected_end, plan.days_behind, plan.is_target_reached) == (date(2026, 12, 11), 0, True)
    assert plan.is_on_time is True
    assert plan.remarks == ()
    # anew both can begin today: a week each, one after the other or side by side
    assert (plan.best.study_hours, plan.best.finish, plan.hours_difference) == (10, date(2026, 12, 11), 0)
    assert (plan.best.courses, plan.best.added, plan.best.dropped) == (("kb", "kc"), (), ())


def test_what_is_late_begins_today_and_what_waits_for_it_after_it() -> None:
    # ka takes the week from the 30th on; kb cannot have begun without it, and has the hours after kc's own week
    plan = find(build())
    assert [(row.course, row.state, row.days_late) for row in plan.courses] == [
        ("ka", "late", 10),
        ("kb", "under-way", 0),
        ("kc", "to-come", 0),
    ]
    assert (plan.counts.late, plan.days_late) == (1, 10)
    assert (plan.expected_end, plan.days_behind) == (date(2026, 12, 18), 7)
    assert (plan.is_target_reached, plan.is_on_time) == (True, False)


def test_what_is_late_may_still_be_done_in_time_beside_what_keeps_its_days() -> None:
    # only kc is left, late since the 27th: the week from the 30th on is in time for a plan until 11 December
    days = DAYS | {"kc": (date(2026, 11, 23), date(2026, 11, 27)), "kb": (date(2026, 12, 7), date(2026, 12, 11))}
    rows = [{"plan": "plan", "course": i, "first_day": first, "last_day": last} for i, (first, last) in days.items()]
    plan = find(build(agreed_courses=rows, assessments=[DONE_A, DONE_B]))
    assert [(row.course, row.state) for row in plan.courses] == [("ka", "done"), ("kc", "late"), ("kb", "to-come")]
    # kb is held since the 27th, before its first day: open, and not needed
    assert (plan.expected_end, plan.is_on_time) == (date(2026, 12, 11), True)
    assert (plan.open_hours, plan.best.study_hours, plan.hours_difference) == (10, 5, -5)
    assert (plan.best.dropped, plan.best.added) == (("kb",), ())


def test_what_ends_before_the_day_agreed_is_not_behind() -> None:
    days = DAYS | {"kc": (date(2026, 11, 23), date(2026, 11, 27)), "kb": (date(2026, 11, 23), date(2026, 12, 11))}
    rows = [{"plan": "plan", "course": i, "first_day": first, "last_day": last} for i, (first, last) in days.items()]
    plan = find(build(agreed_courses=rows, assessments=[DONE_A, DONE_B]))
    assert (plan.counts.done, plan.counts.late) == (2, 1)
    assert (plan.expected_end, plan.days_behind, plan.is_on_time) == (date(2026, 12, 4), 0, True)


def test_a_seat_after_the_day_agreed_puts_the_end_off_and_is_told() -> None:
    plan = find(build(assessments=[DONE_A, DONE_B], **book("kc", date(2026, 12, 16))))
    assert [row.state for row in plan.courses] == ["done", "done", "booked"]
    assert (plan.expected_end, plan.days_behind, plan.is_on_time) == (date(2026, 12, 16), 5, False)
    assert plan.remarks == ("Course c is booked until 2026-12-16, after the day agreed, 2026-12-11.",)
    assert (plan.best.study_hours, plan.best.booked_hours, plan.hours_difference) == (0, 5, 0)
    assert plan.best.finish == date(2026, 12, 16)


def test_a_course_attended_counts_as_passed_for_the_end_until_an_assessment_says_otherwise() -> None:
    snapshot = build(**book("ka", date(2026, 11, 20), state="attended"))
    plan = find(snapshot)
    assert [row.state for row in plan.courses] == ["done", "under-way", "to-come"]
    assert (plan.expected_end, plan.is_target_reached, plan.is_on_time) == (date(2026, 12, 11), True, True)
    # the path from today goes by what is shown
    assert (plan.levels_reached, plan.best.added, plan.hours_difference) == (0, ("ka",), 5)


@pytest.mark.parametrize(("last_seen", "is_on_time"), [(date(2026, 12, 11), True), (date(2026, 12, 12), False)])
def test_when_all_is_done_it_counts_whether_that_was_in_time(last_seen: date, is_on_time: bool) -> None:
    plan = find(build(assessments=[DONE_A, DONE_B, assess(last_seen, competency="c")]), date(2026, 12, 20))
    assert (plan.counts.done, plan.open_hours, plan.expected_end) == (3, 0, None)
    assert (plan.levels_reached, plan.is_target_reached, plan.is_on_time) == (3, True, is_on_time)
    assert (plan.best.status, plan.best.finish, plan.hours_difference) == ("nothing-to-do", None, 0)


def test_a_target_that_what_is_open_does_not_bring_is_told() -> None:
    rows = [
        {"plan": "plan", "course": i, "first_day": first, "last_day": last}
        for i, (first, last) in DAYS.items()
        if i != "kc"
    ]
    plan = find(build(agreed_courses=rows, assessments=[DONE_A]))
    assert (plan.is_target_reached, plan.missing, plan.is_on_time) == (False, ("c",), False)
    assert (plan.best.added, plan.hours_difference) == (("kc",), 5)


def test_without_hours_or_requirements_it_cannot_be_told_whether_it_is_in_time() -> None:
    nobody = build(people=[{"id": "p", "name": "P", "study_hours_per_week": 0.0}])
    plan = find(nobody)
    assert (plan.is_on_time, plan.expected_end, plan.best.finish) == (None, None, None)
    assert plan.remarks == ("No hours a week are free for study: give the hours a week.",)
    assert (plan.best.study_hours, plan.hours_difference) == (15, 0)
    empty = find(build(agreed_plans=[{"id": "plan", "person": "p", "role": "empty", "agreed_on": AGREED_ON}]))
    assert (empty.is_on_time, empty.levels_planned) == (None, 0)
    assert empty.remarks == ("The role asks for nothing: there is no target.",)
    assert empty.hours_difference == -15


def plan_for(snapshot: Snapshot, role: str = "r", on: date = ON) -> ScheduleResult:
    return plan_schedule(snapshot, build_profile(snapshot, "p", on), find_person_path(snapshot, "p", role, on), on=on)


def test_a_schedule_is_written_down_with_its_days_under_an_id_of_person_and_day() -> None:
    snapshot = build(agreed_plans=[], agreed_courses=[])
    schedule = plan_for(snapshot)
    plan, courses = build_agreement(snapshot, "p", schedule, ON, agreed_with="lead", note="Fridays")
    assert plan == AgreedPlan("p-2026-11-30", "p", "r", ON, "lead", "Fridays", None)
    assert courses == tuple(AgreedCourse(plan.id, row.id, row.first_day, row.last_day) for row in schedule.courses)
    assert len(courses) == 3
    taken = build(agreed_plans=[{"id": plan.id, "person": "p", "role": "r", "agreed_on": ON, "ended_on": ON}])
    again, _ = build_agreement(taken, "p", schedule, ON)
    assert again.id == "p-2026-11-30-2"


def test_what_cannot_be_agreed_is_refused_with_the_reason() -> None:
    with pytest.raises(ConflictError, match="A plan was agreed on 2026-11-02 and has not ended"):
        build_agreement(build(), "p", plan_for(build()), ON)
    free = build(agreed_plans=[], agreed_courses=[])
    with pytest.raises(InputError, match="nothing to agree on for Empty: it has no requirements"):
        build_agreement(free, "p", plan_for(free, "empty"), ON)
    with pytest.raises(InputError, match="nothing to agree on for Far: no course can be planned"):
        build_agreement(free, "p", plan_for(free, "far"), ON)
    able = build(
        agreed_plans=[], agreed_courses=[], assessments=[DONE_A, DONE_B, assess(date(2026, 11, 20), competency="c")]
    )
    with pytest.raises(InputError, match="nothing to agree on for R: nothing has to be learned"):
        build_agreement(able, "p", plan_for(able), ON)
    with pytest.raises(UnknownIdError):
        build_agreement(free, "nobody", plan_for(free), ON)
