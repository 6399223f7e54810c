"""What a newcomer, or someone in a new role, meets on which day, and what of it is done."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.names import Names, count, join_names
from api.desk.parameters import param
from api.desk.question import PERSON, Question, Subject, by_names
from api.desk.sheet import Fact, Next, Sheet
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay
from api.questions._calendars import build_calendar_form, name_subject
from api.questions._orientation import build_item_event, name_kind, name_owner, show_item_state, tell_plan
from api.questions._sessions import build_seat_event
from api.questions._words import show_yes
from loaders.calendar_file import CalendarEvent
from ontology.analysis.orientation.orientation import OrientationResult, build_orientation

if TYPE_CHECKING:
    from api.desk.desk import Answer


@dataclass(frozen=True, kw_only=True)
class AskOrientation(AskOnDay):
    """From which first day."""

    start: dt.date | None = param(
        "First day of a change of role: items for everyone are left out (default: the person's start date, with them).",
        default=None,
    )


def show(result: OrientationResult, subject: Subject, asked: AskOrientation, names: Names) -> Sheet:
    """Return the items by day, and the sessions booked."""
    kind = name_kind(is_change_of_role=result.is_change_of_role)
    return Sheet(
        title=f"First weeks of {names.person(subject.id)}, {kind} {result.start}, as of {asked.on}",
        lead=_tell(result, names),
        facts=(
            Fact(kind.capitalize(), result.start),
            Fact("Team", names.ref("teams", result.team or None)),
            Fact("Role", names.ref("roles", result.role or None)),
            Fact("Site", names.ref("sites", result.site or None)),
        ),
        parts=(
            build_table(
                "Day by day",
                result.items,
                (
                    words("day", lambda row: row.due),
                    words("what", lambda row: row.label),
                    words("who sees to it", lambda row: name_owner(row.owner, names)),
                    words("before work", lambda row: show_yes(row.before_work)),
                    words("state", lambda row: show_item_state(row.state)),
                    words("done on", lambda row: row.done),
                    words("done with", lambda row: names.person(row.done_by) or "–"),
                    words("shown by", lambda row: names.ref("competencies", row.competency)),
                    number("takes", lambda row: row.hours, "h"),
                ),
                "No item is for this team, role or site: enter what newcomers meet.",
            ),
            build_table(
                "Sessions booked",
                result.sessions,
                (
                    words("first day", lambda row: row.first_day),
                    words("last day", lambda row: row.last_day),
                    words("course", lambda row: names.ref("courses", row.course)),
                    words("where", lambda row: row.where or "–"),
                ),
                "No session of the first year is booked.",
            ),
        ),
        next=tuple(_iterate_next(result, subject.id, asked.on)),
    )


def _iterate_next(result: OrientationResult, person_id: str, on: dt.date) -> Iterator[Next]:
    day = {"on": str(on)}
    yield Next("What must be held, and by when", "person-obligations", person_id, day)
    if result.role:
        to_role = {"role": result.role} | day
        yield Next("What the role asks, and what is held", "gap", person_id, to_role)
        yield Next("First courses and follow-up talks", "development-plan", person_id, to_role)


def _tell(result: OrientationResult, names: Names) -> str:
    """Return what is overdue and what comes next."""
    if not result.items:
        return "Nothing is prepared for this first day."
    waiting = [row for row in result.items if row.done is None]
    if not waiting:
        return "Everything is done."
    overdue = sum(row.state == "overdue" for row in waiting)
    late = f", {overdue} of them overdue" if overdue else ""
    coming = next((row for row in waiting if row.state != "overdue"), None)
    ahead = f" Next: {coming.label}, {coming.due} ({name_owner(coming.owner, names)})." if coming else ""
    first = [row.label for row in waiting if row.before_work]
    before = f" Needed before work begins: {join_names(first)}." if first else ""
    return f"{count(len(waiting), 'item is', 'items are')} open{late}.{before}{ahead}"


def _iterate_events(answer: Answer) -> Iterator[CalendarEvent]:
    plan: Any = answer.result
    snapshot, person = answer.enquiry.state.snapshot, answer.enquiry.subject.id
    names = Names(snapshot)
    for row in plan.items:
        if row.done is None:
            about = f"Who sees to it: {name_owner(row.owner, names)}."
            yield build_item_event(tell_plan(snapshot, person, plan.start), row, summary=row.label, about=about)
    for row in plan.sessions:
        yield build_seat_event(
            snapshot.store_id,
            person,
            row.session,
            days=(row.first_day, row.last_day),
            summary=f"Course: {names.course(row.course)}",
            where=row.where,
        )


QUESTION = Question(
    asks={PERSON: AskOrientation},
    answers=OrientationResult,
    compute=by_names(build_orientation),
    cautions=(cautions.NO_GRADE, cautions.BEFORE_WORK, cautions.NO_AUTHORISATION),
    needs=Kind.STANDING,
    show=show,
    opening=("profile", "on"),
    files={"ics": build_calendar_form(lambda answer: f"First weeks of {name_subject(answer)}", _iterate_events)},
)
