"""The page of a course: what it reaches, what it asks first, when it is held next."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from api.desk.columns import build_table, number, words
from api.desk.names import Names, amount, count, join_names
from api.desk.sheet import Quantity, Ref
from api.pages.addresses import build_address, build_record_address
from api.pages.framework_parts import (
    Fact,
    FrameworkView,
    Listing,
    Saying,
    build_listing,
    list_data,
    list_trail,
    narrow,
    tell_history,
    tell_level,
    tell_new,
)
from api.pages.page import Link, Page
from ontology.analysis.profiles.seats import count_free_seats
from ontology.model.records import Course, EntryCondition, Outcome
from ontology.model.work_records import Session
from ontology.snapshot.snapshot import Snapshot

__all__ = ["CourseView", "build_view", "describe_course", "tell_course"]

#: So many levels are named in the first sentence; more are counted.
_NAMED = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseView(FrameworkView):
    """All that the page of a course shows."""

    reaches: Listing
    asks: Listing
    sessions: Listing


def tell_course(course: Course, outcomes: Sequence[Outcome], asked: Sequence[EntryCondition], names: Names) -> Saying:
    """Return the first sentence: what it reaches in how many hours, and what it asks first."""
    time = f" in {amount(course.hours)} {'hour' if course.hours == 1 else 'hours'}"
    if not outcomes:
        return Saying("It reaches no level yet", after=f"; it takes{time.removeprefix(' in')}.")
    is_renewing = all(outcome.renews for outcome in outcomes)
    if len(outcomes) <= _NAMED:
        reached = join_names(f"{names.competency(o.competency)} at level {o.level}" for o in outcomes)
    else:
        reached = count(len(outcomes), "level")
    first = f" It asks for {_tell_first(asked, names)} first." if asked else " It asks for nothing first."
    return Saying("Renews " if is_renewing else "Reaches ", reached, f"{time}.{first}")


def _tell_first(asked: Sequence[EntryCondition], names: Names) -> str:
    if len(asked) > _NAMED:
        return count(len(asked), "competency", "competencies")
    return join_names(f"{names.competency(c.competency)} at level {c.level}" for c in asked)


def build_view(snapshot: Snapshot, course_id: str, today: dt.date) -> CourseView:
    """Return what the page of a course shows; sessions that end today or later are to come.

    O(k log k) for k outcomes, conditions and sessions of it.
    """
    course, names = snapshot.require_course(course_id), Names(snapshot)
    outcomes = sorted(snapshot.get_outcomes(course_id), key=lambda row: (names.competency(row.competency), row.level))
    asked = sorted(snapshot.get_entry_conditions(course_id), key=lambda row: names.competency(row.competency))
    held = sorted(snapshot.get_sessions(course_id), key=lambda row: (row.from_date, row.to_date, row.id))
    to_come = [row for row in held if _is_to_come(row, today)]
    return CourseView(
        name=names.course(course_id),
        lead=tell_course(course, outcomes, asked, names),
        acts=(
            Link("Edit the course", f"/edit{build_record_address('courses', course_id)}"),
            tell_new("sessions", "Add a session", course=course_id),
            Link("See who needs it", build_address("courses", course_id, "demand")),
            Link("Retire", f"/retire{build_record_address('courses', course_id)}"),
        ),
        facts=tuple(_list_facts(course)),
        reaches=_build_reaches(names, course_id, outcomes),
        asks=_build_asks(names, course_id, asked),
        sessions=_build_sessions(snapshot, course_id, to_come),
        revision=snapshot.revision,
    )


def _is_to_come(session: Session, today: dt.date) -> bool:
    return session.state in ("planned", "confirmed") and session.to_date >= today


def _list_facts(course: Course) -> Iterator[Fact]:
    yield Fact("Hours of a learner", ((Quantity(course.hours, "h"),),))
    if course.coach_hours:
        yield Fact("Hours of a coach for each", ((Quantity(course.coach_hours, "h"),),))
    yield Fact("Cost for each", ((Quantity(course.cost, "cost units"),),))
    if course.weeks is not None:
        piece = ", held in one piece" if course.is_block else ""
        yield Fact("From first to last day", ((f"{count_weeks(course.weeks)}{piece}",),))
    if course.lead_weeks:
        yield Fact("Asked for beforehand", ((count_weeks(course.lead_weeks),),))
    if course.method:
        yield Fact("How", ((Link(course.method, narrow("courses", method=course.method)),),))
    if course.strand:
        yield Fact("Kind of learning", ((course.strand,),))
    yield Fact("Seats", ((Quantity(course.seats) if course.seats else "no limit",),))
    if course.group_minimum > 1:
        yield Fact("Held for at least", ((f"{course.group_minimum} people",),))
    if course.pass_share < 1:
        yield Fact("Share that passes", ((f"{course.pass_share:.0%}",),))
    yield tell_history("courses", course.id)
    yield list_data("courses", course.id)


def count_weeks(weeks: float) -> str:
    """Return weeks with their noun.

    Examples
    --------
    >>> count_weeks(1.0), count_weeks(2.5)
    ('1 week', '2.5 weeks')
    """
    return f"{amount(weeks)} {'week' if weeks == 1 else 'weeks'}"


def _build_reaches(names: Names, course_id: str, outcomes: Sequence[Outcome]) -> Listing:
    table = build_table(
        "What it reaches",
        outcomes,
        (
            words("Competency", lambda row: names.ref("competencies", row.competency)),
            words("Level", lambda row: tell_level(names, row.competency, row.level)),
            words("For whom", lambda row: "who holds it or lost it lately" if row.renews else "everyone"),
        ),
        "It reaches no level, so no way leads over it.",
    )
    act = tell_new("outcomes", "Say what it reaches", course=course_id)
    return build_listing(table, len(outcomes), narrow("outcomes", course=course_id), act)


def _build_asks(names: Names, course_id: str, asked: Sequence[EntryCondition]) -> Listing:
    table = build_table(
        "What it asks first",
        asked,
        (
            words("Competency", lambda row: names.ref("competencies", row.competency)),
            words("Level", lambda row: tell_level(names, row.competency, row.level)),
        ),
        "It asks for nothing first: everyone can begin.",
    )
    act = tell_new("entry_conditions", "Say what it asks first", course=course_id)
    return build_listing(table, len(asked), narrow("entry_conditions", course=course_id), act)


def _build_sessions(snapshot: Snapshot, course_id: str, to_come: Sequence[Session]) -> Listing:
    names = Names(snapshot)
    table = build_table(
        "Sessions to come",
        to_come,
        (
            words("First day", lambda row: row.from_date),
            words("Last day", lambda row: row.to_date),
            words("Session", lambda row: Ref("sessions", row.id, row.where or _tell_site(names, row) or row.id)),
            number("Seats left", lambda row: count_free_seats(snapshot, row)),
            words("State", lambda row: row.state),
        ),
        "No session is to come.",
    )
    act = tell_new("sessions", "Add a session", course=course_id)
    return build_listing(table, len(to_come), narrow("sessions", course=course_id), act)


def _tell_site(names: Names, session: Session) -> str:
    return names.get("sites", session.site) if session.site else ""


def describe_course(view: CourseView) -> Page:
    """Return the page of a course."""
    return Page("course.html", {"view": view}, way="framework", trail=list_trail("courses"))
