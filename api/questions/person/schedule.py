"""When to take which course on the way to a role, and when it is all done at the earliest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from api.access.rights import Kind
from api.desk.names import Names, count
from api.desk.question import PERSON, Act, Question, Subject
from api.desk.sheet import Fact, Next, Quantity, Sheet
from api.errors import ParameterError, WrongParameter
from api.pictures.pictures import draw_schedule
from api.questions import _cautions as cautions
from api.questions._asks import name_start, to_a_role
from api.questions.person._calendar import AskOfCalendar, find_schedule, iterate_schedule_parts, tell_schedule
from api.questions.person._path import build_path_profile, tell_levels
from ontology.analysis.agreed.agreement import build_agreement
from ontology.analysis.schedule.schedule import ScheduleResult
from ontology.errors import InputError

if TYPE_CHECKING:
    from api.desk.desk import Answer


def show(result: ScheduleResult, subject: Subject, asked: AskOfCalendar, names: Names) -> Sheet:
    """Return the calendar."""
    aim = {"role": result.role, "on": str(asked.on)} | tell_levels(asked)
    return Sheet(
        title=f"{name_start(names, subject, asked)} → {names.role(result.role)}, {asked.on}",
        lead=tell_schedule(result, asked, names),
        facts=(
            Fact("Study", Quantity(result.study_hours, "h")),
            Fact("Study a week", Quantity(result.study_hours_per_week, "h")),
            Fact("Courses at once, at the most", result.at_once),
            Fact("Cost", Quantity(result.cost, "cost units")),
        ),
        parts=tuple(iterate_schedule_parts(result, names)),
        next=(
            Next("The plan to take to a manager", "development-plan", subject.id, aim),
            Next("The courses without days", "learning-path", subject.id, aim),
        )
        if subject.kind is PERSON
        else (),
    )


def _agree(answer: Answer, said: Mapping[str, str]) -> Sequence[tuple[str, Any]]:
    """Return the schedule as an agreed plan and its courses."""
    enquiry = answer.enquiry
    if enquiry.subject.kind is not PERSON:
        raise InputError("A plan is agreed with a person: name one.", parameter="from")
    if enquiry.asked.levels == "entry":
        reason = "must be full: an agreed plan is followed up to the full levels of its role"
        raise ParameterError(WrongParameter("levels", "entry", reason))
    plan, courses = build_agreement(enquiry.state.snapshot, enquiry.subject.id, answer.result, enquiry.asked.on, **said)
    return [("agreed_plans", plan), *(("agreed_courses", row) for row in courses)]


def _can_be_agreed(answer: Answer) -> bool:
    enquiry = answer.enquiry
    return enquiry.subject.kind is PERSON and enquiry.asked.levels == "full" and bool(answer.result.courses)


QUESTION = Question(
    asks=to_a_role(AskOfCalendar),
    answers=ScheduleResult,
    compute=find_schedule,
    cautions=(cautions.OFFER, cautions.DATES, cautions.ENTRIES, cautions.NO_AUTHORISATION),
    needs=Kind.EXPLORATION,
    is_standing_for_own_role=True,
    show=show,
    opening=("profile", "on"),
    is_slow=True,
    draw=lambda snapshot, subject, asked, result, **layout: draw_schedule(
        snapshot, build_path_profile(snapshot, subject, asked), result, **layout
    ),
    acts={
        "agree": Act(
            "Write this schedule down as agreed with the person, in one commit; nothing is written if the store has "
            "changed meanwhile, or where an agreed plan has not ended.",
            "agreed a plan",
            lambda n: f"Agreed: {count(n - 1, 'course')}.",
            _agree,
            button="Agree this plan",
            is_offered=_can_be_agreed,
            leads_to=lambda answer: Next("", "agreed-plan", answer.enquiry.subject.id),
            makes=Kind.ASSESSMENTS,
            says={
                "agreed_with": "Who agrees for the company",
                "note": "What else is agreed",
            },
        )
    },
)
