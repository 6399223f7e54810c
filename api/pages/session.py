"""One session of a course: who has a seat, who waits, what came of it, and the form for what came of it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from api.desk.desk import Answer
from api.desk.names import Names, count
from api.desk.sheet import Cell, Ref, State
from api.pages.addresses import build_address, build_record_address
from api.pages.assess import Choice
from api.pages.page import Link, Page
from api.questions._sessions import name_session, show_booking_state, show_days
from ontology.analysis.sessions.results import SessionResult, SessionResults
from ontology.analysis.sessions.seat_lists import AttendanceSheet
from ontology.analysis.sessions.waiting_list import WaitingList
from ontology.model.work_records import Session
from ontology.snapshot.snapshot import Snapshot

__all__ = ["ResultRow", "SessionView", "build_view", "describe_session", "read_results", "tell_session"]

_WORDS: Final = {True: "yes", False: "no", None: ""}
_TRUTHS: Final = {"yes": True, "no": False}


@dataclass(frozen=True, slots=True)
class ResultRow:
    """Someone with a seat: whether they were there, whether they passed, and what is wrong with what was entered."""

    person: Ref
    team: Ref | None
    attended: tuple[Choice, ...]
    passed: tuple[Choice, ...]
    errors: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SessionView:
    """What stands on the page of a session; `why_closed` says why no results can be entered yet."""

    session: Ref
    heading: str
    lead: str
    facts: tuple[tuple[str, Cell], ...]
    rows: tuple[ResultRow, ...]
    waiting: tuple[tuple[Ref, State, str], ...]
    outcomes: tuple[str, ...]
    why_closed: str
    state: str
    errors: tuple[str, ...]
    acts: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    revision: int

    @property
    def first_words(self) -> str:
        """What the title of the page begins with."""
        return self.lead.split(". ")[0].split(", ")[0].removesuffix(".") + ":"


def tell_session(session: Session, seats: int, results: SessionResults, waiting: WaitingList, today: dt.date) -> str:
    """Return when a session is, how many have a seat and wait, and what came of it."""
    there = sum(row.attended is True for row in results.rows)
    passed = sum(row.passed is True for row in results.rows)
    if session.state == "held" and there:
        return f"Held: {there} of {count(seats, 'person', 'people')} with a seat were there, {passed} passed."
    has = "has" if seats == 1 else "have"
    told = f"{count(seats, 'person', 'people')} {has} a seat" if seats else "Nobody has a seat yet"
    if waiting.rows:
        told += f", {count(len(waiting.rows), 'person waits', 'people wait')}"
    if session.state == "cancelled":
        return f"This session is cancelled. {told}."
    if session.to_date < today or session.state == "held":
        return f"It is over, and no results are entered. {told}." if seats else "It is over, and nobody had a seat."
    days = (session.from_date - today).days
    begins = f"It begins in {count(days, 'day')}" if days > 0 else "It is under way"
    return f"{begins}. {told}."


def build_view(
    attendance: Answer,
    waiting: Answer,
    results: SessionResults,
    *,
    tag: str,
    entered: Mapping[str, tuple[str, str]] | None = None,
    errors: Mapping[str, Sequence[str]] | None = None,
) -> SessionView:
    """Return the view of a session.

    Parameters
    ----------
    results : SessionResults
        What is recorded.
    tag : str
        What stands for that: a form is for one state alone.
    entered : Mapping of person to what was typed, or None
        Whether they were there and passed, as the form said it.
    errors : Mapping of person to what is wrong, or None
        "" for the session itself.
    """
    snapshot, names, state = attendance.enquiry.state.snapshot, attendance.names, attendance.enquiry.state
    sheet: AttendanceSheet = attendance.result
    line: WaitingList = waiting.result
    session = snapshot.sessions[sheet.session]
    known = {row.person: row for row in results.rows}
    wrong = errors or {}
    rows = [
        _show_row(known.get(row.person), row.person, row.team, names, (entered or {}).get(row.person), wrong)
        for row in sheet.people
    ]
    what = name_session(names, sheet.course, sheet.first_day, sheet.last_day)
    return SessionView(
        session=Ref("sessions", sheet.session, what),
        heading=what,
        lead=tell_session(session, len(sheet.people), results, line, state.today),
        facts=tuple(_list_facts(session, line, names)),
        rows=tuple(rows),
        waiting=tuple(
            (Ref("people", row.person, names.person(row.person)), show_booking_state(row.state), _tell_due(row.due))
            for row in line.rows
        ),
        outcomes=tuple(_list_outcomes(snapshot, session, names)),
        why_closed=_tell_closed(session, state.today),
        state=tag,
        errors=tuple(wrong.get("", ())),
        acts=(
            ("The sheet to sign", build_address("sessions", sheet.session, "attendance-sheet")),
            ("Who waits for a seat", build_address("sessions", sheet.session, "waiting-list")),
            ("How many need the course", build_address("courses", sheet.course, "demand")),
            ("Book someone", f"/new/bookings?session={sheet.session}"),
            ("Edit the session", f"/edit{build_record_address('sessions', sheet.session)}"),
        ),
        cautions=tuple(dict.fromkeys((*attendance.enquiry.question.cautions, *waiting.enquiry.question.cautions))),
        revision=snapshot.revision,
    )


def _show_row(
    known: SessionResult | None,
    person: str,
    team: str | None,
    names: Names,
    entered: tuple[str, str] | None,
    wrong: Mapping[str, Sequence[str]],
) -> ResultRow:
    attended, passed = entered or ((_WORDS[known.attended], _WORDS[known.passed]) if known is not None else ("", ""))
    return ResultRow(
        Ref("people", person, names.person(person)),
        names.ref("teams", team),
        _offer(attended, "not entered", "was there", "was not there"),
        _offer(passed, "not entered", "passed", "not passed"),
        tuple(wrong.get(person, ())),
    )


def _offer(chosen: str, unsaid: str, yes: str, no: str) -> tuple[Choice, ...]:
    return tuple(Choice(value, words, value == chosen) for value, words in (("", unsaid), ("yes", yes), ("no", no)))


def _tell_due(due: dt.date | None) -> str:
    return f"must hold it by {due}" if due is not None else ""


def _list_facts(session: Session, line: WaitingList, names: Names) -> list[tuple[str, Cell]]:
    facts: list[tuple[str, Cell]] = [
        ("Course", names.ref("courses", session.course)),
        ("Days", show_days(session.from_date, session.to_date)),
        ("State", session.state),
    ]
    if session.site:
        facts.append(("Site", names.ref("sites", session.site)))
    if session.where:
        facts.append(("Where", session.where))
    facts.append(("Free seats", "no limit" if line.free_seats is None else line.free_seats))
    if line.book_by is not None:
        facts.append(("Last day to book", line.book_by))
    return facts


def _list_outcomes(snapshot: Snapshot, session: Session, names: Names) -> list[str]:
    """Return what who passes is recorded with."""
    told = []
    for outcome in snapshot.get_outcomes(session.course):
        label = names.level(outcome.competency, outcome.level).label
        word = f"{names.competency(outcome.competency)} at level {outcome.level} {label}".rstrip()
        told.append(f"{word} (renewed only)" if outcome.renews else word)
    return told


def _tell_closed(session: Session, today: dt.date) -> str:
    if session.state == "cancelled":
        return "It is cancelled: there is nothing to enter."
    if session.to_date > today:
        return f"Results can be entered from its last day on, {session.to_date}."
    return ""


def read_results(entered: Mapping[str, tuple[str, str]]) -> list[SessionResult]:
    """Return the results of a form: who is not said to have been there or not is left out."""
    return [
        SessionResult(person, _TRUTHS[attended], _TRUTHS.get(passed, False))
        for person, (attended, passed) in entered.items()
        if attended in _TRUTHS
    ]


def describe_session(view: SessionView) -> Page:
    """Return the page of a session."""
    trail = (Link("Sessions", "/sessions"),)
    return Page("session.html", {"view": view}, way="cover", trail=trail)
