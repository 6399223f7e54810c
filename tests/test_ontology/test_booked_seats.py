"""A seat in a session is taken as booked by path and schedule, on its own days: worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.paths.learning_path import LearningPathResult
from ontology.analysis.paths.person_path import find_person_path
from ontology.analysis.profiles.profile import build_profile
from ontology.analysis.schedule.schedule import ScheduleResult, plan_schedule
from ontology.snapshot.snapshot import Snapshot

#: A Monday.
MONDAY = date(2026, 11, 30)


def session(id: str, course: str, first: date, last: date | None = None, **more: Any) -> dict[str, Any]:
    return {"id": id, "course": course, "from_date": first, "to_date": last or first} | more


def booking(session: str, **more: Any) -> dict[str, Any]:
    return {"session": session, "person": "p"} | more


def build(*tables: tuple[str, list[dict[str, Any]]], **more: list[dict[str, Any]]) -> Snapshot:
    """Return a company in which role r asks for a and b, and b's course for a; instruction c leads nowhere near."""
    rows: dict[str, list[dict[str, Any]]] = {
        "scales": build_scale(),
        "competencies": build_competencies("a b c"),
        "roles": [{"id": "r", "label": "R"}],
        "requirements": [{"role": "r", "competency": i, "level": 1} for i in "ab"],
        "courses": [{"id": f"k{i}", "label": f"Course {i}", "hours": 5.0} for i in "abc"],
        "outcomes": [{"course": f"k{i}", "competency": i, "level": 1} for i in "abc"],
        "entry_conditions": [{"course": "kb", "competency": "a", "level": 1}],
        "people": [{"id": "p", "name": "P", "study_hours_per_week": 5.0}],
    }
    return build_snapshot(**(rows | dict(tables) | more))


def find(snapshot: Snapshot, **options: Any) -> LearningPathResult:
    return find_person_path(snapshot, "p", "r", MONDAY, **options)


def plan(snapshot: Snapshot, **more: Any) -> ScheduleResult:
    return plan_schedule(snapshot, build_profile(snapshot, "p", MONDAY), find(snapshot), on=MONDAY, **more)


def get_days(result: ScheduleResult) -> dict[str, tuple[str, str]]:
    return {c.id: (c.first_day.isoformat(), c.last_day.isoformat()) for c in result.courses}


def test_a_seat_is_taken_as_booked_and_told_with_its_session() -> None:
    path = find(build(sessions=[session("s", "ka", date(2026, 12, 9), date(2026, 12, 10))], bookings=[booking("s")]))
    assert [row.id for row in path.courses] == ["kb"]
    assert (path.study_hours, path.booked_hours) == (5, 5)
    (row,) = path.booked
    assert (row.id, row.session, row.first_day, row.last_day) == ("ka", "s", date(2026, 12, 9), date(2026, 12, 10))
    assert row.is_possible
    assert "Taken as booked: Course a (ka), a seat in session s, 2026-12-09 to 2026-12-10." in path.remarks


def test_a_seat_that_leads_nowhere_near_the_role_is_no_part_of_the_path() -> None:
    seat = {"sessions": [session("s", "kc", date(2027, 6, 1))], "bookings": [booking("s")]}
    assert find(build(**seat)) == find(build())
    assert plan(build(**seat)) == plan(build())


@pytest.mark.parametrize(
    ("held", "seat"),
    [
        (session("s", "ka", date(2026, 11, 27), date(2026, 11, 29)), booking("s")),
        (session("s", "ka", date(2026, 12, 9), state="cancelled"), booking("s")),
        *((session("s", "ka", date(2026, 12, 9)), booking("s", state=state)) for state in ("asked", "waiting")),
        *((session("s", "ka", date(2026, 12, 9)), booking("s", state=state)) for state in ("missed", "cancelled")),
    ],
)
def test_what_is_over_cancelled_or_only_wished_for_is_no_seat(held: dict[str, Any], seat: dict[str, Any]) -> None:
    assert find(build(sessions=[held], bookings=[seat])) == find(build())


def test_a_session_counts_on_its_last_day_and_of_two_the_one_that_ends_first() -> None:
    today = session("s", "ka", date(2026, 11, 27), MONDAY)
    assert [row.session for row in find(build(sessions=[today], bookings=[booking("s")])).booked] == ["s"]
    two = [session("s", "ka", date(2026, 12, 9)), session("t", "ka", date(2026, 12, 2))]
    assert [row.session for row in find(build(sessions=two, bookings=[booking("s"), booking("t")])).booked] == ["t"]


