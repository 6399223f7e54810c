"""How many people need a course by which month, and how many sessions of it that takes. Pure.

It is a plan of rooms: nobody is ever booked above the seats.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Annotated, Final

from ontology.analysis.paths.aims import read_decimal
from ontology.analysis.sessions.course_dues import find_course_dues
from ontology.analysis.sessions.open_requests import find_open_requests
from ontology.analysis.sessions.show_up import FEWEST_SEATS, MONTHS_BACK, ShowUp, find_show_up
from ontology.model.identity import PeopleCount, PeopleOfPart, TellsOf
from ontology.model.records import Course
from ontology.snapshot.snapshot import Snapshot

__all__ = ["MONTHS_AHEAD", "MOST_MONTHS", "CourseDemand", "MonthDemand", "count_sessions", "find_demand"]

MONTHS_AHEAD: Final = 12
MOST_MONTHS: Final = 60
_LAST_MONTH: Final = 9999 * 12 + 11


@dataclass(frozen=True, slots=True)
class MonthDemand:
    """Who needs a course by a month."""

    month: Annotated[str, "The month, as 2026-11."]
    people: Annotated[PeopleOfPart, "People who need it by a day of this month; the first holds who needs it now."]
    sessions: Annotated[
        int | None, TellsOf(), "Sessions that this takes beyond those before; null: no number is enough."
    ]


@dataclass(frozen=True, slots=True)
class CourseDemand:
    """Who needs a course by which month."""

    course: Annotated[str, "Id of the course."]
    on: Annotated[date, "The day asked about."]
    seats: Annotated[int | None, "Seats of a session of it; null: no limit, so that no number of sessions follows."]
    pass_share: Annotated[float, "Share of those who attend that pass, 0 to 1."]
    show_up_share: Annotated[float, TellsOf(), "Share of those with a seat who come, 0 to 1."]
    show_up_count: Annotated[int, TellsOf(), "Seats that this share rests on; 0: it is assumed."]
    people: Annotated[PeopleCount, "People who need it within these months, each once."]
    sessions: Annotated[int | None, TellsOf("people"), "Sessions that takes in all; null: no number is enough."]
    months: Annotated[tuple[MonthDemand, ...], "Month by month, from that of the day on."]
    remarks: Annotated[tuple[str, ...], "What else should be known."]


def find_demand(snapshot: Snapshot, course_id: str, on: date, *, months: int = MONTHS_AHEAD) -> CourseDemand:
    """Return how many people need a course by which month.

    Counted are those who must hold what it is the course for and are not booked, by the month of their due day, and
    those who ask for it, by the month they name; each person once, by the earlier of the two. What lies in the past
    is needed now.

    Parameters
    ----------
    months : int
        How many, the month of the day included.

    Raises
    ------
    UnknownIdError
        There is no such course.

    Notes
    -----
    O(what is asked of the people x what they have), for the competencies that the course gives.
    """
    course = snapshot.require_course(course_id)
    first = _number(on)
    needed = _count_by_month(snapshot, course_id, on, min(months, _LAST_MONTH - first + 1))
    show_up = find_show_up(snapshot, course_id, on)
    sessions = count_sessions(needed, course.seats, show_up.share * read_decimal(course.pass_share))
    rows = [MonthDemand(_name(first + place), *row) for place, row in enumerate(zip(needed, sessions, strict=True))]
    return CourseDemand(
        course=course_id,
        on=on,
        seats=course.seats,
        pass_share=course.pass_share,
        show_up_share=float(show_up.share),
        show_up_count=show_up.count,
        people=sum(needed),
        sessions=None if None in sessions else sum(row or 0 for row in sessions),
        months=tuple(rows),
        remarks=tuple(_iterate_remarks(course, show_up)),
    )


def _count_by_month(snapshot: Snapshot, course_id: str, on: date, months: int) -> list[int]:
    days = {row.person: row.due or on for row in find_course_dues(snapshot, course_id, on) if not row.is_booked}
    for request in find_open_requests(snapshot, course_id, on):
        day = request.by or on
        days[request.person] = min(day, days.get(request.person, day))
    counts = Counter(_number(max(day, on)) for day in days.values())
    return [counts[_number(on) + place] for place in range(months)]


def count_sessions(people: Sequence[int], seats: int | None, share: Fraction) -> list[int | None]:
    """Return how many sessions each month takes beyond those of the months before.

    Parameters
    ----------
    people : sequence of int
        Who needs it, month by month.
    seats : int or None
        Of a session; None: no limit, and no session is counted.
    share : Fraction
        Of those with a seat who come and pass; 0: no number of sessions is enough for anybody.

    Examples
    --------
    >>> count_sessions([5, 0, 7, 3], 6, Fraction(9, 10))
    [1, 0, 2, 0]
    """
    if seats is None:
        return [0] * len(people)
    counted: list[int | None] = []
    total = held = 0
    for needed in people:
        total += needed
        if total and not share:
            counted.append(None)
            continue
        by_now = math.ceil(total / (seats * share)) if total else 0
        counted.append(by_now - held)
        held = by_now
    return counted


def _number(day: date) -> int:
    return day.year * 12 + day.month - 1


def _name(number: int) -> str:
    return f"{number // 12:04}-{number % 12 + 1:02}"


def _iterate_remarks(course: Course, show_up: ShowUp) -> Iterator[str]:
    if course.seats is None:
        yield f"{course.id} has no seats entered: how many sessions it takes is not counted."
    if not show_up.count:
        yield (
            f"Everyone with a seat is taken to come: fewer than {FEWEST_SEATS} results are recorded of sessions that "
            f"ended in the last {MONTHS_BACK} months."
        )
    elif show_up.is_of_all_courses:
        yield f"The share that comes is that of all courses: {course.id} alone has fewer than {FEWEST_SEATS} results."
    if not show_up.share or not course.pass_share:
        yield "Nobody comes or passes by these shares: no number of sessions is enough."
