"""Who needs a seat in a session of which course by when, and which sessions they could sit in. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from ontology.analysis.cover.presence import is_employed
from ontology.analysis.obligations.due_lists import find_obligations
from ontology.analysis.obligations.last_day_to_act import get_book_by
from ontology.analysis.obligations.met import leave_out_later
from ontology.analysis.obligations.rows import ObligationRow
from ontology.analysis.profiles.belonging import get_person_on, get_site_of_team
from ontology.analysis.profiles.levels import get_levels
from ontology.analysis.profiles.seats import count_free_seats, get_sessions_attended
from ontology.analysis.sessions.open_requests import is_open_request
from ontology.model.validity import find_window
from ontology.model.work_records import Session
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Asked", "PlanRow", "Seat", "build_rows", "find_open_sessions"]

_DAY: Final = timedelta(days=1)
_OPEN: Final = ("planned", "confirmed")


@dataclass(frozen=True, slots=True)
class Asked:
    """What a plan is asked for: until when, of which courses and team (all where empty)."""

    on: date
    until: date
    courses: frozenset[str] = frozenset()
    team: str = ""


@dataclass(frozen=True, slots=True)
class Seat:
    """A session in which a row could have its seat, and what that seat would mean.

    `is_in_time`: it ends by the due day; `days_past` are the days after it, `days_given_away` the days of validity lost
    by coming early.
    """

    session: Session
    is_in_time: bool
    days_past: int
    days_given_away: int
    is_trip: bool


@dataclass(frozen=True, slots=True)
class PlanRow:
    """A person who needs a course by a day; the seats are in the order in which they are preferred at last."""

    person: str
    course: str
    due: date
    is_request: bool
    must_not_be_late: bool
    seats: tuple[Seat, ...]
    reason: str = ""


def find_open_sessions(snapshot: Snapshot, asked: Asked) -> dict[str, list[Session]]:
    """Return course -> its sessions that can still be booked and lie in the time asked about, by first day and id."""
    found: dict[str, list[Session]] = {}
    for session in sorted(snapshot.sessions.values(), key=lambda row: (row.from_date, row.id)):
        is_open = session.state in _OPEN and session.from_date >= asked.on and session.to_date <= asked.until
        is_asked = not asked.courses or session.course in asked.courses
        if is_open and is_asked and get_book_by(snapshot, session) >= asked.on:
            found.setdefault(session.course, []).append(session)
    return found


def build_rows(snapshot: Snapshot, asked: Asked) -> list[PlanRow]:
    """Return the rows of a plan, by person and course.

    From what must be held by the last day of the plan and is not booked; then from open requests that are none of
    these.

    Notes
    -----
    O(what is asked of the people x what they have + rows x sessions).
    """
    sessions = find_open_sessions(snapshot, asked)
    known = leave_out_later(snapshot, asked.on)
    people = [person.id for person in snapshot.people.values() if _is_asked(snapshot, person.id, asked)]
    groups: dict[tuple[str, str], list[ObligationRow]] = {}
    for row in find_obligations(snapshot, asked.on, people):
        is_open = row.course is not None and row.booked_session is None
        if is_open and (not asked.courses or row.course in asked.courses) and _get_due(row, asked.on) <= asked.until:
            groups.setdefault((row.person, row.course or ""), []).append(row)
    rows = []
    for (person_id, course_id), group in groups.items():
        due = min(_get_due(row, asked.on) for row in group)
        builder = _SeatBuilder(known, asked, person_id, due, group)
        rows.append(builder.build(course_id, sessions.get(course_id, ()), is_request=False))
    for person_id, course_id, due in _iterate_requests(snapshot, asked, people):
        if (person_id, course_id) not in groups:
            builder = _SeatBuilder(known, asked, person_id, due, ())
            rows.append(builder.build(course_id, sessions.get(course_id, ()), is_request=True))
    return sorted(rows, key=lambda row: (row.person, row.course))


def _is_asked(snapshot: Snapshot, person_id: str, asked: Asked) -> bool:
    return not asked.team or get_person_on(snapshot, person_id, asked.on).team == asked.team


def _get_due(row: ObligationRow, on: date) -> date:
    return on - _DAY if row.due is None else row.due


def _iterate_requests(snapshot: Snapshot, asked: Asked, people: Sequence[str]) -> Iterator[tuple[str, str, date]]:
    """Yield person, course and day of the requests that are open."""
    for person_id in people:
        for row in snapshot.get_requests(person_id):
            if (not asked.courses or row.course in asked.courses) and is_open_request(snapshot, row, asked.on):
                yield person_id, row.course, row.by or asked.until


class _SeatBuilder:
    """Finds the sessions in which a person could sit, and what each would mean for a row."""

    def __init__(self, known: Snapshot, asked: Asked, person_id: str, due: date, rows: Sequence[ObligationRow]) -> None:
        self._known, self._asked, self._person = known, asked, known.people[person_id]
        self._due, self._rows = due, rows
        self._booked = get_sessions_attended(known, person_id)

    def build(self, course_id: str, sessions: Sequence[Session], *, is_request: bool) -> PlanRow:
        reasons: dict[str, None] = {}
        seats = []
        for session in sessions:
            reason = self._find_obstacle(session, is_request=is_request)
            if reason:
                reasons[reason] = None
            else:
                seats.append(self._describe(session))
        why = "no session of it is open" if not sessions else "; ".join(reasons)
        return PlanRow(
            self._person.id,
            course_id,
            self._due,
            is_request,
            not is_request and self._due >= self._asked.on,
            tuple(seats),
            "" if seats else why,
        )

    def _find_obstacle(self, session: Session, *, is_request: bool) -> str:
        """Return why someone cannot sit in a session; empty where they can."""
        known, person = self._known, self._person
        first, last = session.from_date, session.to_date
        if is_request and last > self._due:
            return "it ends after the day it is wanted by"
        if not (is_employed(person, first) and is_employed(person, last)):
            return "not employed on its days"
        if any(row.from_date <= last and row.to_date >= first for row in known.get_absences(person.id)):
            return "absent on its days"
        if any(row.from_date <= last and row.to_date >= first for row in self._booked):
            return "in another session on its days"
        if count_free_seats(known, session) == 0:
            return "no seat is free"
        if not self._is_open(session):
            return "entry conditions not met on its first day"
        return ""

    def _is_open(self, session: Session) -> bool:
        conditions = self._known.get_entry_conditions(session.course)
        competencies = [self._known.competencies[row.competency] for row in conditions]
        levels = get_levels(self._known, self._person.id, competencies, session.from_date)
        return all((held.level or 0) >= row.level for held, row in zip(levels, conditions, strict=True))

    def _describe(self, session: Session) -> Seat:
        last = session.to_date
        is_met = bool(self._rows) and all(row.is_met for row in self._rows)
        gives_away = is_met and last < self._due and not self._is_in_window(last)
        return Seat(
            session,
            last <= self._due,
            max(0, (last - self._due).days),
            (self._due - last).days if gives_away else 0,
            self._is_trip(session),
        )

    def _is_in_window(self, day: date) -> bool:
        """Whether coming on a day costs nothing: it is in the renewal window of all that the course is taken for."""
        return all(_is_in_window(self._known, row, day) for row in self._rows)

    def _is_trip(self, session: Session) -> bool:
        team = get_person_on(self._known, self._person.id, session.from_date).team
        home = get_site_of_team(self._known, team) if team else ""
        return bool(session.site and home and session.site != home)


def _is_in_window(known: Snapshot, row: ObligationRow, day: date) -> bool:
    competency, last = known.competencies[row.competency], row.valid_until
    if competency.renewal_window_months is None or last is None:
        return False
    return find_window(last, competency.renewal_window_months, competency.validity_rule) <= day <= last
