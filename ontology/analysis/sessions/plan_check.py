"""Whether a plan of sessions keeps every rule, and what it comes to, worked out from the seats alone. Pure.

Nothing here knows of the program: it is what every plan is held to before it is told.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise

from ontology.analysis.paths.aims import get_cents, get_minutes, read_decimal
from ontology.analysis.profiles.seats import count_free_seats, get_sessions_attended
from ontology.analysis.sessions.plan_cover import CoverRow
from ontology.analysis.sessions.plan_model import Limits, count_seated
from ontology.analysis.sessions.plan_rows import PlanRow, Seat
from ontology.analysis.sessions.plan_solver import Choice
from ontology.snapshot.snapshot import Snapshot

__all__ = ["PlanValue", "compute_value", "find_broken_rule"]


@dataclass(frozen=True, slots=True, order=True)
class PlanValue:
    """What a plan comes to, in the order of its aims."""

    late: int
    unseated: int
    days_past_due: int
    unseated_requests: int
    sessions_opened: int
    trips: int
    days_given_away: int


def _iterate(rows: Sequence[PlanRow], choice: Choice) -> Iterator[tuple[PlanRow, Seat | None]]:
    for row, index in zip(rows, choice, strict=True):
        yield row, None if index is None else row.seats[index]


def compute_value(snapshot: Snapshot, rows: Sequence[PlanRow], choice: Choice) -> PlanValue:
    """Return the values of the aims."""
    told = [(row, seat) for row, seat in _iterate(rows, choice) if not row.is_request]
    wishes = [seat for row, seat in _iterate(rows, choice) if row.is_request]
    seats = [seat for _, seat in _iterate(rows, choice) if seat is not None]
    return PlanValue(
        late=sum(row.must_not_be_late and not (seat and seat.is_in_time) for row, seat in told),
        unseated=sum(seat is None for _, seat in told),
        days_past_due=sum(seat.days_past for _, seat in told if seat),
        unseated_requests=sum(seat is None for seat in wishes),
        sessions_opened=len(list_opened(snapshot, seats)),
        trips=sum(seat.is_trip for seat in seats),
        days_given_away=sum(seat.days_given_away for _, seat in told if seat),
    )


def list_opened(snapshot: Snapshot, seats: Sequence[Seat]) -> list[str]:
    """Return the planned sessions with a seat in which nobody had one before, by id."""
    sessions = {seat.session.id: seat.session for seat in seats if seat.session.state == "planned"}
    return sorted(i for i, session in sessions.items() if count_seated(snapshot, session) == 0)


def compute_cents(snapshot: Snapshot, rows: Sequence[PlanRow], choice: Choice) -> int:
    """Return what a plan costs: seats, trips, and the sessions it opens."""
    seats = [seat for _, seat in _iterate(rows, choice) if seat is not None]
    total = sum(get_cents(snapshot.sessions[i].fixed_cost) for i in list_opened(snapshot, seats))
    for seat in seats:
        total += get_cents(snapshot.courses[seat.session.course].cost)
        total += get_cents(seat.session.trip_cost) if seat.is_trip else 0
    return total


def find_broken_rule(
    snapshot: Snapshot,
    on: date,
    rows: Sequence[PlanRow],
    cover: Sequence[CoverRow],
    limits: Limits,
    choice: Choice,
) -> str:
    """Return a rule that a plan breaks, in words; empty where it keeps them all."""
    by_person: defaultdict[str, list[tuple[PlanRow, Seat]]] = defaultdict(list)
    taken: Counter[str] = Counter()
    for row, seat in _iterate(rows, choice):
        if seat is not None:
            by_person[row.person].append((row, seat))
            taken[seat.session.id] += 1
    for session_id, count in taken.items():
        session = snapshot.sessions[session_id]
        free = count_free_seats(snapshot, session)
        if free is not None and count > free:
            return f"session {session_id} has {free} free seats, not {count}"
        least = snapshot.courses[session.course].group_minimum
        if session.state == "planned" and count + count_seated(snapshot, session) < least:
            return f"session {session_id} is held for at least {least}"
    for person_id, own in by_person.items():
        broken = _find_broken_days(own) or _find_broken_hours(snapshot, on, person_id, own, limits)
        if broken:
            return f"{person_id}: {broken}"
    chosen = {(number, index) for number, index in enumerate(choice) if index is not None}
    for line in cover:
        away = sum(seat in chosen for seat in line.seats)
        more = sum(
            any(seat in chosen for seat in gain.after) and not any(seat in chosen for seat in gain.unless)
            for gain in line.gains
        )
        if away > line.room + more:
            return "cover is not kept"
    if limits.cents is not None and compute_cents(snapshot, rows, choice) > limits.cents:
        return "it costs more than the budget"
    return ""


def _find_broken_days(own: Sequence[tuple[PlanRow, Seat]]) -> str:
    spans = sorted((seat.session.from_date, seat.session.to_date) for _, seat in own)
    for (_, last), (first, _) in pairwise(spans):
        if first <= last:
            return "two sessions on one day"
    return ""


def _find_broken_hours(
    snapshot: Snapshot, on: date, person_id: str, own: Sequence[tuple[PlanRow, Seat]], limits: Limits
) -> str:
    rate = read_decimal(snapshot.people[person_id].study_hours_per_week) * 60
    for _, seat in own:
        end = seat.session.to_date
        spent = sum(
            get_minutes(snapshot.courses[other.session.course].hours)
            for row, other in own
            if row.is_request and other.session.to_date <= end
        )
        if spent > rate * Fraction((end - on).days + 1, 7):
            return "more hours of what was asked for than of study"
    if limits.minutes_per_week is not None:
        for _, seat in own:
            monday = seat.session.from_date - timedelta(days=seat.session.from_date.weekday())
            sessions = [*(other.session for _, other in own), *get_sessions_attended(snapshot, person_id)]
            spent = sum(
                get_minutes(snapshot.courses[session.course].hours)
                for session in sessions
                if monday <= session.from_date < monday + timedelta(days=7)
            )
            if spent > limits.minutes_per_week:
                return "more hours of courses in a week than asked for"
    return ""
