"""What would not hold in a team while someone is on leave, who could stand in, and when nothing would break. Pure.

Each day is judged by what coverage and staffing say of it, with the person and without. Nothing is sampled: the team is
looked at on the days on which something in it changes, and on no other.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Final

from ontology.analysis.cover.presence import find_absences
from ontology.analysis.outlook.leave_rows import FreeSpan, LeaveBreak, LeaveCheckResult, LeaveDuty
from ontology.analysis.outlook.leave_stand_ins import Item, ItemKey, StandInFinder
from ontology.analysis.outlook.team_calendar import TeamCalendar
from ontology.analysis.places.holding import Fallen
from ontology.errors import InputError
from ontology.snapshot.snapshot import Snapshot

__all__ = ["LONGEST_LEAVE_DAYS", "WEEKS_AROUND", "check_leave"]

#: Longer leave is no leave to check but someone who has left.
LONGEST_LEAVE_DAYS: Final = 366
#: Weeks before and after in which other days are looked for, unless asked otherwise.
WEEKS_AROUND: Final = 8
_DAY: Final = timedelta(days=1)
_KINDS: Final = ("need", "place", "together")


def check_leave(
    snapshot: Snapshot,
    team_id: str,
    on: date,
    *,
    person_id: str,
    from_date: date,
    to_date: date,
    weeks: int = WEEKS_AROUND,
) -> LeaveCheckResult:
    """Return what a leave would break on which days, and the nearest days of the same length on which nothing would.

    Parameters
    ----------
    team_id, person_id : str
        A team, and a member of it on some day of the leave.
    on : date
        Other days are looked for from this day on, where the leave does not begin before it.
    from_date, to_date : date
        First and last day of the leave.
    weeks : int
        The days looked for begin at most so many weeks before or after the leave.

    Returns
    -------
    LeaveCheckResult
        Rows by kind, then in the order of needs and places, then by day. On each day they are what
        `find_single_points_of_failure` names with the person.

    Raises
    ------
    UnknownIdError
        There is no such team or person.
    InputError
        The leave ends before it begins, is longer than a year, or the person is no member on any day of it.

    Notes
    -----
    One matching for each day on which the team changes; for each row and such a day one search for stand-ins.
    """
    snapshot.require_team(team_id)
    snapshot.require_person(person_id)
    _require(from_date, to_date, weeks)
    length = (to_date - from_date).days + 1
    around = timedelta(days=7 * weeks)
    first, last = _shift(from_date, -around), _shift(to_date, around)
    calendar = TeamCalendar(snapshot, team_id, first, last)
    person = snapshot.people[person_id]
    turns = [day for day in calendar.turns if from_date < day <= to_date]
    if not any(calendar.is_member(person, day) for day in (from_date, *turns)):
        about = f"{person_id} is no member of {team_id} on any of these days."
        raise InputError(about, parameter="person", value=person_id)
    outcome = _Outcome(calendar, person_id)
    finder = StandInFinder(snapshot, team_id, person_id, from_date, to_date)
    rows = [finder.describe(item) for item in _build_items(outcome, from_date, to_date)]
    earliest = max(first, on) if from_date >= on else first
    return LeaveCheckResult(
        team=team_id,
        person=person_id,
        on=on,
        from_date=from_date,
        to_date=to_date,
        days=length,
        days_breaking=sum(bool(outcome.get(_shift(from_date, n * _DAY))) for n in range(length)),
        weeks=weeks,
        breaks=tuple(rows),
        duties=tuple(_iterate_duties(snapshot, person_id, from_date, to_date)),
        free_before=_find_free(outcome, length, from_date - _DAY, earliest, -1) if from_date > date.min else None,
        free_after=_find_free(outcome, length, from_date + _DAY, _shift(from_date, around), 1),
        remarks=tuple(_iterate_remarks(snapshot, person_id, from_date, to_date, rows)),
    )


def _require(from_date: date, to_date: date, weeks: int) -> None:
    if to_date < from_date:
        raise InputError("The last day must not lie before the first.", parameter="to", value=to_date)
    if (to_date - from_date).days >= LONGEST_LEAVE_DAYS:
        raise InputError(f"A leave is at most {LONGEST_LEAVE_DAYS} days long.", parameter="to", value=to_date)
    if weeks < 0:
        raise InputError("Weeks are at least 0.", parameter="weeks", value=weeks)


class _Outcome:
    """What would not hold without someone on each day of a calendar; a day like the one before is not looked at."""

    def __init__(self, calendar: TeamCalendar, person_id: str) -> None:
        self._calendar, self._person_id = calendar, person_id
        self._fallen: dict[date, Fallen] = {}

    def get(self, day: date) -> Fallen:
        begin = self._calendar.find_begin(day)
        if begin not in self._fallen:
            self._fallen[begin] = self._calendar.get_holding(begin).find_broken({self._person_id})
        return self._fallen[begin]

    def find_spans(self, first: date, last: date) -> Iterator[tuple[date, date, Fallen]]:
        """Yield the days between two, both inclusive, in pieces on which the same falls."""
        begins = [first, *(day for day in self._calendar.turns if first < day <= last)]
        for begin, after in zip(begins, [*begins[1:], None], strict=True):
            yield begin, last if after is None else after - _DAY, self.get(begin)


def _list_items(fallen: Fallen) -> dict[ItemKey, int]:
    """Return what falls with how many slots of it, in order."""
    items: dict[ItemKey, int] = {
        ("need", need.competency, need.level, need.applies, None, None, need.shift): 1 for need in fallen.needs
    }
    for place in fallen.places:
        key: ItemKey = ("place", None, None, None, place, None, None)
        items[key] = items.get(key, 0) + 1
    for need in fallen.together:
        items["together", need.competency, need.level, need.applies, None, need.together, need.shift] = need.slots
    return items


def _build_items(outcome: _Outcome, first: date, last: date) -> list[Item]:
    """Return what falls, each once for days in a row on which as many slots of it do."""
    open_items: dict[ItemKey, Item] = {}
    done: list[Item] = []
    for begin, end, fallen in outcome.find_spans(first, last):
        now = _list_items(fallen)
        for key, item in list(open_items.items()):
            if now.get(key) != item.slots:
                done.append(open_items.pop(key))
        for key, slots in now.items():
            known = open_items.get(key)
            open_items[key] = Item(key, slots, known.from_date if known else begin, end)
    done += open_items.values()
    return sorted(done, key=lambda item: (_KINDS.index(item.key[0]), _order(item.key), item.from_date))


def _order(key: ItemKey) -> tuple[str | int, ...]:
    _, competency, level, applies, place, together, shift = key
    return competency or "", level or 0, applies or "", place or "", together or "", shift or ""


def _find_free(outcome: _Outcome, length: int, start: date, limit: date, step: int) -> FreeSpan | None:
    """Return the nearest days in a row without a break that begin between two days, going one way; None for none."""
    day = start
    while (limit - day).days * step >= 0:
        if (date.max - day).days < length - 1:
            return None
        last = day + timedelta(days=length - 1)
        if not any(fallen for _, _, fallen in outcome.find_spans(day, last)):
            return FreeSpan(day, last)
        if day in (date.min, date.max):
            return None
        day += step * _DAY
    return None


def _iterate_duties(snapshot: Snapshot, person_id: str, first: date, last: date) -> Iterator[LeaveDuty]:
    rows = [row for row in snapshot.get_table("duties").values() if person_id in (row.person, row.supervised_by)]
    for row in sorted(rows, key=lambda row: (row.from_date, row.place, row.person)):
        if row.from_date <= last and row.to_date >= first:
            days = max(first, row.from_date), min(last, row.to_date)
            yield LeaveDuty(row.place, row.person, row.supervised_by or None, *days)


def _iterate_remarks(
    snapshot: Snapshot, person_id: str, first: date, last: date, rows: list[LeaveBreak]
) -> Iterator[str]:
    for begin, end in find_absences(snapshot, person_id):
        if begin <= last and end >= first:
            days = f"{max(first, begin)} to {min(last, end)}"
            yield f"Absent or in a session from {days} already: on these days the leave changes nothing."
    lonely = [row for row in rows if not row.stand_ins]
    if lonely:
        yield "For what nobody could stand in for, other days or another person must be found."


def _shift(day: date, by: timedelta) -> date:
    try:
        return day + by
    except OverflowError:
        return date.max if by > timedelta() else date.min
