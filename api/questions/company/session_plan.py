"""Who goes to which session of a course, so that what must be held is held in time and cover is kept."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from api.access.rights import Kind
from api.desk.columns import Filled, build_table, number, words
from api.desk.kinds import CourseIds, TeamId
from api.desk.names import Names, amount, count
from api.desk.parameters import param
from api.desk.question import COMPANY, Act, InFigures, Question, Subject, by_names
from api.desk.sheet import Fact, Next, Quantity, Sheet, Table
from api.errors import ParameterError, WrongParameter
from api.pictures.pictures import draw_session_weeks
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay, AskSlowly
from api.questions._words import describe_status, show_yes
from ontology.analysis.sessions.plan_result import SessionPlanResult
from ontology.analysis.sessions.session_plan import LONGEST_PLAN_DAYS, plan_sessions
from ontology.model.work_records import Booking
from ontology.snapshot.snapshot import Snapshot

if TYPE_CHECKING:
    from api.desk.desk import Answer


@dataclass(frozen=True, kw_only=True)
class AskSessionPlan(AskOnDay, AskSlowly):
    """Until when, for whom, within which limits."""

    until: dt.date = param("The last day on which a session may end, and by which it is due.")
    courses: CourseIds = param("Only these courses (default: all).", default=frozenset())
    team: TeamId | None = param("Only people of this team (default: all).", default=None)
    hours_per_week: float | None = param(
        "Most hours of courses that begin in one week, for each person who gets a seat in it (default: no limit).",
        default=None,
        minimum=0,
        unit="h",
    )
    budget: float | None = param(
        "Most that seats, trips and newly opened sessions may cost (default: no limit).", default=None, minimum=0
    )

    def check(self, snapshot: Snapshot) -> None:
        """Raise ParameterError where the last day lies before the day asked about, or too far after it."""
        if self.until < self.on:
            raise ParameterError(WrongParameter("until", str(self.until), f"must not be before {self.on}"))
        if (self.until - self.on).days > LONGEST_PLAN_DAYS:
            reason = f"must be within {LONGEST_PLAN_DAYS} days of {self.on}"
            raise ParameterError(WrongParameter("until", str(self.until), reason))


def show(result: SessionPlanResult, subject: Subject, asked: AskSessionPlan, names: Names) -> Sheet:
    """Return who goes when, who gets no seat and why, the sessions, and the places at risk."""
    return Sheet(
        title=f"Who goes when, {result.on} to {result.until}",
        lead=_tell(result),
        facts=tuple(_iterate_facts(result)),
        parts=(
            build_table(
                "Seats",
                sorted(result.seats, key=lambda row: (_get_first_day(result, row.session), row.session, row.person)),
                (
                    words("from", lambda row: _get_first_day(result, row.session)),
                    words("session", lambda row: names.ref("sessions", row.session)),
                    words("course", lambda row: names.ref("courses", row.course)),
                    words("person", lambda row: names.ref("people", row.person)),
                    words("due", lambda row: row.due),
                    words("late", lambda row: show_yes(row.is_late)),
                    words("asked for", lambda row: show_yes(row.is_request)),
                ),
                "Nobody needs a seat, or none is possible.",
            ),
            build_table(
                "No seat",
                result.left_out,
                (
                    words("person", lambda row: names.ref("people", row.person)),
                    words("course", lambda row: names.ref("courses", row.course)),
                    words("due", lambda row: row.due),
                    words("why", lambda row: row.reason),
                ),
                "Everyone who needs a seat has one.",
            ),
            _show_sessions(
                result, names, number("booked", lambda row: row.booked), number("planned", lambda row: row.planned)
            ),
            _show_places_at_risk(
                result, names, words("in a session that day", lambda row: names.refs("people", row.people))
            ),
        ),
        next=(Next("What must be held, of all teams", "company-obligations", "", {"on": str(result.on)}),),
    )


def _show_sessions(result: SessionPlanResult, names: Names, *more: Filled[Any]) -> Table:
    """Return the table of sessions, with more of each."""
    columns = (
        words("session", lambda row: names.ref("sessions", row.id)),
        words("course", lambda row: names.ref("courses", row.course)),
        words("from", lambda row: row.from_date),
        words("to", lambda row: row.to_date),
        number("seats", lambda row: row.seats),
        *more,
    )
    return build_table("Sessions", result.sessions, columns, "No session can be booked.")


def _show_places_at_risk(result: SessionPlanResult, names: Names, *more: Filled[Any]) -> Table:
    """Return the table of places that would stay empty, with more of each."""
    columns = (
        words("day", lambda row: row.day),
        words("team", lambda row: names.ref("teams", row.team)),
        words("place", lambda row: names.place(row.place) if row.place else "a slot of a group"),
        *more,
    )
    empty = "No place stays empty that could be filled without the plan."
    return build_table("Places that would stay empty", result.places_at_risk, columns, empty)


def show_in_figures(result: SessionPlanResult, subject: Subject, asked: AskSessionPlan, names: Names) -> Sheet:
    """Return which sessions would be held, and which places would stay empty: states, and no number of people."""
    held = [session for session in result.sessions if session.is_held]
    risk = count(len(result.places_at_risk), "time a place", "times a place")
    return Sheet(
        title=f"Which sessions would be held, {result.on} to {result.until}",
        lead=f"{count(len(held), 'session')} of {len(result.sessions)} would be held; "
        + (f"{risk} would stay empty on a day." if result.places_at_risk else "no place would stay empty."),
        parts=(
            _show_sessions(result, names, words("would be held", lambda row: show_yes(row.is_held))),
            _show_places_at_risk(result, names),
        ),
    )


def _tell_each_once(result: SessionPlanResult, least: int) -> SessionPlanResult:
    """Return a plan with each place that would stay empty once a day: of how many of its slots is not told."""
    risks = dict.fromkeys(replace(row, people=()) for row in result.places_at_risk)
    return replace(result, places_at_risk=tuple(risks))


def _get_first_day(result: SessionPlanResult, session_id: str) -> dt.date:
    return next(session.from_date for session in result.sessions if session.id == session_id)


def _tell(result: SessionPlanResult) -> str:
    told = f"{count(len(result.seats), 'seat')} in {count(len({row.session for row in result.seats}), 'session')}"
    missed = f"{count(result.late, 'due day')} still to come will be missed"
    late = missed if result.late else "every due day still to come is kept"
    status = "" if result.status == "optimal" else f" {describe_status(result.status)}"
    return f"{told}; {late}.{status}"


def _iterate_facts(result: SessionPlanResult) -> Iterator[Fact]:
    yield Fact("Must be held, without a seat", result.unseated)
    yield Fact("Days past due, in all", result.days_past_due)
    yield Fact("Requests without a seat", result.unseated_requests)
    yield Fact("Sessions opened", result.sessions_opened)
    yield Fact("Trips to another site", result.trips)
    yield Fact("Days of validity given away", result.days_given_away)
    yield Fact("Cost", Quantity(result.cost, "cost units"))
    if result.lower_bound is not None:
        yield Fact("Not proved", f"{result.unproved_aim}: no plan has less than {amount(result.lower_bound)}")


def _build_bookings(answer: Answer, said: Mapping[str, str]) -> Sequence[tuple[str, Booking]]:
    """Return the seats as bookings; who has asked or waited keeps the day of that."""
    state, result = answer.enquiry.state, answer.result
    known = state.snapshot.get_table("bookings")
    rows = []
    for seat in result.seats:
        before = known.get((seat.session, seat.person))
        booked_on = (before.booked_on if before else None) or result.on
        rows.append(Booking(seat.session, seat.person, "booked", booked_on, state.today))
    return [("bookings", row) for row in rows]


QUESTION = Question(
    asks={COMPANY: AskSessionPlan},
    answers=SessionPlanResult,
    compute=by_names(plan_sessions),
    cautions=(cautions.BOOKS_NOTHING, cautions.CONSENT, *cautions.OF_WORK),
    needs=Kind.COMPANY_COVER,
    show=show,
    is_slow=True,
    draw=lambda snapshot, company, asked, result, **layout: draw_session_weeks(snapshot, result, **layout),
    acts={
        "book": Act(
            "Book the seats of this plan, in one commit; nothing is written if the store has changed meanwhile.",
            "booked a session plan",
            lambda n: f"{count(n, 'seat')} booked.",
            _build_bookings,
            button="Book these seats",
            makes=Kind.ABSENCES,
            is_offered=lambda answer: bool(answer.result.seats),
            leads_to=lambda answer: Next("", "company-obligations", "", {"on": str(answer.result.on)}),
        )
    },
    figures=InFigures(
        show_in_figures,
        prepare=_tell_each_once,
        refuses=frozenset({"courses", "team", "hours_per_week", "budget"}),
    ),
)
