"""The lines of a cross-training plan: who learns what, by which courses, when it ends, who could coach, what it mends.

Pure. May import learners, goals, rules and the dated plan.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Annotated

from ontology.analysis.paths.offers import Fact
from ontology.analysis.training.dated_plan import DatedPlan
from ontology.analysis.training.learners import CanDoAfter, Learner, Plan, TeamLearning
from ontology.analysis.training.training_goals import TrainingGoals
from ontology.analysis.training.training_rules import LearnerRules
from ontology.analysis.training.training_slots import SlotKind, find_able, find_rivals
from ontology.model.identity import PersonId

__all__ = [
    "CourseCoaching",
    "LearnerPlan",
    "Mended",
    "OutcomeCoaching",
    "PlanLine",
    "describe_learners",
    "describe_lines",
]


@dataclass(frozen=True, slots=True)
class OutcomeCoaching:
    """An outcome of a course: its share of the coach hours, and who of the team or a lending team could coach it.

    These hold the level on the day asked about, are not the learner, and have not left when the course is done; by id.
    """

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level it leads to."]
    coach_hours: Annotated[float, "Its share of the hours of a coach, the same for every outcome."]
    people: Annotated[
        tuple[PersonId, ...], "Who of the team or a lending team holds the level on the day and is there until then."
    ]


@dataclass(frozen=True, slots=True)
class CourseCoaching:
    """A course with coach hours; each outcome takes an equal share of them and may have a coach of its own.

    `people` are those who could coach all outcomes.
    """

    course: Annotated[str, "Id of the course."]
    coach_hours: Annotated[float, "Hours of coaches."]
    people: Annotated[tuple[PersonId, ...], "Who could coach every outcome, the learner apart."]
    outcomes: Annotated[tuple[OutcomeCoaching, ...], "Who could coach what."]


@dataclass(frozen=True, slots=True)
class Mended:
    """What had people missing before and counts this level: a need (where `place` is None) or a place."""

    competency: Annotated[str | None, "Id of the competency; null for a place."]
    level: Annotated[int | None, "The level needed."]
    applies: Annotated[str | None, "team, each-shift, or the id of one shift."]
    shift: Annotated[str | None, "The shift; null for the team."]
    place: Annotated[str | None, "Id of the place; null for a need."]


@dataclass(frozen=True, slots=True)
class PlanLine:
    """A level that someone reaches and that counts for a need or place, with the courses that serve it, in order.

    A course that serves several lines of one person is named, and its hours counted, in each; it counts once in the
    totals. `finished_on` is the day on which the last of them is done: the level counts from then on.
    """

    person: Annotated[PersonId, "Id of the person."]
    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level to reach."]
    courses: Annotated[tuple[str, ...], "The courses, in order."]
    study_hours: Annotated[float, "Hours of the learner for these courses, also where one serves another line."]
    coach_hours: Annotated[float, "Hours of a coach for these courses."]
    coaching: Annotated[tuple[CourseCoaching, ...], "Courses with coach hours, and who could coach."]
    finished_on: Annotated[date, "The day on which the last of them is done: the level counts from then on."]
    mends: Annotated[tuple[Mended, ...], "The needs and places that count this level and had people missing."]


@dataclass(frozen=True, slots=True)
class LearnerPlan:
    """All courses of one person in an order they can be taken; hours are the learner's, then a coach's."""

    person: Annotated[PersonId, "Id of the person."]
    study_hours: Annotated[float, "Hours of the learner."]
    coach_hours: Annotated[float, "Hours of a coach."]
    cost: Annotated[float, "Cost."]
    courses: Annotated[tuple[str, ...], "The courses, in order."]
    finished_on: Annotated[date, "The day on which the last course is done."]


def describe_lines(
    rules: LearnerRules, team: TeamLearning, goals: TrainingGoals, plan: Plan, dated: DatedPlan
) -> tuple[PlanLine, ...]:
    """Return the lines by person, competency and level."""
    mends = _find_mends(team, goals)
    lines: list[PlanLine] = []
    for person_id, operators in sorted(plan.items()):
        learner = team.learners[person_id]
        number_of = {offer.id: n for n, offer in enumerate(learner.offers)}
        for fact in sorted(learner.wanted & learner.get_reached(operators)):
            courses = tuple(learner.get_courses_for(fact, operators))
            numbers = [number_of[course] for course in courses]
            lines.append(
                PlanLine(
                    person=person_id,
                    competency=fact[0],
                    level=fact[1],
                    courses=courses,
                    study_hours=sum(learner.offers[n].minutes for n in numbers) / 60,
                    coach_hours=sum(learner.coach_minutes[n] for n in numbers) / 60,
                    coaching=tuple(
                        _describe_coaching(rules, learner, n, dated.done_days[person_id, learner.offers[n].id])
                        for n in numbers
                        if learner.coach_minutes[n]
                    ),
                    finished_on=_get_last_day(dated, person_id, courses),
                    mends=mends.get((person_id, fact), ()),
                )
            )
    return tuple(lines)


def _describe_coaching(rules: LearnerRules, learner: Learner, operator: int, done_on: date) -> CourseCoaching:
    offer, hours = learner.offers[operator], learner.coach_minutes[operator] / 60
    rows = tuple(
        OutcomeCoaching(fact[0], fact[1], hours / len(offer.effects), rules.find_coaches(learner.id, fact, done_on))
        for fact in sorted(offer.effects)
    )
    everywhere = set(rows[0].people).intersection(*(row.people for row in rows))
    return CourseCoaching(offer.id, hours, tuple(sorted(everywhere)), rows)


def _get_last_day(dated: DatedPlan, person_id: str, courses: Iterable[str]) -> date:
    return max(dated.done_days[person_id, course] for course in courses)


def _find_mends(team: TeamLearning, goals: TrainingGoals) -> dict[tuple[str, Fact], tuple[Mended, ...]]:
    """Return for each person and level the needs and places that had people missing and count it."""
    before = CanDoAfter(team, {})
    found: dict[tuple[str, Fact], dict[Mended, None]] = {}
    for goal in goals.counts:
        if goal.count_missing(before):
            need = goal.need
            row = Mended(need.competency, need.level, need.applies, goal.shift, None)
            for person_id in goal.people:
                for fact in goal.facts:
                    found.setdefault((person_id, fact), {})[row] = None
    able = find_able(goals.kinds, before)
    if goals.tolerance is None:
        wanting = {number for numbers, _ in find_rivals(goals.kinds, able) for number in numbers}
    else:
        wanting = {number for group in goals.find_scarce_kinds(able) for number in group.kinds}
    _add_kinds(found, [goals.kinds[number] for number in sorted(wanting)])
    if wanting:
        # whoever moves up frees a slot: that which they leave to a learner is closed by the learner as well
        others: dict[tuple[str, Fact], dict[Mended, None]] = {}
        _add_kinds(others, goals.kinds)
        found |= {key: rows for key, rows in others.items() if key not in found}
    return {key: tuple(rows) for key, rows in found.items()}


def _add_kinds(found: dict[tuple[str, Fact], dict[Mended, None]], kinds: Iterable[SlotKind]) -> None:
    for kind in kinds:
        row = Mended(None, None, None, None, kind.place)
        if kind.need is not None:
            row = Mended(kind.need.competency, kind.need.level, kind.need.applies, kind.shift, None)
        for person_id in kind.people:
            for fact in kind.facts or ():
                found.setdefault((person_id, fact), {})[row] = None


def describe_learners(team: TeamLearning, plan: Plan, dated: DatedPlan) -> tuple[LearnerPlan, ...]:
    """Return all courses of each person, by person."""
    rows = []
    for person_id, operators in sorted(plan.items()):
        learner = team.learners[person_id]
        minutes, _, cents, _ = team.get_aims({person_id: operators})
        own = team.get_minutes(person_id, operators)
        courses = tuple(learner.get_order(operators))
        last = _get_last_day(dated, person_id, courses)
        rows.append(LearnerPlan(person_id, own / 60, (minutes - own) / 60, cents / 100, courses, last))
    return tuple(rows)
