"""What a learning path takes as booked, against naming it; and the days of a seat in the schedule, against its session.

The seats are read from the rows, by their words alone.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from agreeing_companies import Company
from booked_companies import get_booked_company
from drawn_companies import Rows, apply_courses
from small_company import ON

SEEDS = range(16)
ROLES = ("r0", "r1", "r2")
PATH = ("status", "study_hours", "cost", "courses", "order", "booked_hours", "booked_cost", "targets", "unreachable")


def list_questions(company: Company) -> list[tuple[str, str]]:
    people = [p for p, row in sorted(company.people.items()) if (row.get("end_date") or ON) >= ON]
    return [(person, ROLES[n % 3]) for n, person in enumerate(people)]


def find_seats(rows: Rows, person: str) -> dict[str, dict[str, Any]]:
    """Return course -> the session that ends first of those, not over or cancelled, in which someone is booked.

    None that begins before their first day.
    """
    seats: dict[str, dict[str, Any]] = {}
    start = next(row.get("start_date") for row in rows["people"] if row["id"] == person) or date.min
    for booking in rows["bookings"]:
        session = next(row for row in rows["sessions"] if row["id"] == booking["session"])
        if booking["person"] != person or booking["state"] != "booked" or session["state"] == "cancelled":
            continue
        if session["to_date"] < ON:
            continue
        known = seats.get(session["course"])
        if known is None or (session["to_date"], session["id"]) < (known["to_date"], known["id"]):
            seats[session["course"]] = session
    return {course: session for course, session in seats.items() if session["from_date"] >= start}


@pytest.mark.parametrize("seed", SEEDS)
def test_a_seat_is_as_good_as_a_course_named_as_booked(seed: int) -> None:
    company = get_booked_company(seed)
    plain = Company({**company.rows, "bookings": []})
    for person, role in list_questions(company):
        asked = {"role": role, "time_limit": 5, "alternatives": 0}
        path = company.ask(f"people/{person}/learning-path", **asked)
        seats = find_seats(company.rows, person)
        taken = {row["id"]: row for row in path["booked"]}
        assert taken.keys() <= seats.keys()
        for course, row in taken.items():
            session = seats[course]
            days = str(session["from_date"]), str(session["to_date"])
            assert (row["session"], row["first_day"], row["last_day"]) == (session["id"], *days)
            assert any(f"({course}), a seat in session {session['id']}," in remark for remark in path["remarks"])
        named = plain.ask(f"people/{person}/learning-path", already_booked=",".join(sorted(taken)), **asked)
        assert {name: path[name] for name in PATH} == {name: named[name] for name in PATH}
        # what was left out of the path would not have helped
        everything = plain.ask(f"people/{person}/learning-path", already_booked=",".join(sorted(seats)), **asked)
        assert path["study_hours"] == everything["study_hours"]
        assert [row["id"] for row in path["courses"]] == [row["id"] for row in everything["courses"]]


@pytest.mark.parametrize("seed", SEEDS)
def test_a_seat_stands_in_the_schedule_on_its_days_or_is_told_as_moved(seed: int) -> None:
    company = get_booked_company(seed)
    for person, role in list_questions(company)[:5]:
        path = company.ask(f"people/{person}/learning-path", role=role, time_limit=5, alternatives=0)
        plan = company.ask(f"people/{person}/schedule", role=role, time_limit=5)
        seats = find_seats(company.rows, person)
        start = date.fromisoformat(plan["start"])
        for row in plan["courses"]:
            first, last = date.fromisoformat(row["first_day"]), date.fromisoformat(row["last_day"])
            assert row["is_booked"] == (row["id"] in seats)
            if row["is_booked"]:
                session = seats[row["id"]]
                kept = (max(session["from_date"], min(start, session["to_date"])), session["to_date"])
                is_told = any(
                    remark.startswith(f"{row['label']} is booked from {session['from_date']}")
                    for remark in plan["remarks"]
                )
                assert is_told != ((first, last) == kept), (row, session)
                assert last >= session["to_date"] or session["to_date"].weekday() > 4
        if plan["finish"] and path["last_day"] and not plan["left_out"]:
            # a weekend is no slot of a calendar
            assert date.fromisoformat(plan["finish"]) >= date.fromisoformat(path["last_day"]) - timedelta(3)
        assert set(path["order"]) == {row["id"] for row in plan["courses"] if row["id"] in path["order"]} | {
            row["id"] for row in plan["left_out"]
        }


@pytest.mark.parametrize("seed", SEEDS)
def test_a_schedule_with_seats_promises_what_the_gap_finds_on_its_last_day(seed: int) -> None:
    company = get_booked_company(seed)
    for person, role in list_questions(company)[:4]:
        answer = company.ask(f"people/{person}/schedule", role=role, time_limit=5)
        end = date.fromisoformat(answer["finish"]) if answer["finish"] else ON
        done = [(person, row["id"], date.fromisoformat(row["last_day"])) for row in answer["courses"]]
        gap = Company(apply_courses(company.rows, done)).ask(f"people/{person}/gap", end, role=role)
        assert answer["readiness_after"] == pytest.approx(gap["readiness"])
        assert answer["standing_after"] == gap["standing"]
