"""What someone who starts, or changes the role, meets on which day, and what of it is done. Pure.

Never a grade: an item is done on a day, or it is open.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Annotated, Final, Literal

from ontology.analysis.cover.presence import is_employed
from ontology.analysis.profiles.belonging import get_person_on, get_site_of_team, is_meant
from ontology.analysis.profiles.levels import find_days_of_change, find_ways
from ontology.errors import InputError
from ontology.model.identity import PersonId
from ontology.model.work_records import OrientationDone, OrientationItem
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "DUE_DAYS",
    "BookedSession",
    "OrientationResult",
    "OrientationRow",
    "OrientationState",
    "build_orientation",
    "build_rows",
    "find_first_met",
    "find_item_day",
]

OrientationState = Literal["done", "overdue", "due", "later"]

#: An open item is "due" from so many days before its day on.
DUE_DAYS: Final = 7
#: Booked sessions that begin at most so many days after the start stand beside the items.
_FIRST_SESSIONS_DAYS: Final = 365
_SATURDAY: Final = 5
#: Bookings that hold a seat or held it.
_SEATED: Final = ("booked", "attended")


@dataclass(frozen=True, slots=True)
class OrientationRow:
    """One item of a plan; `done` None: open."""

    item: Annotated[str, "Id of the item."]
    label: Annotated[str, "What it is."]
    owner: Annotated[PersonId, "Who sees to it; empty: nobody is named."]
    due: Annotated[date, "Its day: never a Saturday or Sunday."]
    done: Annotated[date | None, "The day it was done: as recorded, else the first on which its competency was met."]
    state: Annotated[OrientationState, "done, overdue (its day has passed), due (within 7 days) or later."]
    before_work: Annotated[bool, "Whether it must be done before work begins."]
    competency: Annotated[str | None, "Id of the competency that shows it is done; null: only a record does."]
    level: Annotated[int | None, "At which level."]
    hours: Annotated[float | None, "Hours it takes; null: not told."]
    done_by: Annotated[PersonId, "Who did it with them, where it is recorded."]


@dataclass(frozen=True, slots=True)
class BookedSession:
    """A seat in a session of the first year."""

    session: Annotated[str, "Id of the session."]
    course: Annotated[str, "Id of the course."]
    first_day: Annotated[date, "Its first day."]
    last_day: Annotated[date, "Its last day."]
    where: Annotated[str, "Room or address."]


@dataclass(frozen=True, slots=True)
class OrientationResult:
    """A newcomer's plan, or that of a change of role."""

    start: Annotated[date, "The first day, from which the days of items are counted."]
    is_change_of_role: Annotated[bool, "Whether the start was asked for: items for everyone are left out then."]
    team: Annotated[str, "Id of the team on the first day; empty: none."]
    role: Annotated[str, "Id of the role on the first day; empty: none."]
    site: Annotated[str, "Id of the site of that team; empty: none."]
    items: Annotated[tuple[OrientationRow, ...], "What is met, by day and id."]
    sessions: Annotated[tuple[BookedSession, ...], "Booked sessions that begin within a year, by first day and id."]
    remarks: Annotated[tuple[str, ...], "What else should be known."]


def build_orientation(snapshot: Snapshot, person_id: str, on: date, *, start: date | None = None) -> OrientationResult:
    """Return what someone meets from the first day on, and what of it is done.

    Parameters
    ----------
    on : date
        The day asked about: what is done after it is not done yet.
    start : date, optional
        The first day of a change of role: items for everyone are left out. Left out: the person's start date.

    Raises
    ------
    UnknownIdError
        There is no such person.
    InputError
        The person has no start date, and no start is given.

    Notes
    -----
    O(n log n) for n items, and the days of change of each competency they name.
    """
    person = snapshot.require_person(person_id)
    first = start or person.start_date
    if first is None:
        raise InputError(
            f"{person_id} has no start date: give the first day of the plan as 'start'.", parameter="start", value=None
        )
    there = get_person_on(snapshot, person_id, first)
    return OrientationResult(
        start=first,
        is_change_of_role=start is not None,
        team=there.team,
        role=there.role,
        site=get_site_of_team(snapshot, there.team),
        items=build_rows(snapshot, person_id, on, first, is_change_of_role=start is not None),
        sessions=tuple(_list_sessions(snapshot, person_id, first)),
        remarks=tuple(_iterate_remarks(snapshot, person_id, on, first)),
    )


