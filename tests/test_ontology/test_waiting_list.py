"""Who waits for a seat, and who signs. Every order by hand."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from small_company import build_scale, build_snapshot

from ontology.analysis.sessions.seat_lists import find_bookings, list_attendance
from ontology.analysis.sessions.waiting_list import find_waiting_list
from ontology.errors import UnknownIdError
from ontology.snapshot.snapshot import Snapshot

D = date
ON = D(2026, 11, 16)
#: Last valid day of first aid, day asked. f must hold it since a day nobody knows; g and h need not.
WAITING: dict[str, tuple[date | None, date | None]] = {
    "a": (D(2027, 1, 5), D(2026, 9, 1)),
    "b": (D(2026, 12, 1), None),
    "c": (D(2026, 12, 1), D(2026, 10, 1)),
    "d": (D(2026, 10, 1), D(2026, 11, 1)),
    "e": (D(2026, 12, 1), None),
    "f": (None, None),
}


def build(**session: Any) -> Snapshot:
    office = {"g": D(2026, 9, 2), "h": None, "i": D(2026, 9, 1)}
    return build_snapshot(
        scales=build_scale("s1", 1),
        competencies=[{"id": "aid", "label": "First aid", "scale": "s1", "kind": "certificate"}],
        courses=[{"id": "course", "label": "First aid", "hours": 8.0, "seats": 2, "lead_weeks": 1.1}],
        outcomes=[{"course": "course", "competency": "aid", "level": 1}],
        teams=[{"id": "t", "label": "T"}, {"id": "office", "label": "Office"}],
        people=[{"id": i, "name": f"{i} Example", "team": "t"} for i in (*WAITING, "y", "z")]
        + [{"id": i, "name": i, "team": "office"} for i in office],
        assessments=[
            {"person": i, "competency": "aid", "level": 1, "date": D(2025, 9, 1), "source": "certificate"}
            | {"valid_until": until}
            for i, (until, _) in WAITING.items()
            if until
        ],
        obligations=[{"id": "all", "label": "All", "competency": "aid", "rule": "team", "of": "t"}],
        sessions=[
            {"id": "s", "course": "course", "from_date": D(2026, 12, 14), "to_date": D(2026, 12, 15)}
            | {"where": "Hall"}
            | session
        ],
        bookings=[
            *({"session": "s", "person": i, "state": "waiting", "booked_on": day} for i, (_, day) in WAITING.items()),
            *({"session": "s", "person": i, "state": "asked", "booked_on": day} for i, day in office.items()),
            {"session": "s", "person": "z"},
            {"session": "s", "person": "y", "state": "cancelled"},
        ],
    )


def test_order_is_by_due_then_day_asked_then_id() -> None:
    """Due that is past all that is known first, no day asked last, who need not hold it after all others."""
    result = find_waiting_list(build(), "s", ON)
    assert [row.person for row in result.rows] == ["f", "d", "c", "b", "e", "a", "i", "g", "h"]
    told = {row.person: (row.state, row.must_hold, row.due) for row in result.rows}
    assert told["f"] == ("waiting", True, None)
    assert told["d"] == ("waiting", True, D(2026, 10, 1))
    assert told["g"] == ("asked", False, None)
    # 1.1 weeks of lead are 8 days
    assert (result.free_seats, result.book_by, result.session_state) == (1, D(2026, 12, 6), "planned")


def test_seats_of_the_session_go_before_those_of_the_course() -> None:
    assert find_waiting_list(build(seats=5), "s", ON).free_seats == 4
    assert find_waiting_list(build(book_by=D(2026, 12, 1)), "s", ON).book_by == D(2026, 12, 1)


def test_who_has_a_seat_signs_on_every_day() -> None:
    result = list_attendance(build(), "s")
    assert [(row.person, row.team) for row in result.people] == [("z", "t")]
    assert result.days == (D(2026, 12, 14), D(2026, 12, 15))
    assert len(list_attendance(build(to_date=D(2027, 3, 1)), "s").days) == 31


def test_bookings_of_a_person_say_how_they_stand() -> None:
    def tell(snapshot: Snapshot, person: str) -> list[tuple[str, str | None]]:
        return [(row.state, row.status) for row in find_bookings(snapshot, person, ON).rows]

    assert tell(build(), "z") == [("booked", "confirmed")]
    assert tell(build(state="cancelled"), "z") == [("booked", "cancelled")]
    assert tell(build(), "y") == [("cancelled", "cancelled")]
    assert tell(build(), "a") == [("waiting", None)]
    assert tell(build(state="cancelled"), "a") == [("waiting", None)]


@pytest.mark.parametrize("ask", [lambda s: find_waiting_list(s, "no", ON), lambda s: list_attendance(s, "no")])
def test_unknown_session_is_told(ask: Any) -> None:
    with pytest.raises(UnknownIdError):
        ask(build())
