"""How what must be held is told: its tables, its first sentence, its events in a calendar."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, Final

from api.desk.columns import Filled, build_table, number, words
from api.desk.names import Names
from api.desk.sheet import Cell, Fact, Table
from api.questions._calendars import build_calendar_form, name_subject
from api.questions._words import show_state, show_yes
from loaders.calendar_file import CalendarEvent
from ontology.analysis.obligations.rows import Counts, ObligationRow

if TYPE_CHECKING:
    from api.desk.desk import Answer


def list_counts(counts: Counts) -> tuple[Fact, ...]:
    """Return how many rows stand so, as figures."""
    return (
        Fact("Overdue", counts.overdue),
        Fact("Due within 30 days", counts.within_30),
        Fact("Due in 31 to 60 days", counts.within_60),
        Fact("Due in 61 to 90 days", counts.within_90),
        Fact("Current", counts.current),
        Fact("Needed later", counts.later),
    )


def tell_counts(rows: Sequence[ObligationRow], counts: Counts) -> str:
    """Return the sentence that answers: what is overdue, what is due soon, by when to act first."""
    if not rows:
        return "Nothing has to be held: no obligation is about anyone asked for here within a year."
    ahead = counts.within_30 + counts.within_60 + counts.within_90
    if not counts.overdue and not ahead:
        return "Nothing is overdue, and nothing falls due within 90 days."
    more = " more" if counts.overdue else ""
    told = f"{counts.overdue or 'Nothing'} overdue, {ahead or 'nothing'}{more} due within 90 days"
    open_rows = [row for row in rows if row.state != "current"]
    late = sum(row.is_late for row in open_rows if row.state != "overdue")
    told += f", {late} of these can no longer be held in time." if late else "."
    days = [row.last_day_to_act for row in open_rows if row.last_day_to_act is not None and not row.is_late]
    return told + (f" Next last day to act: {min(days)}." if days else "")


def build_rows_tables(rows: Sequence[ObligationRow], names: Names, *, is_of_team: bool) -> tuple[Table, Table]:
    """Return what is to be done, then what is current; of a team with whom each is about."""
    waiting = [row for row in rows if row.state != "current"]
    current = [row for row in rows if row.state == "current"]
    act: tuple[Filled[ObligationRow], ...] = (
        words("state", lambda row: show_state(row.state)),
        words("due", lambda row: row.due),
        words("what to do first", lambda row: _tell_act(row, names)),
        words("last day to act", _tell_last_day),
    )
    why: tuple[Filled[ObligationRow], ...] = (words("why", lambda row: row.reason),)
    due: tuple[Filled[ObligationRow], ...] = (words("due", lambda row: row.due),)
    return (
        build_table(
            "What is to be done",
            waiting,
            _surround(act if is_of_team else act + why, waiting, names, is_of_team=is_of_team),
            "Nothing.",
            "Due is the last valid day, or the first day on which it is needed.",
        ),
        build_table(
            "What is current",
            current,
            _surround(due, current, names, is_of_team=is_of_team),
            "Nothing.",
            "Without a due day: it is held for as long as it must be.",
        ),
    )


def _surround(
    inner: tuple[Filled[ObligationRow], ...], rows: Sequence[ObligationRow], names: Names, *, is_of_team: bool
) -> Iterator[Filled[ObligationRow]]:
    """Yield what must be held, some columns about it, and who asks for it; what no row tells is left out."""
    if is_of_team:
        yield words("person", lambda row: names.ref("people", row.person))
    yield words("competency", lambda row: names.ref("competencies", row.competency))
    if any(row.level > 1 for row in rows):
        yield number("level", lambda row: row.level)
    yield from inner
    if any(row.is_appointed is not None for row in rows):
        yield words("appointed", lambda row: "–" if row.is_appointed is None else show_yes(row.is_appointed))
    yield words("asked by", lambda row: names.refs("obligations", row.obligations))
    yield words("legal basis", lambda row: "; ".join(row.legal_basis) or "–")


def _tell_act(row: ObligationRow, names: Names) -> str:
    if row.first_act is None:
        return "–"
    if row.booked_session:
        return f"{row.first_act}: booked, {names.session(row.booked_session)}"
    if row.session:
        return f"{row.first_act}: book {names.session(row.session)}"
    if row.course:
        return f"{row.first_act}: {names.course(row.course)}"
    return {"none": "see the learning path", "restore": "renew what it hangs on"}.get(row.first_act, row.first_act)


def _tell_last_day(row: ObligationRow) -> Cell:
    if row.booked_session:
        return "booked, but ends after the due day" if row.is_late else "booked in time"
    if row.last_day_to_act is None:
        return "too late" if row.is_late else "–"
    return f"{row.last_day_to_act} (passed)" if row.is_late else row.last_day_to_act


def _iterate_events(answer: Answer) -> Iterator[CalendarEvent]:
    names = answer.names
    result: Any = answer.result
    caution = "\n".join(answer.enquiry.question.cautions[:2])
    is_of_person = answer.enquiry.subject.person_id is not None
    for row in result.rows:
        who = "" if is_of_person else f"{names.person(row.person)}: "
        ids = answer.enquiry.state.snapshot.store_id, row.person, row.competency, row.level
        what = f"{who}{names.competency(row.competency)}"
        about = f"{row.reason}\n{caution}"
        if row.due is not None:
            key = build_obligation_key(*ids, is_due=True)
            yield CalendarEvent(key, row.due, row.due, f"Due: {what}", about, "Obligation")
        day = row.last_day_to_act
        # what is current can wait: a session that is planned long before its due day is no reason to act
        if day is not None and row.state != "current" and result.on <= day != row.due:
            key = build_obligation_key(*ids, is_due=False)
            yield CalendarEvent(key, day, day, f"Last day to act: {what}", about, "Obligation")


CALENDAR: Final = build_calendar_form(lambda answer: f"What must be held: {name_subject(answer)}", _iterate_events)


def build_obligation_key(store_id: str, person_id: str, competency_id: str, level: int, *, is_due: bool) -> str:
    """Return what tells the event of a due day, or of a last day to act, from all others in every file."""
    return f"{store_id}/obligation/{person_id}/{competency_id}/{level}/{'due' if is_due else 'act'}"
