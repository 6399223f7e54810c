"""What a person takes to their manager: standing, gaps, courses with days, practice, follow-up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields
from typing import Annotated, Any, Final, Literal

from api.desk.names import Names
from api.desk.parameters import param
from api.desk.question import PERSON, FileForm, Question, Subject, read_title
from api.desk.rights import Right
from api.desk.sheet import Cell, Column, Fact, Note, Part, Quantity, Sheet, Table
from api.questions import _cautions as cautions
from api.questions._asks import AskToRole
from api.questions._words import name_standing, show_state
from api.questions.person._calendar import AskOfCalendar, find_schedule, iterate_schedule_parts, tell_schedule
from api.questions.person._plan_calendar import ASKS, build_plan_calendar
from ontology.analysis.profiles.levels import build_profile
from ontology.analysis.routes.moves import BrokenLimit
from ontology.analysis.routes.route_results import Route, RoutesStatus
from ontology.analysis.routes.routes import find_routes
from ontology.analysis.schedule.development_plan import DevelopmentPlan, build_development_plan
from ontology.snapshot.snapshot import Snapshot

_OWN: Final = (
    "This belongs to the person who explores it: they alone decide whether and to whom it is shown, and nobody may "
    "draw conclusions from a role that someone looks at."
)


@dataclass(frozen=True, kw_only=True)
class AskDevelopmentPlan(AskToRole, AskOfCalendar):
    """To which role, and whether ways through others are looked for."""

    with_routes: bool = param(
        "Whether routes through other roles are looked for where the move is too large.", default=False
    )


@dataclass(frozen=True, slots=True)
class PlanRoutes:
    """Whether the direct move is within the usual limits, and the route with the least study hours."""

    status: Annotated[RoutesStatus, "Of the routes."]
    within_reach: Annotated[bool, "Whether the direct move breaks no limit."]
    broken_limits: Annotated[tuple[BrokenLimit, ...], "The limits it breaks."]
    best: Annotated[Route | None, "The route with the least study hours."]


@dataclass(frozen=True, slots=True)
class PlanWithRoutes(DevelopmentPlan):
    """A development plan, whether anything of it was cut short, and the ways through other roles where asked for."""

    status: Annotated[
        Literal["optimal", "feasible", "unreachable", "nothing-to-do"],
        "Of the schedule; feasible where the time limit struck anywhere.",
    ]
    routes: Annotated[PlanRoutes | None, "The ways through other roles; null where not asked for, or none is needed."]


def compute(snapshot: Snapshot, person: Subject, asked: AskDevelopmentPlan) -> PlanWithRoutes:
    """Return the plan."""
    schedule = find_schedule(snapshot, person, asked)
    plan = build_development_plan(snapshot, person.id, schedule, asked.on)
    routes = None
    if asked.with_routes and plan.now.gaps and snapshot.people[person.id].role != plan.role:
        found = find_routes(
            snapshot,
            build_profile(snapshot, person.id, asked.on),
            plan.role,
            study_hours_per_week=asked.study_hours_per_week,
            time_limit_s=asked.time_limit_s,
        )
        direct = found.direct
        routes = PlanRoutes(found.status, direct.within_reach, direct.broken_limits, found.best.study_hours)
    # a plan cut short anywhere may come out better next time
    is_short = schedule.status == "feasible" or (routes is not None and routes.status == "feasible")
    members: dict[str, Any] = {field.name: getattr(plan, field.name) for field in fields(DevelopmentPlan)}
    return PlanWithRoutes(**members, status="feasible" if is_short else schedule.status, routes=routes)


def show(result: PlanWithRoutes, subject: Subject, asked: AskDevelopmentPlan, names: Names) -> Sheet:
    """Return the plan: where the person stands, when to take what, what to practise, when to look at it again."""
    now = result.now
    return Sheet(
        title=f"Development plan of {names.person(subject.id)}: {result.role_label}, {asked.on}",
        lead=tell_schedule(result.schedule, names),
        facts=(
            Fact("Standing", name_standing(now.standing)),
            Fact("Blocking unmet", now.blocking_unmet),
            Fact("Essential met", f"{now.essential_met} of {now.essential_total}"),
            Fact("Readiness (0 to 1, a sort key, no verdict)", Quantity(now.readiness, decimals=2)),
            Fact("Study", Quantity(result.schedule.study_hours, "h")),
            Fact("Study a week", Quantity(result.schedule.study_hours_per_week, "h")),
            Fact("Coaches", Quantity(result.coach_hours, "h")),
            Fact("Assessments", Quantity(result.assessment_hours, "h")),
            Fact("Cost", Quantity(result.schedule.cost)),
        ),
        parts=tuple(_iterate_parts(result, names)),
        remarks=(*result.remarks, *result.schedule.remarks),
    )


def _iterate_parts(result: PlanWithRoutes, names: Names) -> Iterator[Part]:
    if result.routes is not None and not result.routes.within_reach:
        best = result.routes.best
        way = " → ".join(map(names.role, best.roles)) if best else "none within the limits"
        yield Note(f"The direct move breaks a limit; a way in steps: {way}.")
    yield Table(
        "Where you stand",
        (
            Column("competency"),
            Column("asked", is_number=True),
            Column("held", is_number=True),
            Column("gap", is_number=True),
            Column("necessity"),
            Column("state"),
            Column("rests on"),
            Column("assessed on"),
        ),
        tuple(
            (
                names.ref("competencies", row.competency),
                row.level,
                row.have,
                row.gap,
                row.necessity,
                show_state(row.state),
                row.source or "–",
                row.date,
            )
            for row in result.now.gaps
        ),
        "The role asks for nothing.",
    )
    yield from iterate_schedule_parts(result.schedule, names)
    if not result.steps:
        return
    yield Table(
        "Kinds of learning",
        (
            Column("kind"),
            Column("study", "h", is_number=True),
            Column("share", is_number=True),
            Column("rule of thumb"),
        ),
        tuple(
            (
                row.strand,
                Quantity(row.study_hours),
                Quantity(row.share, decimals=2),
                "–" if row.rule_of_thumb is None else f"{row.rule_of_thumb:.0%}",
            )
            for row in result.strands
        ),
        "",
        "70:20:10 is common practice with weak evidence: no target.",
    )
    yield Table(
        "Practice",
        (
            Column("after the course"),
            Column("competency"),
            Column("level"),
            Column("practise on the job"),
            Column("confirmed by"),
        ),
        tuple(_iterate_practice(result, names)),
        "",
    )
    yield Table(
        "Follow-up",
        (Column("day"), Column("months after", is_number=True), Column("course"), Column("ask")),
        tuple(sorted(_iterate_follow_ups(result), key=lambda row: str(row[0]))),
        "",
    )


def _iterate_practice(result: PlanWithRoutes, names: Names) -> Iterator[tuple[Cell, ...]]:
    for step in result.steps:
        for row in step.outcomes:
            yield (
                names.ref("courses", step.course),
                names.ref("competencies", row.competency),
                f"{row.level} {row.level_label}",
                row.practice,
                row.assessed_by,
            )


def _iterate_follow_ups(result: PlanWithRoutes) -> Iterator[tuple[Cell, ...]]:
    for step in result.steps:
        for follow_up in step.follow_ups:
            yield follow_up.day, follow_up.months, step.label, ASKS[follow_up.months]


QUESTION = Question(
    name="development-plan",
    title=read_title(__doc__),
    asks={PERSON: AskDevelopmentPlan},
    answers=PlanWithRoutes,
    compute=compute,
    cautions=(
        _OWN,
        cautions.OFFER,
        cautions.DATES,
        cautions.NO_SELECTION_TEST,
        cautions.BASIS,
        cautions.NO_AUTHORISATION,
    ),
    needs=Right.SEE_PERSON,
    show=show,
    opening=("profile", "on"),
    is_slow=True,
    is_private=True,
    files={"ics": FileForm("text/calendar", build_plan_calendar)},
)
