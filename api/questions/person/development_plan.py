"""What a person takes to their manager: standing, gaps, courses with days, practice, follow-up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields
from typing import Annotated, Any, Final, Literal

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.names import Names
from api.desk.parameters import param
from api.desk.question import PERSON, Question, Subject
from api.desk.sheet import Fact, Note, Part, Quantity, Sheet
from api.questions import _cautions as cautions
from api.questions._asks import AskToRole
from api.questions._words import name_standing, show_state
from api.questions.person._calendar import AskOfCalendar, find_schedule, iterate_schedule_parts, tell_schedule
from api.questions.person._plan_calendar import ASKS, CALENDAR
from ontology.analysis.profiles.profile import build_profile
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
        lead=tell_schedule(result.schedule, asked, names),
        facts=(
            Fact("Standing", name_standing(now.standing)),
            Fact("Blocking unmet", now.blocking_unmet),
            Fact("Essential met", f"{now.essential_met} of {now.essential_total}"),
            Fact("Readiness (0 to 1, a sort key, no verdict)", Quantity(now.readiness, decimals=2)),
            Fact("Study", Quantity(result.schedule.study_hours, "h")),
            Fact("Study a week", Quantity(result.schedule.study_hours_per_week, "h")),
            Fact("Coaches", Quantity(result.coach_hours, "h")),
            Fact("Assessments", Quantity(result.assessment_hours, "h")),
            Fact("Cost", Quantity(result.schedule.cost, "cost units")),
        ),
        parts=tuple(_iterate_parts(result, names)),
        remarks=(*result.remarks, *result.schedule.remarks),
    )


def _iterate_parts(result: PlanWithRoutes, names: Names) -> Iterator[Part]:
    if result.routes is not None and not result.routes.within_reach:
        best = result.routes.best
        way = " → ".join(map(names.role, best.roles)) if best else "none within the limits"
        yield Note(f"The direct move breaks a limit; a way in steps: {way}.")
    yield build_table(
        "Where you stand",
        result.now.gaps,
        (
            words("competency", lambda row: names.ref("competencies", row.competency)),
            number("asked", lambda row: row.level),
            number("held", lambda row: row.have),
            number("gap", lambda row: row.gap),
            words("necessity", lambda row: row.necessity),
            words("state", lambda row: show_state(row.state)),
            words("rests on", lambda row: row.source or "–"),
            words("assessed on", lambda row: row.date),
        ),
        "The role asks for nothing.",
    )
    yield from iterate_schedule_parts(result.schedule, names)
    if not result.steps:
        return
    yield build_table(
        "Kinds of learning",
        result.strands,
        (
            words("kind", lambda row: row.strand),
            number("study", lambda row: row.study_hours, "h"),
            number("share", lambda row: row.share, decimals=2),
            words("rule of thumb", lambda row: "–" if row.rule_of_thumb is None else f"{row.rule_of_thumb:.0%}"),
        ),
        note="70:20:10 is common practice with weak evidence: no target.",
    )
    yield build_table(
        "Practice",
        [(step, row) for step in result.steps for row in step.outcomes],
        (
            words("after the course", lambda pair: names.ref("courses", pair[0].course)),
            words("competency", lambda pair: names.ref("competencies", pair[1].competency)),
            words("level", lambda pair: f"{pair[1].level} {pair[1].level_label}"),
            words("practise on the job", lambda pair: pair[1].practice),
            words("confirmed by", lambda pair: pair[1].assessed_by),
        ),
    )
    follow_ups = [(step, one) for step in result.steps for one in step.follow_ups]
    yield build_table(
        "Follow-up",
        sorted(follow_ups, key=lambda pair: pair[1].day),
        (
            words("day", lambda pair: pair[1].day),
            number("months after", lambda pair: pair[1].months),
            words("course", lambda pair: pair[0].label),
            words("ask", lambda pair: ASKS[pair[1].months]),
        ),
    )


QUESTION = Question(
    asks={PERSON: AskDevelopmentPlan},
    answers=PlanWithRoutes,
    compute=compute,
    cautions=(_OWN, *cautions.OF_DATED_PLANS),
    needs=Kind.EXPLORATION,
    show=show,
    opening=("profile", "on"),
    is_slow=True,
    is_private=True,
    files={"ics": CALENDAR},
)
