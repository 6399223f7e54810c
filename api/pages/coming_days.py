"""Next, with dates: what is booked or planned first, then what ends or falls due, day by day."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import Final, NamedTuple

from markupsafe import Markup

from api.desk.names import Names
from api.pages.addresses import build_address, build_record_address
from api.pages.cells import build_prose, write_day
from api.pages.spans import tell_ahead
from api.pages.templates import put_out
from ontology.analysis.agenda.agenda import AgendaRow, PersonAgenda
from ontology.analysis.profiles.belonging import get_person_on
from ontology.analysis.profiles.known_levels import KnownLevel, PersonLevels
from ontology.snapshot.snapshot import Snapshot

__all__ = ["MOST_DAYS", "ComingDay", "list_coming_days", "write_days"]

#: Most days on the page; the agenda has all that is near.
MOST_DAYS: Final = 8


class ComingDay(NamedTuple):
    """A day and what happens on it: `what` stands out, `told` is the rest of the sentence."""

    day: dt.date
    ahead: str
    what: str
    told: str
    act: str = ""
    address: str = ""


def list_coming_days(
    levels: PersonLevels, agenda: PersonAgenda, snapshot: Snapshot, names: Names, *, is_self: bool
) -> tuple[ComingDay, ...]:
    """Return the days that come: first what is booked or agreed, then everything else by day.

    Parameters
    ----------
    levels : PersonLevels
        What ends, whenever that is.
    agenda : PersonAgenda
        Sessions, first weeks, appointments, what must be held.
    snapshot : Snapshot
    names : Names
    is_self : bool
        Whether the person reads it.
    """
    on, person = levels.on, levels.person
    planned = [*_iterate_sessions(agenda, on), *_iterate_agreed(snapshot, names, person, on)]
    ending = {row.competency: row for row in (*levels.asked, *levels.others) if row.until is not None}
    soonest = sorted(ending.values(), key=lambda row: (row.until, names.competency(row.competency)))[:MOST_DAYS]
    dated = [
        *[_tell_end(row, snapshot, names, person, on, is_self=is_self) for row in soonest],
        *_iterate_due(agenda, names, on, frozenset(ending)),
    ]
    return (*sorted(planned, key=_get_order), *sorted(dated, key=_get_order))[:MOST_DAYS]


def _get_order(row: ComingDay) -> tuple[dt.date, str]:
    return row.day, row.what


def _build(day: dt.date, on: dt.date, what: str, told: str, act: str = "", address: str = "") -> ComingDay:
    return ComingDay(day, tell_ahead((day - on).days), what, told, act, address)


def _iterate_sessions(agenda: PersonAgenda, on: dt.date) -> Iterator[ComingDay]:
    for row in agenda.rows:
        if row.kind == "session":
            told = "begins; a seat is booked." if row.day >= on else "is under way."
            yield _build(row.day, on, row.what, told, "See the session", build_record_address("sessions", row.id))


def _iterate_agreed(snapshot: Snapshot, names: Names, person: str, on: dt.date) -> Iterator[ComingDay]:
    """Yield the next course of an agreed plan that has not ended."""
    courses = [
        course
        for plan in snapshot.get_agreed_plans(person)
        if plan.agreed_on <= on and (plan.ended_on is None or plan.ended_on > on)
        for course in snapshot.get_agreed_courses(plan.id)
        if course.first_day >= on
    ]
    if courses:
        first = min(courses, key=lambda row: (row.first_day, row.course))
        address = build_address("people", person, "agreed-plan")
        yield _build(first.first_day, on, names.course(first.course), "begins, as agreed.", "See the plan", address)


def _tell_end(
    row: KnownLevel, snapshot: Snapshot, names: Names, person: str, on: dt.date, *, is_self: bool
) -> ComingDay:
    assert row.until is not None, "only what ends is told"
    whose = "your" if is_self else "the"
    ends = "wants a fresh look after this day." if row.then == "review-due" else "ends."
    told = {
        "blocking": f"{ends} It blocks {whose} role: without it nothing begins.",
        "essential": f"{ends} {whose.capitalize()} role asks for it.",
        "desirable": f"{ends} {whose.capitalize()} role would like it.",
    }.get(row.necessity or "", f"{ends} {whose.capitalize()} role does not ask for it")
    if row.necessity is None:
        team = get_person_on(snapshot, person, on).team
        needs = {need.competency for need in snapshot.get_cover_needs(team)} if team else set()
        told += f"; {whose} team counts on it." if row.competency in needs else "."
    act, address = "", ""
    if row.then == "review-due":
        # one's own level is for others to assess
        asked = {"person": person, "competency": row.competency}
        act, address = ("", "") if is_self else ("Record an assessment", build_address("new", "assessments", "", asked))
    elif snapshot.get_outcomes_of_competency(row.competency):
        act, address = "Find the refresher", build_record_address("competencies", row.competency)
    return _build(row.until, on, names.competency(row.competency), told, act, address)


def _iterate_due(agenda: PersonAgenda, names: Names, on: dt.date, told: frozenset[str]) -> Iterator[ComingDay]:
    for row in agenda.rows:
        if row.kind == "orientation":
            address = build_address("people", agenda.person, "orientation")
            yield _build(row.day, on, row.what, "is due in the first weeks.", "See the first weeks", address)
        elif row.kind in ("appointment", "obligation") and row.id not in told:
            yield _tell_due(row, names, agenda.person, on)


def _tell_due(row: AgendaRow, names: Names, person: str, on: dt.date) -> ComingDay:
    what = names.competency(row.id)
    if row.kind == "appointment":
        return _build(row.day, on, what, "the employer's appointment ends.")
    rest = row.what.partition(": ")[2] or row.what
    late = " It can no longer be in time." if row.is_late else ""
    address = build_address("people", person, "obligations")
    return _build(row.day, on, what, f"must be held: {rest}.{late}", "See what must be held", address)


def write_days(days: Iterable[ComingDay]) -> Markup:
    """Return the days as a list, each with what one can do about it."""
    return Markup(f'<ul class="days">{"".join(map(_build_day, days))}</ul>')


def _build_day(row: ComingDay) -> str:
    act = f'<a class="forms" href="{put_out(row.address)}">{put_out(row.act)}</a>' if row.address else ""
    return (
        f'<li><div class="when"><strong>{write_day(row.day)}</strong> <small>{row.ahead}</small></div>'
        f"<div><strong>{put_out(row.what)}</strong> {build_prose(row.told)}</div>{act}</li>"
    )
