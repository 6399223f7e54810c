"""Demand of a course, the share that comes, and the sessions it takes. Every number by hand."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

import pytest
from small_company import build_scale, build_snapshot

from ontology.analysis.sessions.demand import count_sessions, find_demand
from ontology.analysis.sessions.show_up import find_show_up
from ontology.errors import UnknownIdError
from ontology.snapshot.snapshot import Snapshot

D = date
ON = D(2026, 11, 16)
#: Last valid days of certificates: five due by the end of November (one of them past), seven in January, three in
#: February, one beyond the twelve months.
ENDS = [D(2026, 10, 1), *[D(2026, 11, 30)] * 4, *[D(2027, 1, 5)] * 7, *[D(2027, 2, 28)] * 3, D(2027, 11, 1)]


def build(attended: int = 18, missed: int = 2, course: str = "aid-course", **changed: Any) -> Snapshot:
    """Return a company in which so many came to a session of a course a month ago, and so many did not."""
    people = [f"p{n:02}" for n in range(len(ENDS))]
    seen = [f"x{n:02}" for n in range(attended + missed)]
    rows: dict[str, list[dict[str, Any]]] = {
        "scales": build_scale("s1", 1),
        "competencies": [
            {"id": "aid", "label": "First aid", "scale": "s1", "kind": "certificate", "validity_months": 12}
        ],
        "courses": [
            {"id": "aid-course", "label": "First aid", "hours": 8.0, "seats": 6},
            {"id": "other", "label": "Other", "hours": 8.0},
        ],
        "outcomes": [{"course": "aid-course", "competency": "aid", "level": 1}],
        "teams": [{"id": "t", "label": "T"}, {"id": "old", "label": "Old"}],
        "people": [{"id": i, "name": i, "team": "t"} for i in people]
        + [{"id": i, "name": i, "team": "old", "end_date": D(2026, 10, 31)} for i in seen],
        "assessments": [
            {"person": i, "competency": "aid", "level": 1, "date": D(2025, 9, 1), "source": "certificate"}
            | {"valid_until": end}
            for i, end in zip(people, ENDS, strict=True)
        ],
        "obligations": [{"id": "all", "label": "All", "competency": "aid", "rule": "team", "of": "t"}],
        "sessions": [
            {"id": "last", "course": course, "from_date": D(2026, 10, 15), "state": "held"},
            {"id": "next", "course": "aid-course", "from_date": D(2026, 12, 15)},
        ],
        "bookings": [
            {"session": "last", "person": i, "state": "attended" if n < attended else "missed"}
            for n, i in enumerate(seen)
        ],
    }
    return build_snapshot(**{name: [*some, *changed.pop(name, ())] for name, some in rows.items()}, **changed)


def tell(snapshot: Snapshot, **asked: Any) -> list[tuple[str, int, int | None]]:
    return [(row.month, row.people, row.sessions) for row in find_demand(snapshot, "aid-course", ON, **asked).months]


def test_worked_example() -> None:
    """Demand 5, 0, 7, 3 with 6 seats and share 0.9: sessions 1, 0, 2, 0."""
    assert count_sessions([5, 0, 7, 3], 6, Fraction(9, 10)) == [1, 0, 2, 0]
    result = find_demand(build(), "aid-course", ON, months=4)
    assert (result.show_up_share, result.show_up_count) == (0.9, 20)
    assert [(row.month, row.people, row.sessions) for row in result.months] == [
        ("2026-11", 5, 1),
        ("2026-12", 0, 0),
        ("2027-01", 7, 2),
        ("2027-02", 3, 0),
    ]
    assert (result.people, result.sessions, result.remarks) == (15, 3, ())


def test_months_are_twelve_from_that_of_the_day() -> None:
    told = tell(build())
    assert [told[0][0], told[-1][0], len(told)] == ["2026-11", "2027-10", 12]
    assert tell(build(), months=13)[-1] == ("2027-11", 1, 0)


def test_shares_are_exact() -> None:
    """Ten seats, 0.3 of those who attend pass: three a session; in floats 10 x 0.3 x 3 sessions is not 9 everywhere."""
    assert count_sessions([9], 10, Fraction(3, 10)) == [3]
    assert count_sessions([10], 10, Fraction(3, 10)) == [4]
    course = {"id": "few", "label": "Few", "hours": 1.0, "seats": 10, "pass_share": 0.3}
    wishes = [{"person": f"p{n:02}", "course": "few"} for n in range(9)]
    result = find_demand(build(courses=[course], requests=wishes, attended=20, missed=0), "few", ON)
    assert (result.pass_share, result.months[0].people, result.months[0].sessions) == (0.3, 9, 3)


def test_who_is_booked_is_no_demand_and_who_waits_is() -> None:
    bookings = [{"session": "next", "person": "p00"}, {"session": "next", "person": "p01", "state": "waiting"}]
    assert tell(build(bookings=bookings))[0] == ("2026-11", 4, 1)
    # a seat in a session that is cancelled is none
    cancelled = {"id": "off", "course": "aid-course", "from_date": D(2026, 12, 1), "state": "cancelled"}
    assert tell(build(sessions=[cancelled], bookings=[{"session": "off", "person": "p00"}]))[0][1] == 5


@pytest.mark.parametrize(
    ("request_row", "people"),
    [
        ({"person": "y", "by": D(2026, 12, 24)}, [0, 1]),
        ({"person": "y"}, [1, 0]),
        ({"person": "y", "by": D(2026, 1, 1)}, [1, 0]),
        ({"person": "y", "asked_on": D(2026, 11, 17)}, [0, 0]),
        ({"person": "y", "asked_on": ON}, [1, 0]),
        # no longer employed; has a seat; needs it sooner than they wish
        ({"person": "gone"}, [0, 0]),
        ({"person": "sits"}, [0, 0]),
        ({"person": "p01", "by": D(2026, 12, 24)}, [0, 0]),
        # wishes it sooner than they need it
        ({"person": "p05", "by": D(2026, 12, 24)}, [0, 1]),
    ],
)
def test_open_requests_are_demand(request_row: dict[str, Any], people: list[int]) -> None:
    more = [
        {"id": "y", "name": "Y"},
        {"id": "gone", "name": "Gone", "end_date": D(2026, 11, 15)},
        {"id": "sits", "name": "Sits"},
    ]
    snapshot = build(
        people=more,
        bookings=[{"session": "next", "person": "sits"}],
        requests=[request_row | {"course": "aid-course"}],
    )
    assert [row[1] for row in tell(snapshot)[:2]] == [5 + people[0], people[1]]


def test_who_has_to_hold_it_since_nobody_knows_when_needs_it_now() -> None:
    assert tell(build(people=[{"id": "never", "name": "Never", "team": "t"}]))[0] == ("2026-11", 6, 2)


def test_a_person_who_needs_a_course_for_two_things_needs_one_seat_by_the_earlier_day() -> None:
    snapshot = build(
        competencies=[{"id": "fire", "label": "Fire", "scale": "s1", "kind": "certificate"}],
        outcomes=[{"course": "aid-course", "competency": "fire", "level": 1}],
        obligations=[{"id": "fire", "label": "Fire", "competency": "fire", "from_date": D(2026, 12, 1)}],
        people=[{"id": "only", "name": "Only", "team": "t", "start_date": D(2026, 12, 1)}],
    )
    told = tell(snapshot)
    # everyone needs fire by 1 December; the five of November stay there, "only" needs both
    assert [row[1] for row in told] == [5, 12] + [0] * 10


@pytest.mark.parametrize(
    ("attended", "missed", "course", "share", "count", "is_of_all"),
    [
        (18, 2, "aid-course", Fraction(9, 10), 20, False),
        (18, 1, "aid-course", Fraction(1), 0, False),
        (15, 6, "other", Fraction(15, 21), 21, True),
        (9, 10, "other", Fraction(1), 0, False),
    ],
)
def test_share_that_comes(
    attended: int, missed: int, course: str, share: Fraction, count: int, is_of_all: bool
) -> None:
    """Of the course where 20 results are there, else of all courses, else everyone."""
    snapshot = build(attended, missed, course)
    found = find_show_up(snapshot, "aid-course", ON)
    assert (found.share, found.count, found.is_of_all_courses) == (share, count, is_of_all)
    remarks = find_demand(snapshot, "aid-course", ON).remarks
    assert [("taken to come" in r, "of all courses" in r) for r in remarks] == (
        [(not count, is_of_all)] if not count or is_of_all else []
    )


@pytest.mark.parametrize(
    ("on", "count"),
    [(D(2026, 10, 15), 0), (D(2026, 10, 16), 20), (D(2028, 10, 15), 20), (D(2028, 10, 16), 0)],
)
def test_sessions_of_the_24_months_before_the_day_count(on: date, count: int) -> None:
    """A session that ended on 2026-10-15 counts from the day after, for 24 months."""
    assert find_show_up(build(), "aid-course", on).count == count


def test_course_without_seats_takes_no_sessions_and_says_so() -> None:
    snapshot = build(15, 6, "other", requests=[{"person": "p00", "course": "other"}])
    result = find_demand(snapshot, "other", ON)
    assert [(row.people, row.sessions) for row in result.months] == [(1, 0)] + [(0, 0)] * 11
    assert "no seats entered" in result.remarks[0]


def test_where_nobody_comes_no_number_of_sessions_is_enough() -> None:
    result = find_demand(build(0, 20), "aid-course", ON, months=2)
    assert (result.show_up_share, result.sessions) == (0.0, None)
    assert [row.sessions for row in result.months] == [None, None]
    assert "no number of sessions" in result.remarks[0]
    assert count_sessions([0, 2], 6, Fraction(0)) == [0, None]


def test_at_the_end_of_the_calendar_the_months_end_too() -> None:
    assert [row.month for row in find_demand(build(), "aid-course", D(9999, 11, 3)).months] == ["9999-11", "9999-12"]


def test_unknown_course_is_told() -> None:
    with pytest.raises(UnknownIdError):
        find_demand(build(), "nothing", ON)
