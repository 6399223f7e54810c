"""The picture of a session plan: each session in its week, with who goes there, and in words for who cannot see it."""

from __future__ import annotations

from datetime import date

import pytest
from drawn import WITHOUT_DOT, check_picture, read_texts
from drawn_sessions import ON, build_snapshot, draw_session_rows

from api.pictures.session_weeks import build_session_weeks_picture
from api.pictures.text import TIE
from ontology.analysis.sessions.session_plan import plan_sessions

UNTIL = date(2027, 1, 10)


@WITHOUT_DOT
@pytest.mark.needs_dot
@pytest.mark.parametrize("seed", [3, 9, 11, 34])
def test_every_session_and_every_seat_of_a_plan_is_drawn(seed: int) -> None:
    snapshot = build_snapshot(draw_session_rows(seed))
    plan = plan_sessions(snapshot, ON, until=UNTIL)
    picture = build_session_weeks_picture(snapshot, plan).dot
    told = " ".join(text.replace(TIE, " ") for text in read_texts(check_picture(picture)))
    assert sum(told.count(snapshot.courses[s.course].label) for s in plan.sessions) >= len(plan.sessions)
    for seat in plan.seats:
        name = snapshot.people[seat.person].name
        assert f"{name} (late)" in told if seat.is_late else name in told
    taken = [s.booked + s.planned for s in plan.sessions]
    limits = [s.seats for s in plan.sessions]
    for count, seats in zip(taken, limits, strict=True):
        assert (str(count) if seats is None else f"{count} of {seats}") in told


@WITHOUT_DOT
@pytest.mark.needs_dot
def test_a_plan_without_sessions_is_a_sentence() -> None:
    snapshot = build_snapshot(draw_session_rows(3) | {"sessions": [], "bookings": []})
    plan = plan_sessions(snapshot, ON, until=UNTIL)
    texts = read_texts(check_picture(build_session_weeks_picture(snapshot, plan).dot))
    assert "0 seats in 0 sessions." in " ".join(texts)
