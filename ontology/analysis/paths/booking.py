"""Courses booked already: taken for granted as soon as they can be, at no cost to the path. Pure.

A booked course whose entry conditions are not met waits for the path to meet them, where that makes the path cheaper;
it never makes a path longer. One that nothing on the path makes possible is reported with what it waits for. Where the
seat is recorded the session is told with it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, fields
from datetime import date
from typing import Annotated, Any

from ontology.analysis.paths.catalogue import Offer
from ontology.analysis.paths.path_courses import PathCourse
from ontology.model.work_records import Session
from ontology.snapshot.snapshot import Snapshot

__all__ = ["BookedCourse", "WaitedLevel", "describe_booked"]


@dataclass(frozen=True, slots=True)
class WaitedLevel:
    """An entry condition that is not met: the level asked for, and the level there after the path."""

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level asked for."]
    reached: Annotated[int, "The level there after the path."]


@dataclass(frozen=True, slots=True)
class BookedCourse(PathCourse):
    """A course booked already; its hours and cost are not part of the path's.

    `is_possible`: its entry conditions are met before the path or on it; if not, `waits_for` says what is missing.
    `session` is the one in which the person has a seat, with its days; None where it was only said to be booked.
    """

    is_possible: Annotated[bool, "Whether its entry conditions are met, before the path or on it."]
    waits_for: Annotated[tuple[WaitedLevel, ...], "The entry conditions that are not."]
    session: Annotated[str | None, "The session in which there is a seat; null where it was only said to be booked."]
    first_day: Annotated[date | None, "The first day of that session."]
    last_day: Annotated[date | None, "Its last day."]


def describe_booked(
    snapshot: Snapshot,
    booked: AbstractSet[str],
    offers: Mapping[str, Offer],
    taken: Sequence[PathCourse],
    reached: Mapping[str, int],
    pace: float,
    seats: Mapping[str, Session],
) -> tuple[BookedCourse, ...]:
    """Return a row for each booked course: the possible ones in the order of the path, then the others by id.

    Parameters
    ----------
    offers : Mapping of course id to Offer
        One for each booked course.
    taken : sequence of PathCourse
        Path and possible booked courses, in order.
    reached : Mapping of competency id to level
        After all of `taken`.
    pace : float
        Study hours a week.
    seats : Mapping of course id to Session
        The sessions of those whose seat is recorded.
    """
    names = [field.name for field in fields(PathCourse)]
    rows = [
        BookedCourse(
            **{name: getattr(row, name) for name in names},
            is_possible=True,
            waits_for=(),
            **_tell_session(seats.get(row.id)),
        )
        for row in taken
        if row.id in booked
    ]
    for course_id in sorted(booked - {row.id for row in rows}):
        offer = offers[course_id]
        waits = tuple(
            WaitedLevel(i, level, reached.get(i, 0)) for i, level in offer.conditions if level > reached.get(i, 0)
        )
        course = snapshot.courses[course_id]
        hours, cost, weeks = offer.minutes / 60, offer.cents / 100, float(offer.get_weeks(pace))
        row = PathCourse(course_id, course.label, hours, cost, course.coach_hours, weeks, (), (), ())
        told = {name: getattr(row, name) for name in names} | _tell_session(seats.get(course_id))
        rows.append(BookedCourse(**told, is_possible=False, waits_for=waits))
    return tuple(rows)


def _tell_session(session: Session | None) -> dict[str, Any]:
    days = (session.from_date, session.to_date) if session else (None, None)
    return {"session": session.id if session else None, "first_day": days[0], "last_day": days[1]}