def build_rows(
    snapshot: Snapshot, person_id: str, on: date, start: date, *, is_change_of_role: bool
) -> tuple[OrientationRow, ...]:
    """Return the items of a start by day and id; whom they are for is judged on its day."""
    there = get_person_on(snapshot, person_id, start)
    recorded = {row.item: row for row in snapshot.get_orientation_done(person_id) if row.date <= on}
    rows = [
        _build_row(snapshot, person_id, item, recorded.get(item.id), start, on)
        for item in snapshot.orientation_items.values()
        if not (is_change_of_role and item.rule == "everyone") and is_meant(snapshot, there, item.rule, item.of)
    ]
    return tuple(sorted(rows, key=lambda row: (row.due, row.item)))


def _build_row(
    snapshot: Snapshot, person_id: str, item: OrientationItem, record: OrientationDone | None, start: date, on: date
) -> OrientationRow:
    due = find_item_day(start, item.offset_days, before_work=item.before_work)
    done = record.date if record else None
    # what was written down wins: it says when it was done for this plan
    if record is None and item.competency:
        done = find_first_met(snapshot, person_id, item.competency, item.level, start, on)
    return OrientationRow(
        item=item.id,
        label=item.label,
        owner=item.owner,
        due=due,
        done=done,
        state="done" if done else _judge(due, on),
        before_work=item.before_work,
        competency=item.competency or None,
        level=item.level if item.competency else None,
        hours=item.hours,
        done_by=record.done_by if record else "",
    )


def _judge(due: date, on: date) -> OrientationState:
    if due < on:
        return "overdue"
    return "due" if (due - on).days <= DUE_DAYS else "later"


def find_item_day(start: date, offset_days: int, *, before_work: bool) -> date:
    """Return the day of an item: so many days from the start, off the weekend, never late for what comes before work.

    A Saturday or Sunday moves to the Friday before where the offset is below 0 or the item comes before work, else to
    the Monday after. What comes before work is never after the start, nor on the weekend on which it may lie. Days
    outside the calendar are its first or last.

    Examples
    --------
    >>> tuesday = date(2026, 12, 1)
    >>> find_item_day(tuesday, -2, before_work=False), find_item_day(tuesday, 4, before_work=False)
    (datetime.date(2026, 11, 27), datetime.date(2026, 12, 7))
    """
    try:
        day = start + timedelta(days=offset_days)
    except OverflowError:
        day = date.max if offset_days > 0 else date.min
    # what comes before work and leaves the weekend forwards would be after the start: the next line takes it back
    day = _leave_weekend(day, is_back=offset_days < 0)
    return min(day, _leave_weekend(start, is_back=True)) if before_work else day


def _leave_weekend(day: date, *, is_back: bool) -> date:
    beyond = day.weekday() - _SATURDAY
    if beyond < 0:
        return day
    return day - timedelta(days=beyond + 1) if is_back else day + timedelta(days=2 - beyond)


def find_first_met(
    snapshot: Snapshot, person_id: str, competency_id: str, level: int, first: date, last: date
) -> date | None:
    """Return the first day of some on which someone meets a level; None where they meet it on none of them.

    Each day knows what is dated up to it. O(days of change) looks.
    """
    competency = snapshot.require_competency(competency_id)
    turns = find_days_of_change(snapshot, person_id, competency)
    for day in [first, *(day for day in turns if day > first)]:
        if day > last:
            return None
        if find_ways(snapshot, person_id, competency, day).is_met(level):
            return day
    return None


def _list_sessions(snapshot: Snapshot, person_id: str, start: date) -> list[BookedSession]:
    rows = []
    for booking in snapshot.get_bookings(person_id):
        session = snapshot.sessions[booking.session]
        is_held = booking.state in _SEATED and session.state != "cancelled"
        if is_held and session.to_date >= start and (session.from_date - start).days <= _FIRST_SESSIONS_DAYS:
            rows.append(BookedSession(session.id, session.course, session.from_date, session.to_date, session.where))
    return sorted(rows, key=lambda row: (row.first_day, row.session))


def _iterate_remarks(snapshot: Snapshot, person_id: str, on: date, start: date) -> Iterator[str]:
    if not is_employed(snapshot.people[person_id], start):
        yield f"{start} lies outside the employment of {person_id}."
    for row in snapshot.get_orientation_done(person_id):
        if row.date > on:
            yield f"{row.item} is recorded for {row.date}, after the day asked about: it is not done yet."
