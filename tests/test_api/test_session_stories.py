"""The demonstration tells who goes when and what was agreed: stories 19 to 22 of data/SOURCE.md, asked on 2026-11-24.

Every expected value was worked out by hand from the tables and the meanings; how, stands beside it.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from asking import PERSON, TEAM, tell
from scenario import load_scenario

from api.desk.question import COMPANY, COURSE, SESSION
from ontology.snapshot.snapshot import Snapshot

ON = date(2026, 11, 24)
SPILL = "spill-response-day"


@pytest.fixture(scope="module")
def snapshot() -> Snapshot:
    return load_scenario()


@pytest.fixture(scope="module")
def plan(snapshot: Snapshot) -> dict[str, Any]:
    return tell(snapshot, "session-plan", COMPANY, "", on=ON, until=date(2027, 1, 31))


def test_19_who_goes_when(plan: dict[str, Any]) -> None:
    # p069 must have been by 12-31: 12-15, held for 2 at least; p049 alone can go along (p045 is away 12-07 to 12-18)
    seats = {(row["person"], row["session"]) for row in plan["seats"] if row["course"] == SPILL}
    assert seats == {("p049", "spill-dec"), ("p069", "spill-dec"), ("p045", "spill-jan")}
    # what must be held: newcomers, the rescuer, and after two years; 12-03 is full
    held = {(row["person"], row["session"]) for row in plan["seats"] if not row["is_request"]}
    assert held == {
        ("p040", "newcomers-dec-4"),
        ("p072", "newcomers-dec-4"),
        ("p034", "rescue-dec-8"),
        ("p018", "briefing-dec-10"),
        ("p066", "briefing-dec-10"),
    }
    # p018, due 12-05; past due: p040 11-16 to 12-04 = 18, p034 10-15 to 12-08 = 54, p018 5
    assert (plan["status"], plan["late"], plan["unseated"], plan["days_past_due"]) == ("optimal", 1, 0, 77)
    # 12-10 and 12-15 had nobody; 2027-01-19 has p050
    assert plan["sessions_opened"] == 2
    # to another site: p040 to the depot, p018 and p066 from the depot to the sewage works, p045 likewise
    assert plan["trips"] == 4
    # three at 95, and p034's refresher at 220
    assert plan["cost"] == 3 * 95 + 220


def test_19_one_who_cannot_be_spared_gets_no_seat(snapshot: Snapshot, plan: dict[str, Any]) -> None:
    (left,) = (row for row in plan["left_out"] if row["course"] == SPILL)
    assert (left["person"], left["due"]) == ("p060", "2026-12-31")
    assert "cover" in left["reason"]
    assert plan["unseated_requests"] == 1
    # the need asks for one who does microbiology at level 3
    needs = tell(snapshot, "coverage", TEAM, "laboratory", on=date(2026, 12, 15))["needs"]
    (need,) = (row for row in needs if row["competency"] == "microbiology-analysis")
    assert (need["minimum"], need["present"]) == (1, ["p060"])


def test_19_how_many_sessions_the_requests_take(snapshot: Snapshot) -> None:
    answer = tell(snapshot, "demand", COURSE, SPILL, on=ON, months=4)
    # without a day: now (p049); by 12-31: p060, p069; by 2027-02-26: p045. Of 4 seats 3 pass: 1, 3, 3, 4 by 3, up
    assert [(row["month"], row["people"], row["sessions"]) for row in answer["months"]] == [
        ("2026-11", 1, 1),
        ("2026-12", 2, 0),
        ("2027-01", 0, 0),
        ("2027-02", 1, 1),
    ]


def test_19_who_waits_stands_by_the_day_asked(snapshot: Snapshot) -> None:
    answer = tell(snapshot, "waiting-list", SESSION, "spill-jan", on=ON)
    # nobody must hold it within a year; who left no day comes last. 4 seats, p050 has one; 14 days of lead
    assert [(row["person"], row["booked_on"]) for row in answer["rows"]] == [
        ("p062", "2026-11-12"),
        ("p033", "2026-11-18"),
        ("p032", None),
    ]
    assert (answer["free_seats"], answer["book_by"]) == (3, "2027-01-05")


def test_20_five_of_six_came_and_four_passed(snapshot: Snapshot) -> None:
    seats = {row.person: row.state for row in snapshot.get_bookings_of_session("spill-sep")}
    assert [person for person, state in seats.items() if state == "missed"] == ["p045"]
    came = {person for person, state in seats.items() if state == "attended"}
    passed = {
        person
        for person in came
        for row in snapshot.get_assessments(person)
        if row.competency == "spill-response" and row.date == date(2026, 9, 22)
    }
    assert (len(came), came - passed) == (5, {"p049"})
    assert {row.person for row in snapshot.get_requests_of_course(SPILL)} >= {"p045", "p049"}


def test_21_two_assessors_are_two_levels_apart_within_thirty_days(snapshot: Snapshot) -> None:
    def find_latest(person: str) -> dict[str, tuple[int, date]]:
        rows = [row for row in snapshot.get_assessments(person) if row.competency == "spill-response"]
        return {row.assessor: (row.level, row.date) for row in sorted(rows, key=lambda row: row.date)}

    apart, alike = find_latest("p035"), find_latest("p031")
    assert (apart["p039"][0], apart["p065"][0]) == (3, 1)
    assert apart["p065"][1] - apart["p039"][1] == timedelta(days=14)
    assert (alike["p039"][0], alike["p065"][0]) == (3, 3)


def test_22_the_sessions_of_a_plan_half_done(snapshot: Snapshot) -> None:
    rows = tell(snapshot, "bookings", PERSON, "p070", on=ON)["rows"]
    assert [(row["session"], row["state"]) for row in rows] == [("spill-sep", "attended"), ("doorstep-jan", "booked")]
    # the exercise and the role play; not yet: the films, late since 11-08, and trench support
    agreed = {row.course: row.last_day for row in snapshot.get_agreed_courses("p070-inspector")}
    seated = {row["course"] for row in rows}
    assert {course: day < ON for course, day in agreed.items() if course not in seated} == {
        "customer-video": True,
        "trench-basic": False,
    }


def test_22_the_path_takes_the_booked_seat_as_booked(snapshot: Snapshot) -> None:
    answer = tell(snapshot, "learning-path", PERSON, "p070", role="connections-inspector", on=ON)
    # open to who holds contact with customers and working alone at 1 each: 2 and more after the films
    (row,) = answer["booked"]
    assert (row["id"], row["session"], row["is_possible"]) == ("doorstep-practice", "doorstep-jan", True)
    assert "doorstep-practice" not in {course["id"] for course in answer["courses"]}


def test_21_the_two_are_told_to_look_again_with_a_third(snapshot: Snapshot) -> None:
    told = tell(snapshot, "assessor-agreement", COMPANY, "", from_date=date(2026, 9, 1), until=ON)
    # 3 on 10-08 and 1 on 10-22: two levels apart, 14 days; the names of the assessors are not told
    assert [(row["person"], row["levels"]) for row in told["disagreements"]] == [("p035", [1, 3])]
    assert "third assessor" in told["disagreements"][0]["to_do"]


def test_22_how_the_plan_half_done_stands(snapshot: Snapshot) -> None:
    (agreed,) = tell(snapshot, "agreed-plan", PERSON, "p070", on=ON)["plans"]
    # the films were due 11-08: 16 days; the role play is booked on 01-12, trench support begins 02-18
    states = {row["course"]: (row["state"], row["days_late"]) for row in agreed["courses"]}
    assert sorted(states.values()) == [("booked", 0), ("done", 0), ("late", 16), ("to-come", 0)]
    assert states["spill-response-day"] == ("done", 0)
    # open: films 4 h, role play 8 h, trench support 8 h
    assert (agreed["days_late"], agreed["open_hours"]) == (16, 20.0)
