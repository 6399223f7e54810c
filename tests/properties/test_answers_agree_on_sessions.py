"""Demand, waiting list, session plan and obligations speak of the same people, on random companies."""

from __future__ import annotations

import math
import random
from collections import Counter
from datetime import date, timedelta
from fractions import Fraction

import pytest
from obligation_companies import ON, build_company

from ontology.analysis.obligations.due_lists import find_person_obligations
from ontology.analysis.sessions.demand import find_demand
from ontology.analysis.sessions.plan_rows import Asked, build_rows
from ontology.analysis.sessions.waiting_list import find_waiting_list
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot


def draw(seed: int) -> Snapshot:
    """Return a company in which some ask for courses."""
    rng, snapshot = random.Random(seed), build_company(seed)
    requests = {
        (person, course): TABLES["requests"].build(
            person=person,
            course=course,
            by=rng.choice([None, ON + timedelta(days=rng.randint(-60, 400))]),
            asked_on=rng.choice([None, ON + timedelta(days=rng.randint(-30, 5))]),
        )
        for person, course in ((rng.choice(list(snapshot.people)), rng.choice(list(snapshot.courses))) for _ in "12345")
    }
    return snapshot.with_changes([("requests", row) for row in requests.values()], ())


def count_by_hand(snapshot: Snapshot, course: str) -> Counter[str]:
    """Return who needs a course by month, each person asked alone."""
    counts: Counter[str] = Counter()
    for person in snapshot.people.values():
        days = [
            max(row.due or ON, ON)
            for row in find_person_obligations(snapshot, person.id, on=ON).rows
            if row.course == course and row.booked_session is None
        ]
        sits = any(
            snapshot.sessions[row.session].course == course
            and row.state in ("booked", "attended")
            and snapshot.sessions[row.session].state != "cancelled"
            and snapshot.sessions[row.session].to_date >= ON
            for row in snapshot.get_bookings(person.id)
        )
        is_there = (person.start_date or date.min) <= ON <= (person.end_date or date.max)
        days += [
            max(request.by or ON, ON)
            for request in snapshot.get_requests(person.id)
            if request.course == course and not sits and is_there and (request.asked_on or ON) <= ON
        ]
        if days:
            counts[f"{min(days):%Y-%m}"] += 1
    return counts


@pytest.mark.parametrize("first", range(0, 120, 40))
def test_demand_is_what_asking_each_person_says(first: int) -> None:
    seen = 0
    for seed in range(first, first + 40):
        snapshot = draw(seed)
        for course in snapshot.courses.values():
            result = find_demand(snapshot, course.id, ON)
            expected = count_by_hand(snapshot, course.id)
            assert {row.month: row.people for row in result.months if row.people} == {
                month: n for month, n in expected.items() if month <= "2027-10"
            }, (seed, course.id)
            seen += result.people
            if course.seats is not None:
                total = 0
                for row in result.months:
                    before, total = total, total + row.people
                    size = course.seats * Fraction(str(course.pass_share))
                    assert (result.show_up_count, row.sessions) == (
                        0,
                        math.ceil(total / size) - math.ceil(before / size),
                    )
    assert seen > 20


@pytest.mark.parametrize("first", range(0, 120, 40))
def test_who_is_demand_is_a_row_of_a_plan_or_left_out_of_it(first: int) -> None:
    """Of whom a plan that looks as far ahead speaks: the same people and courses."""
    until = date(2027, 10, 31)
    for seed in range(first, first + 40):
        snapshot = draw(seed)
        rows = Counter(row.course for row in build_rows(snapshot, Asked(ON, until)) if row.due <= until)
        for course in snapshot.courses:
            late = sum(
                request.by is not None and request.by > until for request in snapshot.get_requests_of_course(course)
            )
            assert 0 <= rows[course] - find_demand(snapshot, course, ON).people <= late, (seed, course)


@pytest.mark.parametrize("first", range(0, 120, 40))
def test_waiting_list_holds_who_waits_in_the_order_of_their_dues(first: int) -> None:
    for seed in range(first, first + 40):
        snapshot = draw(seed)
        for session in snapshot.sessions.values():
            waiting = [row for row in snapshot.get_bookings_of_session(session.id) if row.state in ("asked", "waiting")]
            keys = {}
            for row in waiting:
                obligations = find_person_obligations(snapshot, row.person, on=ON).rows
                dues = [o.due or date.min for o in obligations if o.course == session.course]
                keys[row.person] = (min(dues, default=date.max), not dues, row.booked_on or date.max, row.person)
            told = [row.person for row in find_waiting_list(snapshot, session.id, ON).rows]
            assert told == sorted(keys, key=keys.__getitem__), (seed, session.id)