def test_who_excludes_a_course_does_without_the_seat() -> None:
    snapshot = build(sessions=[session("s", "ka", date(2026, 12, 9))], bookings=[booking("s")])
    path = find(snapshot, exclude=frozenset({"ka"}))
    assert (path.booked, path.status) == ((), "unreachable")
    named = find(snapshot, already_booked=frozenset({"ka"}))
    assert named == find(snapshot)


def test_a_seat_is_placed_on_the_days_of_its_session_and_what_asks_for_it_comes_after() -> None:
    snapshot = build(sessions=[session("s", "ka", date(2026, 12, 9), date(2026, 12, 10))], bookings=[booking("s")])
    result = plan(snapshot)
    # the 5 h of the session are owed from 9 December on, a week of study: until the 15th
    assert get_days(result) == {"ka": ("2026-12-09", "2026-12-10"), "kb": ("2026-12-16", "2026-12-22")}
    assert result.finish == date(2026, 12, 22) == result.lower_bound
    assert result.status == "optimal"
    assert [(c.id, c.is_booked, c.slack_days) for c in result.courses] == [("ka", True, 0), ("kb", False, 0)]
    assert (result.study_hours, result.booked_hours) == (5, 5)
    assert not any("not known here" in remark or "cannot be taken" in remark for remark in result.remarks)
    # 9 days until the session is over, then a week for the other
    assert find(snapshot).last_day == date(2026, 12, 17)


def test_the_critical_chain_says_that_a_seat_cannot_be_had_earlier() -> None:
    seat = session("s", "ka", date(2026, 12, 7), date(2026, 12, 11))
    result = plan(build(sessions=[seat], bookings=[booking("s")]))
    assert result.critical_chain == ("ka", "kb")
    assert [link.kind for link in result.critical_links] == ["release", "condition"]
    assert result.critical_links[0].reason == "It is held on days of its own: a seat is booked."


def test_a_session_at_a_weekend_keeps_its_days() -> None:
    seat = session("s", "kb", date(2026, 12, 12), date(2026, 12, 13))
    result = plan(build(sessions=[seat], bookings=[booking("s")]))
    assert get_days(result) == {"ka": ("2026-11-30", "2026-12-04"), "kb": ("2026-12-12", "2026-12-13")}
    assert result.finish == date(2026, 12, 13)
    assert result.lower_bound == result.finish


def test_a_session_under_way_is_shown_from_the_beginning_of_the_plan() -> None:
    seat = session("s", "ka", date(2026, 11, 26), date(2026, 12, 1))
    assert get_days(plan(build(sessions=[seat], bookings=[booking("s")])))["ka"] == ("2026-11-30", "2026-12-01")


def test_a_day_without_study_is_no_day_without_the_session() -> None:
    seat = session("s", "kb", date(2026, 12, 14), date(2026, 12, 16))
    result = plan(build(sessions=[seat], bookings=[booking("s")]), holidays=(date(2026, 12, 14),))
    assert get_days(result)["kb"] == ("2026-12-14", "2026-12-16")


def test_a_seat_before_what_it_asks_for_is_moved_and_told() -> None:
    # course a takes the whole first week
    seat = session("s", "kb", date(2026, 12, 2), date(2026, 12, 3))
    result = plan(build(sessions=[seat], bookings=[booking("s")]))
    assert get_days(result) == {"ka": ("2026-11-30", "2026-12-04"), "kb": ("2026-12-07", "2026-12-08")}
    (told,) = [remark for remark in result.remarks if "book another session" in remark]
    assert told.startswith("Course b is booked from 2026-12-02 to 2026-12-03, and cannot be taken there")


def test_one_seat_that_cannot_be_kept_moves_no_other() -> None:
    # three instructions for the role; b's seat comes before a is held, and two seats are on one day of the plan
    snapshot = build(
        requirements=[{"role": "r", "competency": i, "level": 1} for i in "abc"],
        sessions=[session("s", "kb", date(2026, 12, 2)), session("t", "kc", date(2026, 12, 3))],
        bookings=[booking("s"), booking("t")],
    )
    result = plan(snapshot)
    assert get_days(result)["kc"] == ("2026-12-03", "2026-12-03")
    assert ["Course b" in remark for remark in result.remarks if "cannot be taken there" in remark] == [True]


