"""What follows from the results of a session, on random companies: levels, obligations, the results read back."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

import pytest
from obligation_companies import ON, build_company

from ontology.analysis.obligations.due_lists import find_person_obligations
from ontology.analysis.paths.renewing import can_use_outcome
from ontology.analysis.profiles.levels import find_ways
from ontology.analysis.profiles.own_levels import get_own_levels
from ontology.analysis.sessions.results import SessionResult, enter_results, get_results
from ontology.model.work_records import Session
from ontology.snapshot.snapshot import Snapshot

_BY = "the trainer"
_SEATED = ("booked", "attended", "missed")


def iterate_cases(seed: int) -> Iterator[tuple[Snapshot, Session, random.Random]]:
    snapshot, rng = build_company(seed), random.Random(seed)
    for session in snapshot.sessions.values():
        over = replace(session, from_date=min(session.from_date, ON), to_date=min(session.to_date, ON))
        over = replace(over, from_date=min(over.from_date, over.to_date), state="confirmed")
        if any(row.state in _SEATED for row in snapshot.get_bookings_of_session(session.id)):
            yield snapshot.with_changes([("sessions", over)], ()), over, rng


def draw(snapshot: Snapshot, session: Session, rng: random.Random) -> list[SessionResult]:
    rows = []
    for booking in snapshot.get_bookings_of_session(session.id):
        if booking.state in _SEATED:
            attended = rng.random() < 0.75
            rows.append(SessionResult(booking.person, attended, attended and rng.random() < 0.75))
    return rows


def enter(snapshot: Snapshot, session: Session, rows: list[SessionResult], days: int = 0) -> Snapshot:
    today = ON + timedelta(days=days)
    entered = enter_results(snapshot, snapshot.sessions[session.id], rows, entered_by=_BY, today=today)
    assert entered.faults == ()
    return snapshot.with_changes(entered.put, ())


def get_counted(snapshot: Snapshot) -> set[tuple[object, ...]]:
    """Return what the assessments say that count."""
    rows = snapshot.get_table("assessments").values()
    return {
        (a.person, a.competency, a.level, a.date, a.source, a.valid_until, a.evidence)
        for a in rows
        if a.withdrawn_on is None
    }


@pytest.mark.parametrize("first", range(0, 120, 40))
def test_results_are_seen_by_levels_and_obligations(first: int) -> None:
    n_usable = 0
    for seed in range(first, first + 40):
        for snapshot, session, rng in iterate_cases(seed):
            rows = draw(snapshot, session, rng)
            after = enter(snapshot, session, rows)
            assert after.sessions[session.id].state == "held"
            told = {row.person: row for row in get_results(after, session).rows}
            assert {i: row.attended for i, row in told.items()} == {row.person: row.attended for row in rows}
            for row in rows:
                for outcome in snapshot.get_outcomes(session.course):
                    competency = snapshot.competencies[outcome.competency]
                    known = find_ways(snapshot, row.person, competency, session.from_date).pick(is_forced=True)
                    (held,) = get_own_levels(after, row.person, (competency,), session.to_date)
                    if row.passed and can_use_outcome(outcome, known):
                        n_usable += 1
                        assert (held.level or 0) >= outcome.level, (seed, session.id, row, outcome)
                        assert told[row.person].passed or (held.level or 0) > outcome.level
                        check_obligations(after, row.person, outcome.competency, outcome.level)
                    elif not row.passed:
                        assert get_own_levels(snapshot, row.person, (competency,), session.to_date) == [held]
    assert n_usable > 20


def check_obligations(after: Snapshot, person: str, competency: str, level: int) -> None:
    """What a level of the session gives is met today, unless it has ended since or what it hangs on is missing."""
    ways = find_ways(after, person, after.competencies[competency], ON)
    for row in find_person_obligations(after, person, on=ON).rows:
        if row.competency == competency and row.level <= level:
            assert row.is_met == (ways.gives(row.level) and not ways.is_suspended)


@pytest.mark.parametrize("first", range(0, 120, 40))
def test_what_is_entered_last_counts_whatever_was_entered_before(first: int) -> None:
    """A then B says what B alone says; B once more changes nothing."""
    for seed in range(first, first + 40):
        for snapshot, session, rng in iterate_cases(seed):
            one, other = draw(snapshot, session, rng), draw(snapshot, session, rng)
            alone = enter(snapshot, session, other)
            both = enter(enter(snapshot, session, one), session, other, 1)
            assert get_counted(both) == get_counted(alone), (seed, session.id)
            again = enter_results(both, both.sessions[session.id], other, entered_by=_BY, today=ON + timedelta(days=2))
            assert again.put == ()
