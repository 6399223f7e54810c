"""Who of a team holds what, and who is to hold it until when: people across, needs or jobs down."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from datetime import date
from functools import partial
from typing import Annotated, Any, Final

from api.access.rights import Kind
from api.desk.names import Names, amount
from api.desk.parameters import param
from api.desk.question import TEAM, InFigures, Question, Subject
from api.desk.sheet import Cell, Column, Fact, Quantity, Sheet, Table
from api.pictures.pictures import draw_training_chart
from api.questions import _cautions as cautions
from api.questions._words import describe_status
from api.questions.team._plan import AskPlan, find_plan, show_after, show_courses, show_months, show_unmet
from api.questions.team._plan_figures import REFUSED, join_slots, list_facts, show_open, tell_plan
from api.questions.team._plan_remarks import list_remarks
from api.questions.team._training_calendar import CALENDAR
from api.questions.team._training_words import name_cell, name_row
from ontology.analysis.training.cross_training import CrossTrainingResult, PlanStatus
from ontology.analysis.training.dated_plan import PlannedCourse, ReleaseConflict
from ontology.analysis.training.plan_effect import PlanEffect, compute_plan_effect, get_presence_after
from ontology.analysis.training.training_chart import (
    ChartPerson,
    ChartRow,
    ChartRows,
    DueDay,
    TrainingChart,
    build_training_chart,
)
from ontology.analysis.training.training_goals import Holes
from ontology.analysis.training.training_reasons import UnmetGoal
from ontology.analysis.training.unmet_slots import UnmetPlaces
from ontology.model.identity import PeopleCount, PeopleShort, PersonId, TellsOf
from ontology.snapshot.snapshot import Snapshot

_PLANNED_DAY: Final = (
    "A day by which someone is to be trained is a plan in paid working time, 40 hours a week, around recorded "
    "absences: holidays and full courses are not counted. The level is there once it is assessed, not "
    "when the day has come."
)


@dataclass(frozen=True, kw_only=True)
class AskTimetable(AskPlan):
    """Of which plan, and how it is shown."""

    show: ChartRows = param("What stands down: the cover needs, the jobs of the places, or both.", default="needs")
    due: DueDay = param(
        "A date as the day on which the last course is done, or as the last day of its month.", default="day"
    )


@dataclass(frozen=True)
class Timetable:
    """The plan, its chart, and the team after it."""

    plan: CrossTrainingResult
    chart: TrainingChart
    effect: PlanEffect


@dataclass(frozen=True)
class TimetableAnswer:
    """The chart, with what of the plan belongs to it."""

    by: Annotated[date | None, "Last day of every course, where one was asked for."]
    tolerance: Annotated[int | None, "Absences the team shall survive, where they were asked for."]
    holes: Annotated[Holes, "What was to be closed."]
    status: Annotated[PlanStatus, "Of the plan."]
    is_proved: Annotated[bool, "No plan misses fewer people, and none that misses as few takes fewer hours."]
    learner_count: Annotated[PeopleCount, "How many people learn."]
    study_hours: Annotated[float, TellsOf("learner_count"), "Hours of the learners."]
    coach_hours: Annotated[float, TellsOf("learner_count"), "Hours of coaches."]
    missing: Annotated[PeopleShort, "People still short of targets after the plan, and slots still empty."]
    finished_on: Annotated[date | None, "The day on which the last course is done; null without courses."]
    courses: Annotated[tuple[PlannedCourse, ...], "The plan by course and day."]
    release_conflicts: Annotated[tuple[ReleaseConflict, ...], "Courses off the job that leave something short."]
    remarks: Annotated[tuple[str, ...], "What else should be known."]
    unmet: Annotated[tuple[UnmetGoal, ...], "What stays short or empty, and why."]
    unmet_places: Annotated[tuple[UnmetPlaces, ...], "The same of places, for a wished tolerance."]
    away: Annotated[tuple[PersonId, ...], "Who was supposed away."]
    after: Annotated[PlanEffect, "The team on the day after the plan."]
    team: Annotated[str, "Id of the team."]
    on: Annotated[date, "The day asked about."]
    after_on: Annotated[date, 'The day that "after the plan" means.']
    people: Annotated[tuple[ChartPerson, ...], "Columns: people by shift and id."]
    rows: Annotated[tuple[ChartRow, ...], "Needs in their order, then jobs by role and shift."]


def compute(snapshot: Snapshot, team: Subject, asked: AskTimetable) -> Timetable:
    """Return the plan, its chart, and the team after it."""
    plan = find_plan(snapshot, team, asked)
    after = get_presence_after(snapshot, plan)
    chart = build_training_chart(snapshot, plan, after, show=asked.show, due=asked.due)
    return Timetable(plan, chart, compute_plan_effect(snapshot, plan, after))


def tell(result: Timetable) -> TimetableAnswer:
    """Return the chart with what of the plan belongs to it."""
    sources: dict[str, Any] = {"after": result.effect}
    for part in (result.plan, result.chart):
        sources |= {field.name: getattr(part, field.name) for field in fields(part)}
    return TimetableAnswer(**{field.name: sources[field.name] for field in fields(TimetableAnswer)})


def show(result: Timetable, subject: Subject, asked: AskTimetable, names: Names) -> Sheet:
    """Return the chart as rows, the plan by course and month, and what stays open."""
    chart, plan = result.chart, result.plan
    return Sheet(
        title=f"Training timetable of {names.team(chart.team)}, {chart.on}",
        remarks=list_remarks(plan, names),
        lead=f"{_tell(plan)} After the plan is {chart.after_on}.",
        facts=(Fact("Study", Quantity(plan.study_hours, "h")), Fact("Coaching", Quantity(plan.coach_hours, "h"))),
        parts=(
            _show_chart(chart, names),
            *((show_courses(plan, names), show_months(plan, names)) if plan.courses else ()),
            *show_unmet(plan, names),
            *show_after(result.effect, names),
        ),
    )


def _tell(plan: CrossTrainingResult) -> str:
    if not plan.plan:
        return "Nobody is to be trained."
    return f"{amount(plan.study_hours)} h of study. {describe_status(plan.status)}"


def _show_chart(chart: TrainingChart, names: Names) -> Table:
    people = [Column(_name_person(person, names)) for person in chart.people]
    return Table(
        "Who holds what",
        (
            Column("needed"),
            Column("at"),
            Column("wanted", is_number=True),
            Column("now", is_number=True),
            Column("after", is_number=True),
            *people,
        ),
        tuple(_build_row(row, names) for row in chart.rows),
        "This team has no cover needs or places to chart.",
    )


def _name_person(person: ChartPerson, names: Names) -> str:
    name = names.person(person.id)
    if person.starts_on:
        return f"{name}, from {person.starts_on}"
    return f"{name}, to {person.ends_on}" if person.ends_on else name


def _build_row(row: ChartRow, names: Names) -> tuple[Cell, ...]:
    return (*name_row(names, row), row.wanted, row.holders, row.holders_planned, *map(name_cell, row.cells))


def show_in_figures(result: Timetable, subject: Subject, asked: AskTimetable, names: Names) -> Sheet:
    """Return how many hold each need now and after the plan, and what stays open."""
    chart = replace(_show_chart(result.chart, names), title="How many hold what")
    return Sheet(
        title=f"Training timetable of {names.team(result.chart.team)}, {result.chart.on}",
        lead=tell_plan(result.plan),
        facts=list_facts(result.plan),
        parts=(chart, *show_open(result.plan, result.effect, names)),
    )


def draw(snapshot: Snapshot, team: Subject, asked: AskTimetable, result: Timetable, **layout: Any) -> str:
    """Return the picture of the chart."""
    names = Names(snapshot)
    return draw_training_chart(
        snapshot,
        result.plan,
        result.chart,
        words=name_cell,
        row_words=partial(name_row, names),
        **layout,
    )


QUESTION = Question(
    asks={TEAM: AskTimetable},
    answers=TimetableAnswer,
    compute=compute,
    tell=tell,
    cautions=(_PLANNED_DAY, cautions.CONSENT, cautions.NO_AUTHORISATION, cautions.BASIS),
    needs=Kind.TEAM_ANSWERS,
    show=show,
    is_slow=True,
    figures=InFigures(
        show_in_figures,
        prepare=lambda result, least: replace(result, effect=join_slots(result.effect, least)),
        refuses=REFUSED,
    ),
    draw=draw,
    files={"ics": CALENDAR},
)
