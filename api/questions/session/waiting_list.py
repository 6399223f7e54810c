"""Who waits for a seat in a session, in the order in which seats that come free are offered."""

from __future__ import annotations

from api.access.rights import Kind
from api.desk.columns import build_table, ordinal, words
from api.desk.names import Names, count
from api.desk.question import SESSION, InFigures, Question, Subject, by_names
from api.desk.sheet import Fact, Next, Quantity, Sheet
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay
from api.questions._figures import tell_or_not
from api.questions._sessions import name_session, show_booking_state
from ontology.analysis.sessions.waiting_list import WaitingList, WaitingPerson, find_waiting_list


def show(result: WaitingList, subject: Subject, asked: AskOnDay, names: Names) -> Sheet:
    """Return who waits, first who comes first."""
    what = name_session(names, result.course, result.first_day, result.last_day)
    places = {row.person: place for place, row in enumerate(result.rows, start=1)}
    return Sheet(
        title=f"Waiting for {what}, as of {result.on}",
        lead=_tell(result),
        facts=(
            Fact("Course", names.ref("courses", result.course)),
            Fact("Session", result.session_state),
            Fact("Free seats", "no limit" if result.free_seats is None else Quantity(result.free_seats)),
            Fact("Last day to book", result.book_by),
        ),
        parts=(
            build_table(
                "Who waits",
                result.rows,
                (
                    ordinal(lambda row: places[row.person]),
                    words("person", lambda row: names.ref("people", row.person)),
                    words("waits", lambda row: show_booking_state(row.state)),
                    words("must hold it by", _tell_due),
                    words("asked on", lambda row: row.booked_on),
                ),
                "Nobody waits for a seat.",
                "By the day on which it must be held, then the day they asked; nothing else decides.",
            ),
        ),
        next=(
            Next("How many need the course", "demand", result.course, {"on": str(result.on)}),
            Next("The sheet to sign", "attendance-sheet", result.session),
        ),
    )


def show_in_figures(result: WaitingList, subject: Subject, asked: AskOnDay, names: Names) -> Sheet:
    """Return how many wait, and how many of them must hold what the course is for."""
    what = name_session(names, result.course, result.first_day, result.last_day)
    return Sheet(
        title=f"Waiting for {what}, as of {result.on}",
        lead=tell_or_not(
            f"{count(result.people, 'person waits', 'people wait')} for a seat; who must hold it: "
            f"{result.people_who_must}.",
            result.people,
        ),
        facts=(
            Fact("Course", names.ref("courses", result.course)),
            Fact("Session", result.session_state),
            Fact("Last day to book", result.book_by),
            Fact("People who wait", str(result.people)),
            Fact("Of them, people who must hold it", str(result.people_who_must)),
        ),
        next=(Next("How many need the course", "demand", result.course, {"on": str(result.on)}),),
    )


def _tell_due(row: WaitingPerson) -> str:
    if row.due is not None:
        return str(row.due)
    return "overdue" if row.must_hold else "need not"


def _tell(result: WaitingList) -> str:
    """Return how many wait, and for how many seats."""
    if not result.rows:
        return "Nobody waits for a seat."
    waits = count(len(result.rows), "person waits", "people wait")
    if result.session_state == "cancelled":
        return f"{waits} for a session that is cancelled."
    if result.free_seats is None:
        return f"{waits}, and seats are not limited."
    return f"{waits}; {count(result.free_seats, 'seat is', 'seats are')} free."


QUESTION = Question(
    asks={SESSION: AskOnDay},
    answers=WaitingList,
    compute=by_names(find_waiting_list),
    cautions=(cautions.BY_DUE, cautions.OWN_LIST),
    needs=Kind.COMPANY_COVER,
    show=show,
    figures=InFigures(show_in_figures),
)
