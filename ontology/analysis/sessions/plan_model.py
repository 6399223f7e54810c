"""Who goes when as an integer program: a yes or no for each seat, and one for each session that is opened. Pure.

The aims are rows of whole numbers, so that each is solved to the end and kept as a number before the next. All hours
are whole minutes, all money whole cents.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from ontology.analysis.engine.linear_model import LinearModel
from ontology.analysis.paths.aims import get_cents, get_minutes, read_decimal
from ontology.analysis.profiles.seats import count_free_seats, get_sessions_attended
from ontology.analysis.sessions.plan_cover import CoverRow, SeatId
from ontology.analysis.sessions.plan_rows import PlanRow
from ontology.model.work_records import Session
from ontology.snapshot.snapshot import Snapshot

__all__ = ["AIMS", "Limits", "PlanModel", "build_model", "count_seated"]

#: The aims in their order, by what they count.
AIMS = ("late", "unseated", "days_past_due", "unseated_requests", "sessions_opened", "trips", "days_given_away")


@dataclass(frozen=True, slots=True)
class Limits:
    """What may not be passed: minutes of courses a week and person, cents in all; None: no limit."""

    minutes_per_week: int | None = None
    cents: int | None = None


@dataclass(frozen=True)
class PlanModel:
    """The program of a plan.

    Attributes
    ----------
    model : LinearModel
        Its rows; it has no costs of its own.
    seats : dict of SeatId to int
        The variable of each seat.
    opened : dict of session id to int
        The variable of each planned session that a rule or an aim looks at.
    aims : sequence of dict of int to int
        For each of `AIMS`, variable -> what it adds; `constants` is what each is without any seat.
    """

    model: LinearModel
    seats: Mapping[SeatId, int]
    opened: Mapping[str, int]
    aims: Sequence[Mapping[int, int]]
    constants: Sequence[int]


def count_seated(snapshot: Snapshot, session: Session) -> int:
    """Return how many have a seat in a session."""
    return sum(row.state in ("booked", "attended") for row in snapshot.get_bookings_of_session(session.id))


def build_model(
    snapshot: Snapshot, on: date, rows: Sequence[PlanRow], cover: Sequence[CoverRow], limits: Limits
) -> PlanModel:
    """Return the program of a plan; O(size of rows and cover)."""
    return _Builder(snapshot, on, rows, limits).build(cover)


class _Builder:
    def __init__(self, snapshot: Snapshot, on: date, rows: Sequence[PlanRow], limits: Limits) -> None:
        self._snapshot, self._on, self._rows, self._limits = snapshot, on, rows, limits
        self._model = LinearModel()
        self._seats = {
            (number, index): self._model.add_variable(0)
            for number, row in enumerate(rows)
            for index in range(len(row.seats))
        }
        self._of_session: dict[str, list[int]] = {}
        self._sessions: dict[str, Session] = {}
        for (number, index), variable in self._seats.items():
            session = rows[number].seats[index].session
            self._sessions[session.id] = session
            self._of_session.setdefault(session.id, []).append(variable)
        self._opened = {
            session.id: self._model.add_variable(0) for session in self._sessions.values() if session.state == "planned"
        }

    def build(self, cover: Sequence[CoverRow]) -> PlanModel:
        self._add_seats()
        self._add_days()
        self._add_hours()
        for row in cover:
            self._add_cover(row)
        self._add_budget()
        aims, constants = self._build_aims()
        return PlanModel(self._model, self._seats, self._opened, aims, constants)

    def _get(self, number: int) -> list[int]:
        return [self._seats[number, index] for index in range(len(self._rows[number].seats))]

    def _add_most(self, variables: Sequence[int], most: int) -> None:
        if len(variables) > most:
            self._model.add_row([(variable, 1) for variable in variables], upper=most)

    def _add_seats(self) -> None:
        """One seat a row, the free seats of each session, and the group that a planned one needs."""
        for number in range(len(self._rows)):
            self._add_most(self._get(number), 1)
        for session_id, variables in self._of_session.items():
            session = self._sessions[session_id]
            free = count_free_seats(self._snapshot, session)
            opened = self._opened.get(session_id)
            if opened is None:
                self._add_most(variables, len(variables) if free is None else free)
                continue
            # free seats times opened, though each seat is bound to it below: without that half a session holds all
            room = len(variables) if free is None else min(free, len(variables))
            self._model.add_row([*((v, 1) for v in variables), (opened, -room)], upper=0)
            for variable in variables:
                self._model.add_row([(variable, 1), (opened, -1)], upper=0)
            lacking = self._snapshot.courses[session.course].group_minimum - count_seated(self._snapshot, session)
            if lacking > 1:
                self._model.add_row([*((v, 1) for v in variables), (opened, -lacking)], lower=0)

    def _add_days(self) -> None:
        """No two sessions of a person share a day."""
        on_day: defaultdict[tuple[str, date], list[SeatId]] = defaultdict(list)
        for number, index in self._seats:
            row = self._rows[number]
            session = row.seats[index].session
            for n in range((session.to_date - session.from_date).days + 1):
                on_day[row.person, session.from_date + timedelta(days=n)].append((number, index))
        for seats in {tuple(found) for found in on_day.values()}:
            if len({number for number, _ in seats}) > 1:
                self._add_most([self._seats[seat] for seat in seats], 1)

    def _add_hours(self) -> None:
        """Requests are learned in study time; in a week with a new seat courses take at most the hours asked for."""
        by_person: defaultdict[str, list[SeatId]] = defaultdict(list)
        for number, index in self._seats:
            by_person[self._rows[number].person].append((number, index))
        for person_id, seats in sorted(by_person.items()):
            self._add_study_time(person_id, [seat for seat in seats if self._rows[seat[0]].is_request])
            if self._limits.minutes_per_week is not None:
                self._add_weeks(person_id, seats, self._limits.minutes_per_week)

    def _add_study_time(self, person_id: str, seats: Sequence[SeatId]) -> None:
        rate = read_decimal(self._snapshot.people[person_id].study_hours_per_week) * 60
        for end in sorted({self._get_session(seat).to_date for seat in seats}):
            entries = [
                (self._seats[seat], self._get_minutes(seat)) for seat in seats if self._get_session(seat).to_date <= end
            ]
            most = math.floor(rate * ((end - self._on).days + 1) / 7)
            if sum(minutes for _, minutes in entries) > most:
                self._model.add_row(entries, upper=most)

    def _add_weeks(self, person_id: str, seats: Sequence[SeatId], most: int) -> None:
        booked: defaultdict[date, int] = defaultdict(int)
        for session in get_sessions_attended(self._snapshot, person_id):
            booked[_get_monday(session.from_date)] += get_minutes(self._snapshot.courses[session.course].hours)
        weeks: defaultdict[date, list[SeatId]] = defaultdict(list)
        for seat in seats:
            weeks[_get_monday(self._get_session(seat).from_date)].append(seat)
        for monday, own in sorted(weeks.items()):
            left = most - booked[monday]
            if left < 0:
                self._model.add_row([(self._seats[seat], 1) for seat in own], upper=0)
            else:
                self._model.add_row([(self._seats[seat], self._get_minutes(seat)) for seat in own], upper=left)

    def _add_cover(self, row: CoverRow) -> None:
        entries = [(self._seats[seat], 1.0) for seat in row.seats]
        for gain in row.gains:
            # at whole seats it is whole by itself
            counts = self._model.add_variable(0, is_integer=False)
            self._model.add_row([(counts, 1), *((self._seats[seat], -1) for seat in gain.after)], upper=0)
            if gain.unless:
                self._model.add_row([(counts, 1), *((self._seats[seat], 1) for seat in gain.unless)], upper=1)
            entries.append((counts, -1.0))
        self._model.add_row(entries, upper=row.room)

    def _add_budget(self) -> None:
        if self._limits.cents is None:
            return
        entries: defaultdict[int, int] = defaultdict(int)
        for (number, index), variable in self._seats.items():
            seat = self._rows[number].seats[index]
            course = self._snapshot.courses[seat.session.course]
            entries[variable] = get_cents(course.cost) + (get_cents(seat.session.trip_cost) if seat.is_trip else 0)
        for session_id, variable in self._opened.items():
            if self._is_new(session_id):
                entries[variable] = get_cents(self._sessions[session_id].fixed_cost)
        self._model.add_row([(v, cents) for v, cents in entries.items() if cents], upper=self._limits.cents)

    def _is_new(self, session_id: str) -> bool:
        return count_seated(self._snapshot, self._sessions[session_id]) == 0

    def _build_aims(self) -> tuple[list[dict[int, int]], list[int]]:
        obligations = [n for n, row in enumerate(self._rows) if not row.is_request]
        timely = [n for n in obligations if self._rows[n].must_not_be_late]
        requests = [n for n, row in enumerate(self._rows) if row.is_request]
        seats = {variable: (self._rows[n], self._rows[n].seats[i]) for (n, i), variable in self._seats.items()}
        told = {v: (row, seat) for v, (row, seat) in seats.items() if not row.is_request}
        aims: list[dict[int, int]] = [
            {v: -1 for v, (row, seat) in told.items() if row.must_not_be_late and seat.is_in_time},
            dict.fromkeys(told, -1),
            {v: seat.days_past for v, (_, seat) in told.items() if seat.days_past},
            {v: -1 for v in seats if v not in told},
            {v: 1 for session_id, v in self._opened.items() if self._is_new(session_id)},
            {v: 1 for v, (_, seat) in seats.items() if seat.is_trip},
            {v: seat.days_given_away for v, (_, seat) in told.items() if seat.days_given_away},
        ]
        return aims, [len(timely), len(obligations), 0, len(requests), 0, 0, 0]

    def _get_session(self, seat: SeatId) -> Session:
        return self._rows[seat[0]].seats[seat[1]].session

    def _get_minutes(self, seat: SeatId) -> int:
        return get_minutes(self._snapshot.courses[self._get_session(seat).course].hours)


def _get_monday(day: date) -> date:
    return day - timedelta(days=day.weekday())
