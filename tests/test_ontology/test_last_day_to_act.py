"""The last day to act: by the session to book, by the one that is booked, or by how long the course takes."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from small_company import build_scale, build_snapshot

from ontology.analysis.obligations.due_lists import find_person_obligations
from ontology.analysis.obligations.rows import ObligationRow

D = date
ON = D(2026, 11, 16)
DUE = D(2026, 12, 20)
ROWS: dict[str, list[dict[str, Any]]] = {
    "scales": build_scale("held", 1),
    "competencies": [{"id": "card", "label": "Card", "scale": "held", "kind": "certificate"}],
    "courses": [{"id": "k", "label": "K", "hours": 4.0, "lead_weeks": 1.1, "seats": 1}],
    "outcomes": [{"course": "k", "competency": "card", "level": 1}],
    "people": [{"id": i, "name": i} for i in ("p", "q")],
    "obligations": [{"id": "o", "label": "O", "competency": "card"}],
    "assessments": [
        {
            "person": "p",
            "competency": "card",
            "level": 1,
            "date": D(2025, 12, 20),
            "source": "certificate",
            "valid_until": DUE,
        }
    ],
}


def find_row(*sessions: dict[str, Any], **more: Any) -> ObligationRow:
    rows = [{"course": "k"} | session for session in sessions]
    (row,) = find_person_obligations(build_snapshot(**(ROWS | {"sessions": rows} | more)), "p", on=ON).rows
    return row


def session(row_id: str, day: date, **more: Any) -> dict[str, Any]:
    return {"id": row_id, "from_date": day} | more


def tell(row: ObligationRow) -> tuple[date | None, bool, str | None, str | None]:
    return row.last_day_to_act, row.is_late, row.session, row.booked_session


def test_without_sessions_it_is_the_due_day_less_lead_and_working_time() -> None:
    """7 (1.1 + 4 / 40) = 8.4, so nine days, by hand; the weeks of the course where these are longer."""
    assert tell(find_row()) == (D(2026, 12, 11), False, None, None)
    slow = [ROWS["courses"][0] | {"weeks": 3.0}]
    assert tell(find_row(courses=slow)) == (D(2026, 11, 21), False, None, None)
    slower = [ROWS["courses"][0] | {"weeks": 4.0}]
    assert tell(find_row(courses=slower)) == (D(2026, 11, 14), True, None, None)


def test_of_sessions_in_time_the_one_that_can_be_booked_longest() -> None:
    """Booked by their first day less the lead (7.7, so eight days), unless they say so themselves; then by id."""
    early, late = session("early", D(2026, 11, 30)), session("late", D(2026, 12, 19), to_date=DUE)
    assert tell(find_row(early, late)) == (D(2026, 12, 11), False, "late", None)
    assert tell(find_row(early | {"book_by": D(2026, 11, 30)}, late | {"book_by": D(2026, 11, 17)})) == (
        D(2026, 11, 30),
        False,
        "early",
        None,
    )
    same = {"book_by": D(2026, 11, 20)}
    assert find_row(early | same, late | same).session == "early"
    assert find_row(session("z", D(2026, 11, 30)) | same, late | same).session == "late"


@pytest.mark.parametrize(
    "more",
    [
        {"from_date": DUE, "to_date": D(2026, 12, 21)},
        {"book_by": D(2026, 11, 15)},
        {"state": "cancelled"},
        {"state": "held"},
    ],
    ids=["ends after the due day", "can no longer be booked", "cancelled", "held"],
)
def test_session_that_is_not_in_time_leaves_none(more: dict[str, Any]) -> None:
    late = session("late", D(2027, 1, 10))
    assert tell(find_row(session("s", D(2026, 12, 1)) | more, late)) == (
        None,
        True,
        "s" if "to_date" in more else "late",
        None,
    )


def test_session_without_a_free_seat_is_none() -> None:
    full = [{"session": "s", "person": "q"}]
    assert tell(find_row(session("s", D(2026, 12, 1)), bookings=full)) == (None, True, None, None)
    asked = [{"session": "s", "person": "q", "state": "waiting"}]
    assert find_row(session("s", D(2026, 12, 1)), bookings=asked).session == "s"
    assert find_row(session("s", D(2026, 12, 1), seats=2), bookings=full).session == "s"
    endless = [ROWS["courses"][0] | {"seats": None}]
    assert find_row(session("s", D(2026, 12, 1)), bookings=full, courses=endless).session == "s"


def test_sessions_that_began_before_today_are_no_dates_of_the_course() -> None:
    assert tell(find_row(session("s", D(2026, 11, 15)))) == (D(2026, 12, 11), False, None, None)


def test_who_is_booked_acts_no_more_and_is_late_where_it_ends_after_the_due_day() -> None:
    seats = [{"session": i, "person": "p"} for i in ("a", "b")]
    in_time = find_row(session("a", D(2026, 12, 20)), session("b", D(2026, 12, 21)), bookings=seats)
    assert tell(in_time) == (None, False, None, "a")
    late = find_row(session("a", D(2026, 12, 20), state="cancelled"), session("b", D(2026, 12, 21)), bookings=seats)
    assert tell(late) == (None, True, None, "b")
    # one that is over, one of which the seat was given back, one that runs since yesterday
    over = find_row(session("a", D(2026, 11, 10)), session("b", D(2026, 11, 15), to_date=ON), bookings=seats)
    assert tell(over) == (None, False, None, "b")
    gone = [{"session": "a", "person": "p", "state": "cancelled"}]
    assert find_row(session("a", D(2026, 12, 1)), bookings=gone).booked_session is None


def test_due_before_all_that_is_known_counts_as_yesterday() -> None:
    row = find_row(assessments=[])
    assert (row.due, row.state) == (None, "overdue")
    assert tell(row) == (D(2026, 11, 6), True, None, None)
    assert tell(find_row(session("s", D(2026, 12, 1)), assessments=[])) == (None, True, "s", None)