def test_of_two_seats_on_one_day_that_cannot_both_be_kept_the_later_gives_way() -> None:
    free = {"entry_conditions": [], "bookings": [booking("s"), booking("t")]}
    held = [session("s", "ka", date(2026, 12, 2), date(2026, 12, 4)), session("t", "kb", date(2026, 12, 3))]
    both = plan(build(sessions=held, **free))
    assert get_days(both) == {"ka": ("2026-12-02", "2026-12-04"), "kb": ("2026-12-03", "2026-12-03")}
    one = plan(build(sessions=held, **free), at_once=1)
    assert get_days(one) == {"ka": ("2026-12-02", "2026-12-04"), "kb": ("2026-12-07", "2026-12-07")}
    # also where the whole would be shorter if both gave way to a third
    asked = [{"role": "r", "competency": i, "level": 1} for i in "abc"]
    three = plan(build(sessions=held, requirements=asked, **free), at_once=1)
    assert get_days(three)["ka"] == ("2026-12-02", "2026-12-04")


def test_a_session_over_before_the_plan_begins_costs_nothing_in_it() -> None:
    seat = session("s", "ka", date(2026, 12, 2))
    result = plan(build(sessions=[seat], bookings=[booking("s")]), start=date(2026, 12, 14))
    assert get_days(result) == {"ka": ("2026-12-14", "2026-12-14"), "kb": ("2026-12-15", "2026-12-21")}
    assert any("before this plan begins: it is shown at its beginning" in remark for remark in result.remarks)


def test_nobody_has_a_seat_before_their_first_day() -> None:
    person = {"id": "p", "name": "P", "study_hours_per_week": 5.0, "start_date": date(2026, 12, 10)}
    seat = {"sessions": [session("s", "ka", date(2026, 12, 9))], "bookings": [booking("s")]}
    assert find(build(people=[person], **seat)) == find(build(people=[person]))
    assert plan(build(people=[person], **seat)) == plan(build(people=[person]))


def test_a_certificate_is_renewed_in_the_session_that_is_booked_not_in_the_cheapest_course() -> None:
    certificate = {"kind": "certificate", "validity_months": 24, "refresher_months": 6}
    snapshot = build(
        competencies=[*build_competencies("a b"), *build_competencies("c", **certificate)],
        requirements=[{"role": "r", "competency": i, "level": 1} for i in "abc"],
        courses=[
            *({"id": f"k{i}", "label": f"Course {i}", "hours": 5.0} for i in "abc"),
            {"id": "kd", "label": "Short refresher", "hours": 1.0},
            {"id": "ke", "label": "Long refresher", "hours": 2.0},
        ],
        outcomes=[
            *({"course": f"k{i}", "competency": i, "level": 1} for i in "abc"),
            *({"course": i, "competency": "c", "level": 1, "renews": True} for i in ("kd", "ke")),
        ],
        assessments=[
            {
                "person": "p",
                "competency": "c",
                "level": 1,
                "date": date(2024, 12, 4),
                "source": "certificate",
                "valid_until": date(2026, 12, 4),
            }
        ],
        sessions=[session("s", "ke", date(2026, 12, 3)), session("t", "kd", date(2026, 12, 8))],
        bookings=[booking("s"), booking("t")],
    )
    result = plan(snapshot)
    # the seat in the short one comes after the last day: too late to renew
    assert [(row.competency, row.renewal, row.renewed_on) for row in result.lapsing] == [("c", "ke", date(2026, 12, 3))]
    assert get_days(result)["ke"] == ("2026-12-03", "2026-12-03")
    assert {c.id: (c.is_renewal, c.is_booked) for c in result.courses}["ke"] == (True, True)
    assert "kd" not in get_days(result)
    assert (result.study_hours, result.booked_hours) == (10, 2)
    # a seat too late in the cheapest course is none for the renewal: it is planned anew, in time
    late = plan(snapshot.with_changes(remove=[("bookings", ("s", "p"))]))
    assert (late.lapsing[0].renewal, late.lapsing[0].is_in_time) == ("kd", True)
    assert {c.id: c.is_booked for c in late.courses}["kd"] is False
    later = snapshot.with_changes(put=[("sessions", replace(snapshot.sessions["s"], to_date=date(2026, 12, 5)))])
    assert plan(later).lapsing[0].renewal == "kd"
    assert plan(build_without(snapshot, "bookings")).lapsing[0].renewal == "kd"


def build_without(snapshot: Snapshot, table: str) -> Snapshot:
    return snapshot.with_changes(remove=[(table, key) for key in snapshot.get_table(table)])
