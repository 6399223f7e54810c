"""Who goes to which session, by trying every choice, and by a second solver: from the words of the rules alone.

Cover is asked of coverage itself: with the seats booked, on every day of a session. What must be held, and by when, is
what the obligations of each person say.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from functools import cache

from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.obligations.due_lists import find_person_obligations
from ontology.analysis.paths.expected import with_outcomes
from ontology.analysis.profiles.belonging import get_person_on, get_site_of_team
from ontology.analysis.profiles.levels import get_level
from ontology.model.tables import TABLES
from ontology.model.validity import add_months
from ontology.model.work_records import Session
from ontology.snapshot.snapshot import Snapshot

DAY = timedelta(days=1)
Choice = tuple[str | None, ...]


@dataclass(frozen=True)
class Row:
    """Someone who needs a course by a day; `sessions` are those they could sit in, by first day and id."""

    person: str
    course: str
    due: date
    is_request: bool
    is_met: bool
    windows: tuple[tuple[date, date] | None, ...]
    sessions: tuple[Session, ...]


def list_days(session: Session) -> list[date]:
    return [session.from_date + n * DAY for n in range((session.to_date - session.from_date).days + 1)]


class BruteSessions:
    """The plans of one company, each judged by itself."""

    def __init__(
        self,
        snapshot: Snapshot,
        on: date,
        until: date,
        *,
        hours_per_week: float | None = None,
        budget: float | None = None,
    ) -> None:
        self.snapshot, self.on, self.until = snapshot, on, until
        self.hours_per_week, self.budget = hours_per_week, budget
        later = [a for a in snapshot.get_table("assessments").values() if a.date > on]
        key = TABLES["assessments"].get_key
        self.known = snapshot.with_changes(remove=[("assessments", key(a)) for a in later])
        self.booked = {
            (b.person, b.session)
            for b in snapshot.get_table("bookings").values()
            if b.state in ("booked", "attended") and snapshot.sessions[b.session].state != "cancelled"
        }
        coming = [
            (b.person, snapshot.sessions[b.session].course, snapshot.sessions[b.session].to_date)
            for b in snapshot.get_table("bookings").values()
            if b.state == "booked" and snapshot.sessions[b.session].state != "cancelled"
        ]
        self.base = with_outcomes(self.known, coming)
        self.open = [s for s in snapshot.sessions.values() if self._is_open(s)]
        everyone = [row for row in self._iterate_rows() if any(s.course == row.course for s in self.open)]
        self.rows = sorted(everyone, key=lambda row: (row.person, row.course))
        self.covered = cache(self._count_cover)

    def _is_open(self, session: Session) -> bool:
        lead = Fraction(str(self.snapshot.courses[session.course].lead_weeks)) * 7
        book_by = session.book_by or session.from_date - timedelta(days=-(-lead.numerator // lead.denominator))
        is_inside = session.from_date >= self.on and session.to_date <= self.until
        return session.state in ("planned", "confirmed") and is_inside and book_by >= self.on

    def _iterate_rows(self) -> Iterator[Row]:
        taken = set()
        for person in self.snapshot.people.values():
            groups = defaultdict(list)
            for row in find_person_obligations(self.snapshot, person.id, on=self.on).rows:
                due = row.due or self.on - DAY
                if row.course and not row.booked_session and due <= self.until:
                    groups[row.course].append((due, row))
            for course, group in groups.items():
                taken.add((person.id, course))
                windows = tuple(self._find_window(row.competency, row.valid_until) for _, row in group)
                due = min(due for due, _ in group)
                is_met = all(row.is_met for _, row in group)
                yield self._make(person.id, course, due, is_request=False, is_met=is_met, windows=windows)
        for wish in self.snapshot.get_table("requests").values():
            person = self.snapshot.people[wish.person]
            is_there = (person.start_date or self.on) <= self.on <= (person.end_date or self.on)
            seats = [self.snapshot.sessions[s] for p, s in self.booked if p == wish.person]
            is_open = not any(s.course == wish.course and s.to_date >= self.on for s in seats)
            is_asked = wish.asked_on is None or wish.asked_on <= self.on
            if is_there and is_open and is_asked and (wish.person, wish.course) not in taken:
                yield self._make(
                    wish.person, wish.course, wish.by or self.until, is_request=True, is_met=False, windows=()
                )

    def _find_window(self, competency_id: str, last: date | None) -> tuple[date, date] | None:
        months = self.snapshot.competencies[competency_id].renewal_window_months
        return None if months is None or last is None else (add_months(last, -months) + DAY, last)

    def _make(
        self,
        person_id: str,
        course: str,
        due: date,
        *,
        is_request: bool,
        is_met: bool,
        windows: tuple[tuple[date, date] | None, ...],
    ) -> Row:
        fits = [s for s in self.open if s.course == course and self._can_sit(person_id, s)]
        if is_request:
            fits = [s for s in fits if s.to_date <= due]
        fits.sort(key=lambda s: (s.from_date, s.id))
        return Row(person_id, course, due, is_request, is_met, windows, tuple(fits))

    def _can_sit(self, person_id: str, session: Session) -> bool:
        person = self.snapshot.people[person_id]
        for day in list_days(session):
            if not (person.start_date or day) <= day <= (person.end_date or day):
                return False
            if any(a.from_date <= day <= a.to_date for a in self.snapshot.get_absences(person_id)):
                return False
            if any(p == person_id and day in list_days(self.snapshot.sessions[s]) for p, s in self.booked):
                return False
        if self.count_free(session) < 1:
            return False
        return all(
            (get_level(self.known, person_id, self.known.competencies[c.competency], session.from_date).level or 0)
            >= c.level
            for c in self.snapshot.get_entry_conditions(session.course)
        )

    def count_seated(self, session: Session) -> int:
        return sum(s == session.id for _, s in self.booked)

    def count_free(self, session: Session) -> int:
        seats = session.seats or self.snapshot.courses[session.course].seats
        return 10**6 if seats is None else max(0, seats - self.count_seated(session))

    def iterate_choices(self) -> Iterator[Choice]:
        return itertools.product(*([*(s.id for s in row.sessions), None] for row in self.rows))

    def list_seats(self, choice: Choice) -> list[tuple[Row, Session]]:
        pairs = zip(self.rows, choice, strict=True)
        return [(row, self.snapshot.sessions[session]) for row, session in pairs if session is not None]

    def is_legal(self, choice: Choice) -> bool:
        """Whether a choice keeps every rule."""
        seats = self.list_seats(choice)
        for session in self.open:
            new = sum(s.id == session.id for _, s in seats)
            if new > self.count_free(session):
                return False
            least = self.snapshot.courses[session.course].group_minimum
            if new and session.state == "planned" and new + self.count_seated(session) < least:
                return False
        for person in self.snapshot.people:
            own = [(row, s) for row, s in seats if row.person == person]
            days = [day for _, s in own for day in list_days(s)]
            if len(days) != len(set(days)) or not self._keeps_hours(person, own):
                return False
        if self.budget is not None and self.compute_cost(choice) > Fraction(str(self.budget)):
            return False
        return self._keeps_cover(seats)

    def _keeps_hours(self, person_id: str, own: list[tuple[Row, Session]]) -> bool:
        rate = Fraction(str(self.snapshot.people[person_id].study_hours_per_week))
        for _, session in own:
            wished = [s for row, s in own if row.is_request and s.to_date <= session.to_date]
            hours = sum(Fraction(str(self.snapshot.courses[s.course].hours)) for s in wished)
            if hours > rate * ((session.to_date - self.on).days + 1) / 7:
                return False
        if self.hours_per_week is not None:
            booked = [self.snapshot.sessions[s] for p, s in self.booked if p == person_id]
            for _, session in own:
                week = session.from_date.isocalendar()[:2]
                begun = [s for s in (*(s for _, s in own), *booked) if s.from_date.isocalendar()[:2] == week]
                hours = sum(Fraction(str(self.snapshot.courses[s.course].hours)) for s in begun)
                if hours > Fraction(str(self.hours_per_week)):
                    return False
        return True

    def _count_cover(self, seats: frozenset[tuple[str, str]], day: date) -> dict[tuple[object, ...], int]:
        """Return the depth of every need in every shift on a day, by coverage itself, with some seats booked."""
        done = [(p, self.snapshot.sessions[s].course, self.snapshot.sessions[s].to_date) for p, s in sorted(seats)]
        after = with_outcomes(self.base, done)
        put = [("bookings", TABLES["bookings"].build(session=s, person=p)) for p, s in seats]
        after = after.with_changes(put)
        return {
            (team, need.competency, need.level, need.applies, row.shift): row.depth
            for team in self.snapshot.teams
            for need in compute_coverage(after, team, day).needs
            for row in (need.shifts or (need,))
        }

    def _keeps_cover(self, seats: list[tuple[Row, Session]]) -> bool:
        pairs = frozenset((row.person, s.id) for row, s in seats)
        minimum = {
            (n.team, n.competency, n.level, n.applies): n.minimum
            for n in self.snapshot.get_table("cover_needs").values()
        }
        for day in sorted({day for _, s in seats for day in list_days(s)}):
            before, now = self.covered(frozenset(), day), self.covered(pairs, day)
            if any(depth < min(minimum[key[:4]], before[key]) for key, depth in now.items()):
                return False
        return True

    def _is_trip(self, person_id: str, session: Session) -> bool:
        team = get_person_on(self.snapshot, person_id, session.from_date).team
        home = get_site_of_team(self.snapshot, team) if team else ""
        return bool(home and session.site and home != session.site)

    def list_opened(self, choice: Choice) -> list[Session]:
        taken = {s.id for _, s in self.list_seats(choice)}
        return [s for s in self.open if s.id in taken and s.state == "planned" and not self.count_seated(s)]

    def compute_cost(self, choice: Choice) -> Fraction:
        total = sum((Fraction(str(s.fixed_cost)) for s in self.list_opened(choice)), Fraction(0))
        for row, session in self.list_seats(choice):
            total += Fraction(str(self.snapshot.courses[session.course].cost))
            total += Fraction(str(session.trip_cost)) if self._is_trip(row.person, session) else 0
        return total

    def judge(self, choice: Choice) -> tuple[int, ...]:
        """Return the values of the seven aims, then for each row which seat it has, none counting last."""
        pairs = list(zip(self.rows, (self.snapshot.sessions.get(s or "") for s in choice), strict=True))
        told = [(row, s) for row, s in pairs if not row.is_request]
        given = 0
        for row, s in told:
            inside = [w is not None and s is not None and w[0] <= s.to_date <= w[1] for w in row.windows]
            if s is not None and row.is_met and not (inside and all(inside)):
                given += max(0, (row.due - s.to_date).days)
        return (
            sum(row.due >= self.on and not (s and s.to_date <= row.due) for row, s in told),
            sum(s is None for _, s in told),
            sum(max(0, (s.to_date - row.due).days) for row, s in told if s),
            sum(s is None for row, s in pairs if row.is_request),
            len(self.list_opened(choice)),
            sum(self._is_trip(row.person, s) for row, s in pairs if s),
            given,
            *(len(row.sessions) if s is None else row.sessions.index(s) for row, s in pairs),
        )

    def find_best(self) -> Choice:
        """Return the best of all choices that keep the rules."""
        for choice in sorted(self.iterate_choices(), key=self.judge):
            if self.is_legal(choice):
                return choice
        raise AssertionError("nobody in a session keeps every rule")
