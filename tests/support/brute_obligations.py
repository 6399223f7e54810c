"""Obligations judged day by day, in the plainest way: the twin that every span is held to."""

from __future__ import annotations

import math
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from ontology.analysis.profiles.levels import find_ways, get_level
from ontology.model.records import Course
from ontology.model.work_records import Obligation
from ontology.snapshot.snapshot import Snapshot

__all__ = ["DayByDay"]

Key = tuple[str, int]
_DAY = timedelta(days=1)


class DayByDay:
    """What a person must hold, asked on every day from `reach` days before a day to as many after it.

    What was so on the first of these days has been so for ever, and on the last stays so.
    """

    def __init__(self, snapshot: Snapshot, person_id: str, on: date, reach: int = 700) -> None:
        later = [key for key, row in snapshot.get_table("assessments").items() if row.date > on]
        self.snapshot = snapshot.with_changes(remove=[("assessments", key) for key in later])
        self.person = snapshot.people[person_id]
        self.on = on
        self.first, self.last = on - timedelta(days=reach), on + timedelta(days=reach)
        self.days = [self.first + timedelta(days=i) for i in range(2 * reach + 1)]
        self.asking = self._find_asking()

    def _get_member(self, day: date) -> tuple[str, str]:
        """Return team and role of a day."""
        for row in self.snapshot.get_memberships(self.person.id):
            if row.from_date <= day and (row.to_date is None or day <= row.to_date):
                return row.team, row.role or self.person.role
        return self.person.team, self.person.role

    def _is_bound(self, row: Obligation, day: date) -> bool:
        start, end = self.person.start_date, self.person.end_date
        if (start and day < start) or (end and day > end):
            return False
        if (row.from_date and day < row.from_date) or (row.to_date and day > row.to_date):
            return False
        team, role = self._get_member(day)
        if row.rule in ("everyone", "role"):
            return row.rule == "everyone" or role == row.of
        if row.rule == "place":
            duties = self.snapshot.get_duties(self.person.id)
            return any(duty.place == row.of and duty.from_date <= day <= duty.to_date for duty in duties)
        above = []
        while team:
            above.append(team)
            team = self.snapshot.teams[team].part_of
        if row.rule == "team":
            return row.of in above
        return row.of == next((self.snapshot.teams[i].site for i in above if self.snapshot.teams[i].site), "")

    def _get_keys(self, row: Obligation) -> set[Key]:
        keys = {(row.competency, row.level)}
        open_ = [row.competency]
        while open_:
            for other in self.snapshot.competencies[open_.pop()].holds_while:
                open_.append(other)
                keys.add((other, 1))
        return keys

    def _find_asking(self) -> dict[date, dict[Key, list[str]]]:
        """Return the ids of the obligations that ask for each competency and level on each day."""
        begun: dict[str, date | None] = {}  # the first day of the run that is on; None: not known
        asking: dict[date, dict[Key, list[str]]] = {}
        keys = {row.id: self._get_keys(row) for row in self.snapshot.obligations.values()}
        before: dict[Key, list[str]] = {}
        for day in self.days:
            today: dict[Key, list[str]] = {}
            for row in self.snapshot.obligations.values():
                if not self._is_bound(row, day):
                    begun.pop(row.id, None)
                    continue
                first = begun.setdefault(row.id, None if day == self.first else day)
                for key in keys[row.id]:
                    if first is None or (day - first).days >= row.days_after or key in before:
                        today.setdefault(key, []).append(row.id)
            asking[day] = before = today
        return asking

    def is_met(self, key: Key, day: date) -> bool:
        """Whether something valid gives the level that day."""
        return find_ways(self.snapshot, self.person.id, self.snapshot.competencies[key[0]], day).is_met(key[1])

    def count_bad_days(self) -> int:
        """Return the days on which something must be held and is not, each once for every such thing."""
        return sum(not self.is_met(key, day) for day in self.days for key in self.asking[day])

    def tell(self) -> list[dict[str, Any]]:
        """Return the rows, without the members that only tell the assessment behind them, in no order."""
        year = [self.on + timedelta(days=i) for i in range(366)]
        keys = {key for day in year for key in self.asking[day]}
        return [self._tell_row(key, year) for key in sorted(keys)]

    def _tell_row(self, key: Key, year: list[date]) -> dict[str, Any]:
        obligations = sorted({i for day in year for i in self.asking[day].get(key, ())})
        bases = [self.snapshot.obligations[i].legal_basis for i in obligations]
        bad = {day for day in self.days if key in self.asking[day] and not self.is_met(key, day)}
        is_met = self.is_met(key, self.on)
        first: date | None = None
        if self.on in bad:
            first = self.on
            while first - _DAY in bad:
                first -= _DAY
        else:
            first = min((day for day in bad if day > self.on), default=None)
        is_open = first == self.first
        due = None
        if first is not None and not is_open:
            due = first - _DAY if key in self.asking[first - _DAY] else first
            while any(row.from_date <= due <= row.to_date for row in self.snapshot.get_absences(self.person.id)):
                due += _DAY
        row = {
            "competency": key[0],
            "level": key[1],
            "obligations": obligations,
            "legal_basis": sorted({basis for basis in bases if basis}),
            "state": self._find_state(self.on in bad, is_met, due),
            "due": due,
            "is_met": is_met,
        }
        return row | self._find_act(key, due, None if first is None else max(first, self.on))

    def _find_state(self, is_bad: bool, is_met: bool, due: date | None) -> str:
        if is_bad and (due is None or due < self.on):
            return "overdue"
        for days in (30, 60, 90):
            if due is not None and (due - self.on).days <= days:
                return f"within-{days}"
        return "current" if is_met or due is None else "later"

    def _find_act(self, key: Key, due: date | None, bad_day: date | None) -> dict[str, Any]:
        found: dict[str, Any] = dict.fromkeys(
            ("first_act", "course", "last_day_to_act", "session", "booked_session")
        ) | {"is_late": False}
        if bad_day is None:
            return found
        by = due or self.on - _DAY
        competency = self.snapshot.competencies[key[0]]
        then = find_ways(self.snapshot, self.person.id, competency, bad_day)
        now = find_ways(self.snapshot, self.person.id, competency, self.on).pick(is_forced=True)
        if then.is_suspended and any(w.state == "ok" and (w.level or 0) >= key[1] for w in then.found):
            return found | {"first_act": "restore", "is_late": by < self.on}
        is_known = now.state not in ("not-assessed", "review-due", "lapsed")
        if competency.kind != "certificate" and (not is_known or (now.level or 0) >= key[1]):
            return found | {"first_act": "assess", "last_day_to_act": by, "is_late": by < self.on}
        courses = [
            row
            for row in self.snapshot.courses.values()
            if self._is_usable(row, key, max(now.level or 0, now.renewable_level))
        ]
        if not courses:
            return found | {"first_act": "none", "is_late": by < self.on}
        course = min(courses, key=lambda c: (c.hours, c.cost, c.id))
        gives = [o for o in self.snapshot.get_outcomes(course.id) if o.competency == key[0] and o.level >= key[1]]
        act = "renew" if all(outcome.renews for outcome in gives) else "learn"
        return found | {"first_act": act, "course": course.id} | self._find_last_day(course, by)

    def _is_usable(self, course: Course, key: Key, restorable: int) -> bool:
        for row in self.snapshot.get_entry_conditions(course.id):
            known = get_level(self.snapshot, self.person.id, self.snapshot.competencies[row.competency], self.on)
            if (known.level or 0) < row.level:
                return False
        return any(
            row.competency == key[0] and row.level >= key[1] and (not row.renews or restorable >= row.level)
            for row in self.snapshot.get_outcomes(course.id)
        )

    def _find_last_day(self, course: Course, by: date) -> dict[str, Any]:
        sessions = [row for row in self.snapshot.sessions.values() if row.course == course.id]
        seats = {(row.session, row.person): row.state for row in self.snapshot.get_table("bookings").values()}
        mine = [
            (row.to_date, row.id)
            for row in sessions
            if row.state != "cancelled" and row.to_date >= self.on and seats.get((row.id, self.person.id)) == "booked"
        ]
        if mine:
            return {"booked_session": min(mine)[1], "is_late": min(mine)[0] > by}
        lead = math.ceil(Decimal(str(course.lead_weeks)) * 7)
        dated = []
        for row in sessions:
            if row.state in ("planned", "confirmed") and row.from_date >= self.on:
                taken = sum(1 for (i, _), state in seats.items() if i == row.id and state in ("booked", "attended"))
                room = row.seats or course.seats
                book_by = row.book_by or row.from_date - timedelta(days=lead)
                dated.append((row, book_by, (room is None or taken < room) and book_by >= self.on))
        if not dated:
            weeks = max(Decimal(str(course.weeks or 0)), Decimal(str(course.hours)) / 40)
            day = by - timedelta(days=math.ceil((Decimal(str(course.lead_weeks)) + weeks) * 7))
            return {"last_day_to_act": day, "is_late": day < self.on}
        in_time = [(row, book_by) for row, book_by, is_open in dated if is_open and row.to_date <= by]
        if in_time:
            row, book_by = min(in_time, key=lambda pair: (-pair[1].toordinal(), pair[0].id))
            return {"last_day_to_act": book_by, "session": row.id}
        rest = [(row.to_date, row.id) for row, _, is_open in dated if is_open]
        return {"session": min(rest)[1] if rest else None, "is_late": True}
