"""What a cross-training plan may be asked, and how it is told: shared by the plan and its training timetable."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, fields

from api.desk.columns import build_if_any, build_table, number, words
from api.desk.kinds import CourseIds, PersonIds, TeamIds
from api.desk.names import Names, join_names
from api.desk.parameters import param
from api.desk.plain_cells import say_month_of_year
from api.desk.question import Subject, get_by_names
from api.desk.sheet import Cell, Column, Quantity, Table
from api.errors import ParameterError, WrongParameter
from api.questions._asks import AskAboutTeam, AskSlowly
from ontology.analysis.training.cross_training import CrossTrainingResult, plan_cross_training
from ontology.analysis.training.plan_effect import PlanEffect, UnrenewedLevel
from ontology.analysis.training.training_goals import Holes
from ontology.analysis.training.training_reasons import UnmetGoal
from ontology.analysis.training.training_rules import TrainingAsked
from ontology.snapshot.snapshot import Snapshot


@dataclass(frozen=True, kw_only=True)
class AskPlan(AskAboutTeam, AskSlowly):
    """What a plan closes, and what it may do."""

    hours_limit: float | None = param(
        "Most study hours of one person (default: no limit).", default=None, minimum=0, unit="h"
    )
    holes: Holes = param(
        "What is closed: needs below their target, empty slots of places and groups, or both.", default="all"
    )
    tolerance: int | None = param(
        "Any so many absences shall leave minimum and slots intact (default: targets and slots).",
        default=None,
        minimum=0,
        maximum=1000,
    )
    weigh_criticality: bool = param(
        "Whether missing people weigh the criticality of the need; 3 for a place.", default=False
    )
    exclude_people: PersonIds = param("People who do not learn; what they hold counts.", default=frozenset())
    exclude_courses: CourseIds = param("Courses that are not used.", default=frozenset())
    by: dt.date | None = param("Last day of every course of the plan (default: no end).", default=None)
    fair: bool = param("Whether the largest load of one person is to be small, before the hours of all.", default=False)
    with_coach: bool = param(
        "Whether a course with coach hours needs, for each outcome, somebody who holds what it teaches.", default=False
    )
    lending_teams: TeamIds = param("Teams whose people may coach, besides the team's own.", default=frozenset())

    def check(self, snapshot: Snapshot) -> None:
        """Raise ParameterError where the last day lies before the day asked about."""
        if self.by is not None and self.by < self.on:
            raise ParameterError(WrongParameter("by", self.by.isoformat(), f"must not be before {self.on}"))


def find_plan(snapshot: Snapshot, team: Subject, asked: AskPlan) -> CrossTrainingResult:
    """Return the plan that is asked for."""
    given = get_by_names(asked, {"fair": "is_fair"}, AskPlan)
    of_training = {field.name: given.pop(field.name) for field in fields(TrainingAsked)}
    of_training["lending_teams"] = tuple(sorted(asked.lending_teams))
    return plan_cross_training(snapshot, team.id, asked=TrainingAsked(**of_training), **given)


def show_after(effect: PlanEffect, names: Names) -> Iterator[Table]:
    """Yield what of the team on the day after the plan its plan does not tell: what is short, empty or expires."""
    rows = tuple(_iterate_short(effect, names))
    if rows:
        columns = (Column("need or place"), Column("present", is_number=True), Column("minimum", is_number=True))
        yield Table(f"What does not hold on {effect.on}", columns, rows, "")
    yield from build_if_any(
        f"What expires before {effect.on} and this plan does not renew",
        effect.lapses,
        (
            words("person", lambda row: names.ref("people", row.person)),
            words("holds", lambda row: f"{names.competency(row.competency)} at level {row.level}"),
            words("until", lambda row: row.valid_until),
            words("what would renew it", lambda row: names.ref("courses", row.renewal) or "no single course"),
            words("last start day", _tell_start),
        ),
    )


def _iterate_short(effect: PlanEffect, names: Names) -> Iterator[tuple[Cell, ...]]:
    for need in effect.needs:
        for scope in need.shifts or (need,):
            if scope.state == "short":
                yield names.need(need.competency, need.level, scope.shift), scope.depth, need.minimum
    for place in effect.unfilled:
        yield f"place {names.place(place)}, unfilled", None, None
    for row in effect.unfilled_needs:
        yield f"{row.slots} of group {row.together} for {names.competency(row.competency)}, unfilled", None, None


def _tell_start(row: UnrenewedLevel) -> Cell:
    return f"{row.last_day_to_act} (passed)" if row.is_late else row.last_day_to_act


def tell_lapse(row: UnrenewedLevel, names: Names) -> str:
    """Return in a sentence which level expires before the day after the plan, and what would renew it."""
    level = f"{names.competency(row.competency)} at level {row.level}"
    told = f"{names.person(row.person)} holds {level} to {row.valid_until}; "
    if row.renewal is None:
        return f"{told}no single course renews it."
    passed = " (passed)" if row.is_late else ""
    course = names.course(row.renewal)
    return f"{told}the plan does not renew it, {course} would: last start day {row.last_day_to_act}{passed}."


def show_unmet(result: CrossTrainingResult, names: Names) -> tuple[Table, ...]:
    """Return what stays short or unfilled, and why; nothing where nothing does."""
    whys = [(_name_goal(row, names), row.missing, row.reason) for row in result.unmet]
    whys += [("; ".join(map(names.place, row.places)), row.missing, row.reason) for row in result.unmet_places]
    rows: list[tuple[Cell, ...]] = [(what, missing, names.put_in(why)) for what, missing, why in whys]
    if not rows:
        return ()
    columns = (Column("need or place"), Column("missing", is_number=True), Column("why"))
    return (Table("What stays open", columns, tuple(rows), ""),)


def _name_goal(row: UnmetGoal, names: Names) -> str:
    if row.kind == "place":
        return f"place {names.place(row.place or '')}"
    need = names.need(row.competency or "", row.level or 0, row.shift)
    return f"group {row.together}: {need}" if row.kind == "together" else need


def show_learning(result: CrossTrainingResult, names: Names) -> Table:
    """Return who learns what by which courses."""
    return build_table(
        "Who learns what",
        result.plan,
        (
            words("person", lambda row: names.ref("people", row.person)),
            words("learns", lambda row: names.ref("competencies", row.competency)),
            number("to level", lambda row: row.level),
            words("by", lambda row: names.refs("courses", row.courses)),
            number("course", lambda row: row.study_hours, "h"),
            words("done on", lambda row: row.finished_on),
        ),
        "Nobody has to learn anything.",
    )


def show_coaching(result: CrossTrainingResult, names: Names) -> tuple[Table, ...]:
    """Return who could coach what; nothing where no course is coached."""
    rows = tuple(_iterate_coaching(result, names))
    if not rows:
        return ()
    columns = (
        Column("learner"),
        Column("course"),
        Column("teaches"),
        Column("coaching", "h", is_number=True),
        Column("who could coach"),
    )
    return (Table("Coaching", columns, rows, ""),)


def _iterate_coaching(result: CrossTrainingResult, names: Names) -> Iterator[tuple[Cell, ...]]:
    """Yield who could coach each outcome of each coached course, once for a person and course."""
    seen: set[tuple[str, str]] = set()
    for line in result.plan:
        for coaching in line.coaching:
            if (line.person, coaching.course) in seen:
                continue
            seen.add((line.person, coaching.course))
            for outcome in coaching.outcomes:
                yield (
                    names.ref("people", line.person),
                    names.ref("courses", coaching.course),
                    f"{names.competency(outcome.competency)} at level {outcome.level}",
                    Quantity(outcome.coach_hours),
                    join_names(map(names.person, outcome.people)) or "nobody in these teams can coach it",
                )


def show_courses(result: CrossTrainingResult, names: Names) -> Table:
    """Return the plan by course and day."""
    return build_table(
        "By course",
        result.courses,
        (
            words("person", lambda row: names.ref("people", row.person)),
            words("course", lambda row: names.ref("courses", row.course)),
            words("begins on", lambda row: row.begins_on),
            words("done on", lambda row: row.finished_on),
            words("released until", lambda row: row.released_until),
        ),
        "Nobody has to learn anything.",
    )


def show_months(result: CrossTrainingResult, names: Names) -> Table:
    """Return the plan by month."""
    return build_table(
        "By month",
        result.timetable,
        (
            words("month", lambda row: say_month_of_year(row.month)),
            words("person", lambda row: names.ref("people", row.person)),
            words("courses", lambda row: names.refs("courses", row.courses)),
            number("planned", lambda row: row.study_hours, "h"),
            number("available", lambda row: row.hours_free, "h"),
        ),
        "No hours are planned.",
    )
