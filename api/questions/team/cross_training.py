"""Whom to cross-train, by which courses, so that every need reaches its target and every slot is filled."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Annotated, Any

from api.access.rights import Kind
from api.desk.columns import build_if_any, words
from api.desk.names import Names, amount, count
from api.desk.question import TEAM, InFigures, Question, Subject
from api.desk.sheet import Fact, Next, Quantity, Sheet, Table
from api.pictures.pictures import draw_cross_training
from api.questions import _cautions as cautions
from api.questions._words import describe_status
from api.questions.team._plan import (
    AskPlan,
    find_plan,
    show_after,
    show_coaching,
    show_courses,
    show_learning,
    show_months,
    show_unmet,
)
from api.questions.team._plan_figures import REFUSED, join_slots, list_facts, show_open, tell_plan
from api.questions.team._plan_remarks import list_remarks
from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.training.cross_training import CrossTrainingResult
from ontology.analysis.training.plan_effect import PlanEffect, compute_plan_effect
from ontology.snapshot.snapshot import Snapshot


@dataclass(frozen=True)
class PlanAndAfter(CrossTrainingResult):
    """A cross-training plan, and the team after it."""

    after: Annotated[PlanEffect, "The team on the day after the plan."]


def compute(snapshot: Snapshot, team: Subject, asked: AskPlan) -> PlanAndAfter:
    """Return the plan and the team after it."""
    plan = find_plan(snapshot, team, asked)
    members: dict[str, Any] = {field.name: getattr(plan, field.name) for field in fields(CrossTrainingResult)}
    return PlanAndAfter(**members, after=compute_plan_effect(snapshot, plan))


def show(result: PlanAndAfter, subject: Subject, asked: AskPlan, names: Names) -> Sheet:
    """Return who learns what, who coaches, when, and what stays open."""
    return Sheet(
        title=f"Cross-training of {names.team(result.team)}, {result.on}",
        remarks=list_remarks(result, names),
        lead=_tell(result),
        facts=(
            Fact("Study", Quantity(result.study_hours, "h")),
            Fact("Coaching", Quantity(result.coach_hours, "h")),
            Fact("Most for one person", Quantity(result.largest_load, "h")),
            Fact("Cost", Quantity(result.cost, "cost units")),
            Fact("Last course ends", result.finished_on),
        ),
        parts=(
            show_learning(result, names),
            *show_coaching(result, names),
            *((show_courses(result, names), show_months(result, names)) if result.plan else ()),
            *_show_booked(result, names),
            *show_unmet(result, names),
            *show_after(result.after, names),
        ),
        next=(
            Next("Who is to hold what until when", "training-timetable", result.team, {"on": str(result.on)}),
            Next("The cover on that day without the plan", "coverage", result.team, {"on": str(result.after_on)}),
        ),
    )


def _tell(result: PlanAndAfter) -> str:
    if result.status == "nothing-to-do":
        booked = ", once what is booked is done" if result.booked else ""
        return (
            f"Nothing is missing{booked}: nobody else has to learn."
            if booked
            else "Nothing is missing: nobody has to learn."
        )
    learners = count(len(result.learners), "person", "people")
    verb = "studies" if len(result.learners) == 1 else "study"
    lead = f"{learners} {verb} {amount(result.study_hours)} h, done by {result.finished_on or result.after_on}."
    if result.missing:
        lead += f" {result.missing} still missing after it."
    return f"{lead} {describe_status(result.status)}"


def _show_booked(result: PlanAndAfter, names: Names) -> tuple[Table, ...]:
    """Return the seats that are taken as passed, where there are any."""
    return build_if_any(
        "Booked already, taken as passed",
        result.booked,
        (
            words("person", lambda row: names.ref("people", row.person)),
            words("course", lambda row: names.ref("courses", row.course)),
            words("session", lambda row: names.ref("sessions", row.session)),
            words("until", lambda row: row.ends_on),
        ),
    )


def show_in_figures(result: PlanAndAfter, subject: Subject, asked: AskPlan, names: Names) -> Sheet:
    """Return hours, how many learn, and what stays open."""
    return Sheet(
        title=f"Cross-training of {names.team(result.team)}, {result.on}",
        lead=tell_plan(result),
        facts=list_facts(result),
        parts=tuple(show_open(result, result.after, names)),
    )


def draw(snapshot: Snapshot, team: Subject, asked: AskPlan, result: PlanAndAfter, **layout: Any) -> str:
    """Return the picture of the plan: the team's cover now, and after it."""
    coverage = compute_coverage(snapshot, team.id, asked.on, asked.away)
    return draw_cross_training(snapshot, coverage, result, **layout)


QUESTION = Question(
    asks={TEAM: AskPlan},
    answers=PlanAndAfter,
    compute=compute,
    cautions=(cautions.OFFER, cautions.CONSENT, cautions.ENTRIES, cautions.NO_AUTHORISATION),
    needs=Kind.TEAM_ANSWERS,
    show=show,
    is_slow=True,
    figures=InFigures(
        show_in_figures,
        prepare=lambda result, least: replace(result, after=join_slots(result.after, least)),
        refuses=REFUSED,
    ),
    draw=draw,
)
