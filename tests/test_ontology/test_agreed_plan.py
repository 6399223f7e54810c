"""How the courses of an agreed plan stand: every state, and which comes first; by hand."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from agreed_cases import AGREED_ON, ON, Rows, assess, find
from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.agreed.agreed_plan import find_agreed_plans
from ontology.errors import UnknownIdError
from ontology.snapshot.snapshot import Snapshot

FIRST, LAST = date(2026, 11, 16), date(2026, 12, 4)
DAY = timedelta(days=1)


def build(*, first: date = FIRST, last: date = LAST, **more: list[dict[str, Any]]) -> Snapshot:
    """Return a company in which one course of a plan to role r, for a and b, is ka: 5 h, a week at 5 h a week."""
    rows: Rows = {
        "scales": build_scale(),
        "competencies": build_competencies("a b"),
        "roles": [{"id": "r", "label": "R"}],
        "requirements": [{"role": "r", "competency": "a", "level": 2}],
        "courses": [{"id": f"k{i}", "label": f"Course {i}", "hours": 5.0} for i in "ab"],
        "outcomes": [{"course": f"k{i}", "competency": i, "level": 2} for i in "ab"],
        "people": [{"id": "p", "name": "P", "study_hours_per_week": 5.0}],
        "agreed_plans": [{"id": "plan", "person": "p", "role": "r", "agreed_on": AGREED_ON}],
        "agreed_courses": [{"plan": "plan", "course": "ka", "first_day": first, "last_day": last}],
    }
    return build_snapshot(**(rows | more))


def seat(first: date, last: date | None = None, *, state: str = "booked", id: str = "s", **more: Any) -> Rows:
    """Return a session of ka with a booking of p."""
    session = {"id": id, "course": "ka", "from_date": first, "to_date": last or first, "state": "confirmed"} | more
    return {"sessions": [session], "bookings": [{"session": id, "person": "p", "state": state}]}


def join(*parts: Rows) -> Rows:
    return {name: [row for part in parts for row in part.get(name, [])] for part in parts for name in part}


@pytest.mark.parametrize(
    ("first", "last", "state", "days_late"),
    [
        (ON + DAY, ON + 9 * DAY, "to-come", 0),
        (ON, ON + 9 * DAY, "under-way", 0),
        (FIRST, ON, "under-way", 0),
        (FIRST, ON - DAY, "late", 1),
        (FIRST, FIRST, "late", 14),
    ],
)
def test_what_is_neither_done_nor_booked_is_as_its_days_say(
    first: date, last: date, state: str, days_late: int
) -> None:
    plan = find(build(first=first, last=last))
    (row,) = plan.courses
    assert (row.course, row.state, row.days_late, row.done_on, row.is_confirmed) == (
        "ka",
        state,
        days_late,
        None,
        False,
    )
    assert (row.first_day, row.last_day, row.study_hours) == (first, last, 5)
    assert plan.days_late == days_late
    assert plan.open_hours == 5


@pytest.mark.parametrize("days", [(FIRST, ON - DAY), (FIRST, LAST), (ON + DAY, LAST)])
def test_booked_comes_before_late_under_way_and_to_come(days: tuple[date, date]) -> None:
    plan = find(build(first=days[0], last=days[1], **seat(date(2026, 12, 2), date(2026, 12, 3))))
    (row,) = plan.courses
    assert (row.state, row.days_late, row.session) == ("booked", 0, "s")
    assert (row.session_first_day, row.session_last_day) == (date(2026, 12, 2), date(2026, 12, 3))
    assert (plan.counts.booked, plan.counts.late, plan.open_hours) == (1, 0, 5)


@pytest.mark.parametrize(
    ("seats", "state"),
    [
        (seat(FIRST, ON), "booked"),
        (seat(FIRST, ON - DAY), "under-way"),
        (seat(ON + DAY, state="waiting"), "under-way"),
        (seat(ON + DAY, state="missed"), "under-way"),
    ],
)
def test_a_seat_is_one_in_a_session_that_is_not_over(seats: Rows, state: str) -> None:
    assert find(build(**seats)).courses[0].state == state


def test_a_session_attended_since_the_plan_was_agreed_is_done_before_anything_else() -> None:
    later = seat(ON + DAY, id="t")
    plan = find(build(last=ON - DAY, **join(seat(FIRST, FIRST + DAY, state="attended"), later)))
    (row,) = plan.courses
    assert (row.state, row.done_on, row.session, row.is_confirmed) == ("done", FIRST + DAY, "s", False)
    assert (plan.open_hours, plan.counts.done) == (0, 1)
    # nothing shows yet what came of it: the path from today asks for the course again, for which there is a seat
    assert (plan.levels_reached, plan.hours_difference) == (0, 5)
    assert plan.remarks[0].startswith("Course a was attended until 2026-11-17, and no assessment shows its outcomes")


@pytest.mark.parametrize(
    ("first", "last", "is_done"),
    [
        (AGREED_ON - DAY, AGREED_ON, True),
        (AGREED_ON - DAY, AGREED_ON - DAY, False),
        (ON, ON, True),
        (ON, ON + DAY, False),
    ],
)
def test_which_session_attended_counts(first: date, last: date, is_done: bool) -> None:
    assert (find(build(**seat(first, last, state="attended"))).courses[0].state == "done") == is_done


def test_a_session_that_was_cancelled_or_of_another_course_was_not_attended() -> None:
    assert find(build(**seat(FIRST, state="attended") | {})).courses[0].state == "done"
    cancelled = seat(FIRST, state="attended")
    cancelled["sessions"][0]["state"] = "cancelled"
    other = seat(FIRST, state="attended", course="kb")
    assert [find(build(**rows)).courses[0].state for rows in (cancelled, other)] == ["under-way"] * 2


@pytest.mark.parametrize(
    ("assessments", "is_done"),
    [
        ([assess(FIRST)], True),
        ([assess(FIRST, 3)], True),
        ([assess(ON)], True),
        ([assess(FIRST - DAY)], False),
        ([assess(ON + DAY)], False),
        ([assess(FIRST, 1)], False),
        ([assess(FIRST, source="manager")], True),
        ([assess(FIRST, source="self")], False),
        ([assess(FIRST, competency="b")], False),
        ([assess(FIRST, withdrawn_on=FIRST + DAY)], False),
        # a lower one later takes the level, not the course
        ([assess(FIRST), assess(FIRST + DAY, 1)], True),
        # of one day and source the lower counts
        ([assess(FIRST, assessor="x"), assess(FIRST, 1, assessor="y")], False),
    ],
)
def test_which_assessment_shows_that_a_course_is_done(assessments: list[dict[str, Any]], is_done: bool) -> None:
    (row,) = find(build(assessments=assessments)).courses
    assert (row.state == "done", row.is_confirmed) == (is_done, is_done)
    assert row.done_on == (assessments[0]["date"] if is_done else None)


@pytest.mark.parametrize(
    ("kind", "seen"),
    [
        # what is held from before is not shown anew by what does not count, or gives less
        ("skill", assess(FIRST, source="self")),
        ("skill", assess(FIRST, withdrawn_on=FIRST)),
        ("certificate", assess(FIRST, 1, source="certificate")),
        ("certificate", assess(FIRST, source="assessor")),
    ],
)
def test_what_was_held_before_the_first_day_is_not_what_came_of_the_course(kind: str, seen: dict[str, Any]) -> None:
    before = assess(FIRST - DAY, source="certificate" if kind == "certificate" else "assessor")
    plan = find(build(competencies=build_competencies("a b", kind=kind), assessments=[before, seen]))
    assert (plan.levels_reached, plan.courses[0].state) == (1, "under-way")


def test_of_a_session_and_an_assessment_the_first_says_when_it_was_done() -> None:
    attended = seat(FIRST, FIRST + DAY, state="attended")
    (row,) = find(build(assessments=[assess(FIRST + 3 * DAY)], **attended)).courses
    assert (row.done_on, row.is_confirmed, row.session) == (FIRST + DAY, True, "s")
    (row,) = find(build(assessments=[assess(FIRST)], **attended)).courses
    assert row.done_on == FIRST


def test_a_seat_until_the_day_agreed_is_not_told_as_too_late() -> None:
    assert find(build(**seat(LAST))).remarks == ()
    assert len(find(build(**seat(LAST + DAY))).remarks) == 1


def test_a_manager_shows_nothing_above_the_assessor_where_that_can_hurt_someone() -> None:
    found = [assess(FIRST, 1), assess(FIRST + DAY, source="manager")]
    assert find(build(assessments=found)).courses[0].state == "done"
    careful = build(competencies=build_competencies("a b", safety=True), assessments=found)
    assert find(careful).courses[0].state == "under-way"


def test_a_certificate_is_shown_by_a_certificate_alone_and_stays_shown_when_it_has_lapsed() -> None:
    kinds = build_competencies("a b", kind="certificate")
    seen = [assess(FIRST, source="assessor")]
    assert find(build(competencies=kinds, assessments=seen)).courses[0].state == "under-way"
    lapsed = [assess(FIRST, source="certificate", valid_until=FIRST + DAY)]
    plan = find(build(competencies=kinds, assessments=lapsed))
    assert plan.courses[0].state == "done"
    assert (plan.levels_reached, plan.levels[0].have) == (0, 0)


def test_what_counts_as_the_outcome_shows_it_on_days_on_which_it_does() -> None:
    rows = {"competency": "b", "counts_as": "a", "level": 1, "as_level": 2}
    seen = [assess(FIRST, 1, competency="b")]
    assert find(build(equivalences=[rows], assessments=seen)).courses[0].state == "done"
    over = rows | {"to_date": FIRST - DAY}
    assert find(build(equivalences=[over], assessments=seen)).courses[0].state == "under-way"
    less = rows | {"as_level": 1}
    assert find(build(equivalences=[less], assessments=seen)).courses[0].state == "under-way"


def test_every_outcome_has_to_be_shown_and_the_last_one_says_when() -> None:
    both = [{"course": "ka", "competency": i, "level": 2} for i in "ab"]
    seen = [assess(FIRST), assess(FIRST + 3 * DAY, competency="b"), assess(FIRST + 5 * DAY, competency="b")]
    (row,) = find(build(outcomes=both, assessments=seen)).courses
    assert (row.state, row.done_on) == ("done", FIRST + 3 * DAY)
    assert find(build(outcomes=both, assessments=seen[:1])).courses[0].state == "under-way"


def test_a_course_without_outcomes_is_done_by_a_session_alone() -> None:
    assert find(build(outcomes=[])).courses[0].state == "under-way"
    (row,) = find(build(outcomes=[], **seat(FIRST, state="attended"))).courses
    assert (row.state, row.is_confirmed) == ("done", True)


def test_plans_in_force_stand_with_the_latest_first_and_nothing_in_force_is_an_answer() -> None:
    plan = {"person": "p", "role": "r", "agreed_on": AGREED_ON}
    plans = [
        {"id": "old", **plan, "agreed_on": AGREED_ON - DAY},
        {"id": "b", **plan},
        {"id": "a", **plan},
        {"id": "ended", **plan, "ended_on": ON},
        {"id": "ends", **plan, "ended_on": ON + DAY},
        {"id": "later", **plan, "agreed_on": ON + DAY},
        {"id": "today", **plan, "agreed_on": ON},
    ]
    found = find_agreed_plans(build(agreed_plans=plans, agreed_courses=[]), "p", on=ON)
    assert [row.id for row in found.plans] == ["today", "a", "b", "ends", "old"]
    assert found.remarks == ()
    none = find_agreed_plans(build(agreed_plans=[], agreed_courses=[]), "p", on=ON)
    assert none.plans == ()
    assert none.remarks == (f"No agreed plan is in force on {ON}: write down what is agreed, then ask again.",)
    with pytest.raises(UnknownIdError):
        find_agreed_plans(build(), "nobody", on=ON)


def test_levels_are_the_targets_of_the_role_with_the_courses_that_bring_them() -> None:
    asked = [
        {"role": "r", "competency": "a", "level": 2},
        {"role": "r", "competency": "b", "level": 1},
        {"role": "r", "competency": "c", "level": 1, "necessity": "desirable"},
    ]
    snapshot = build(
        competencies=build_competencies("a b c"), requirements=asked, assessments=[assess(FIRST - DAY, competency="b")]
    )
    plan = find(snapshot)
    assert [(row.competency, row.level, row.have, row.is_reached, row.courses) for row in plan.levels] == [
        ("a", 2, 0, False, ("ka",)),
        ("b", 1, 2, True, ()),
    ]
    assert (plan.levels_reached, plan.levels_planned) == (1, 2)
