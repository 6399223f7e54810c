"""Who goes when as a calendar by week: each session with its seats and the people the plan sends there."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from itertools import groupby
from typing import Final, NamedTuple

from api.desk.plain_cells import say_day, say_month
from api.pictures import style
from api.pictures.calendar_axis import format_span
from api.pictures.cards import cell, count_lines, mark, row, small, table, words
from api.pictures.frame import NO_PERMISSION, Frame, Picture
from api.pictures.names import Names
from api.pictures.paging import LINES_UPRIGHT, Layout, Part, take_page
from api.pictures.text import TIE, format_count, get_link
from ontology.analysis.sessions.plan_result import PlannedSession, SessionPlanResult
from ontology.snapshot.snapshot import Snapshot

_PEOPLE_COLUMNS: Final = 52
#: More people for one session go on in a line below.
_NAMES_A_LINE: Final = 24
_IN_TIME: Final = (style.BLUE, "everyone in time")
_LATE: Final = (style.SHORT, "someone is late")
_NOBODY: Final = (style.HAIR, "nobody new is sent")


class _Line(NamedTuple):
    """A row of the table: a session, or more of its people; the first of a week says which."""

    week: str
    session: PlannedSession
    course: str
    people: str
    key: tuple[str, str]
    is_first: bool
    is_striped: bool


def build_session_weeks_picture(
    snapshot: Snapshot, result: SessionPlanResult, *, layout: Layout = "screen", page: int = 1
) -> Picture:
    """Return the sessions of a plan by week with who goes to each; a session nobody is sent to stands there too.

    On paper as many rows stand on a page as fit; a screen has one page.
    """
    names = Names(snapshot)
    title = f"Who goes when, {say_day(result.on)} to {say_day(result.until)}"
    part = take_page(list(_iterate_lines(names, result)), layout, page, lines=LINES_UPRIGHT - 4, count=_count_lines)
    frame = Frame(title, _build_answer(result), sheet=part.sheet)
    if part.rows:
        frame.add_node("sessions", _build_table(part), tooltip=title)
    shown = {line.key for line in part.rows}
    left = f"Without a seat: {len(result.left_out)}, told with the reason in the answer."
    return frame.finish(
        _describe(names, result),
        legend_keys=[key for key in (_IN_TIME, _LATE, _NOBODY) if key in shown],
        notes=[left if result.left_out else "", NO_PERMISSION],
    )


def _iterate_lines(names: Names, result: SessionPlanResult) -> Iterator[_Line]:
    weeks = groupby(result.sessions, key=lambda s: s.from_date - timedelta(days=s.from_date.weekday()))
    for number, (monday, sessions) in enumerate(weeks):
        week = format_span(monday, monday + timedelta(days=6))
        for session in sessions:
            seats = [seat for seat in result.seats if seat.session == session.id]
            key = _NOBODY if not seats else _LATE if any(seat.is_late for seat in seats) else _IN_TIME
            told = [
                (names.person(seat.person) + (" (late)" if seat.is_late else "")).replace(" ", TIE) for seat in seats
            ]
            course = names.course(session.course)
            for start in range(0, max(len(told), 1), _NAMES_A_LINE):
                people = ", ".join(told[start : start + _NAMES_A_LINE]) or "nobody new"
                yield _Line(week, session, course, people, key, start == 0, number % 2 == 0)
                week = ""


def _count_lines(line: _Line) -> float:
    return 0.4 + 0.8 * (1 + count_lines(line.people, _PEOPLE_COLUMNS))


def _build_table(part: Part[_Line]) -> str:
    head = row(*(cell(small(word)) for word in ("week", "session", "seats taken", "who goes")))
    return table(head, *map(_build_row, part.rows), border=1, colour=style.HAIR, padding=2)


def _build_row(line: _Line) -> str:
    ground = {"bgcolor": style.STRIPE if line.is_striped else style.WHITE, "valign": "TOP"}
    session = line.session
    days = say_month(session.from_date)
    if session.to_date != session.from_date:
        days = format_span(session.from_date, session.to_date)
    what = ""
    if line.is_first:
        what = words(line.course, bold=True, columns=_PEOPLE_COLUMNS // 2, ends_line=True) + small(days)
    return row(
        cell(words(line.week), **ground),
        cell(what, link=get_link("courses", session.course), tooltip=f"{line.course}, {days}", **ground),
        cell(words(_tell_seats(session) if line.is_first else ""), **ground),
        cell(
            mark(line.key[0]) + small(line.people, columns=_PEOPLE_COLUMNS, colour=style.INK),
            link=get_link("courses", session.course),
            tooltip=f"{line.people} ({line.key[1]})",
            **ground,
        ),
    )


def _tell_seats(session: PlannedSession) -> str:
    taken = session.booked + session.planned
    return str(taken) if session.seats is None else f"{taken} of {session.seats}"


def _build_answer(result: SessionPlanResult) -> str:
    sessions = len({seat.session for seat in result.seats})
    told = f"{format_count(len(result.seats), 'seat')} in {format_count(sessions, 'session')}"
    missed = f"; {format_count(result.late, 'due day')} still to come will be missed." if result.late else "."
    return told + missed


def _describe(names: Names, result: SessionPlanResult) -> str:
    """Return every session with its people in words."""
    parts = [_build_answer(result)]
    for session in result.sessions:
        people = [names.person(seat.person) for seat in result.seats if seat.session == session.id]
        who = ", ".join(people) or "nobody new"
        parts.append(f"{names.course(session.course)}, {say_day(session.from_date)}: {who}.")
    return " ".join(parts)
