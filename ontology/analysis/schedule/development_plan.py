"""A development plan: where someone stands, what leads on and when, what to practise, how it is assessed. Pure.

It joins the gap and the schedule of one person and one role, and adds what a talk with a manager needs. Follow-up days
are 1, 6 and 12 calendar months after the last day of a course, or the Monday after where that is a weekend.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated, Final

from ontology.analysis.profiles.gap import GapResult, compute_gap
from ontology.analysis.profiles.profile import Profile, build_profile
from ontology.analysis.schedule.practice import describe_practice, get_assessment_way
from ontology.analysis.schedule.schedule_result import ScheduledCourse, ScheduleResult
from ontology.model.records import STRANDS
from ontology.model.validity import add_months
from ontology.snapshot.snapshot import Snapshot

__all__ = ["DevelopmentPlan", "FollowUp", "PlanOutcome", "PlanStep", "StrandShare", "build_development_plan"]

#: Months after a course in which its use at work is looked at.
FOLLOW_UP_MONTHS: Final = (1, 6, 12)
#: Experience, social and formal learning: common practice with weak evidence, shown beside the plan's own shares.
RULE_OF_THUMB: Final = {"experience": 0.7, "social": 0.2, "formal": 0.1}
UNSTATED: Final = "unstated"
_SATURDAY: Final = 5


@dataclass(frozen=True, slots=True)
class StrandShare:
    """Hours of one strand: experience, social, formal, or unstated where courses name none.

    `share` is that of all study hours, None without any; `rule_of_thumb` the one often named, None for unstated.
    """

    strand: Annotated[str, "Kind of learning."]
    study_hours: Annotated[float, "Hours of the learner."]
    share: Annotated[float | None, "Share of all study hours, 0..1; null without any."]
    rule_of_thumb: Annotated[float | None, "The share often named: common practice, weak evidence."]


@dataclass(frozen=True, slots=True)
class FollowUp:
    """A day on which to ask what came of a course."""

    months: Annotated[int, "Calendar months after its last day."]
    day: Annotated[dt.date, "That day, whatever weekday it is."]


@dataclass(frozen=True, slots=True)
class PlanOutcome:
    """What a course brings: the level, what to practise afterwards, how the level is confirmed.

    `is_target`: the target role asks for the competency. `assessed_by` is the source that counts: certificate, assessor
    or manager; `assessment_hours` what the assessment takes, None where nobody said.
    """

    competency: Annotated[str, "Id of the competency."]
    label: Annotated[str, "Its label."]
    level: Annotated[int, "The level the course reaches."]
    level_label: Annotated[str, "The level's name."]
    is_target: Annotated[bool, "Whether the target role asks for the competency."]
    practice: Annotated[str, "What to practise on the job after the course."]
    assessed_by: Annotated[str, "The source that counts."]
    assessment: Annotated[str, "How the level is confirmed."]
    assessment_hours: Annotated[float | None, "Hours the assessment takes; null where nobody said."]


@dataclass(frozen=True, slots=True)
class PlanStep:
    """One course of the plan with what follows it."""

    course: Annotated[str, "Id of the course."]
    label: Annotated[str, "Its label."]
    strand: Annotated[str, "Kind of learning."]
    method: Annotated[str, "How it is delivered; empty where nobody said."]
    first_day: Annotated[dt.date, "Its first day."]
    last_day: Annotated[dt.date, "Its last day."]
    study_hours: Annotated[float, "Hours of the learner."]
    coach_hours: Annotated[float, "Hours of a coach."]
    cost: Annotated[float, "Cost."]
    is_renewal: Annotated[bool, "Whether it renews a certificate."]
    is_booked: Annotated[bool, "Whether it is booked already."]
    outcomes: Annotated[tuple[PlanOutcome, ...], "What it brings."]
    follow_ups: Annotated[tuple[FollowUp, ...], "When to ask what came of it."]


@dataclass(frozen=True, slots=True)
class DevelopmentPlan:
    """What a person takes to their manager.

    `now` is the gap on the day asked about, `schedule` the calendar of the learning path. `assessment_hours` sums what
    is known of the assessments in `steps`, each competency's once, at its highest level. `coach_hours` leaves booked
    courses out, as the study hours of the schedule do; `strands` shows all that is learned, booked courses included.
    """

    role: Annotated[str, "The role asked about."]
    role_label: Annotated[str, "Its label."]
    now: Annotated[GapResult, "The gap on the day asked about."]
    schedule: Annotated[ScheduleResult, "The calendar of the learning path."]
    steps: Annotated[tuple[PlanStep, ...], "The courses in the order of the calendar, with what follows each."]
    strands: Annotated[tuple[StrandShare, ...], "Hours of all that is learned by kind, booked courses included."]
    coach_hours: Annotated[float, "Hours of coaches, booked courses left out."]
    assessment_hours: Annotated[float, "Hours of the assessments, as far as they are known."]
    remarks: Annotated[tuple[str, ...], "What else should be known."]


def build_development_plan(
    snapshot: Snapshot, person_id: str, schedule: ScheduleResult, on: dt.date
) -> DevelopmentPlan:
    """Return the development plan of a person to the role of a schedule.

    Parameters
    ----------
    schedule : ScheduleResult
        Of this person, on this day.

    Raises
    ------
    UnknownIdError
        There is no such person or role.

    Notes
    -----
    O(requirements + outcomes of the courses).
    """
    role = snapshot.require_role(schedule.role)
    now = compute_gap(snapshot, role.id, person_id=person_id, on=on)
    targets = {row.competency for row in now.gaps}
    profile = build_profile(snapshot, person_id, on)
    steps = tuple(_build_step(snapshot, profile, course, targets) for course in schedule.courses)
    return DevelopmentPlan(
        role=role.id,
        role_label=role.label,
        now=now,
        schedule=schedule,
        steps=steps,
        strands=_share_out(steps),
        coach_hours=sum(step.coach_hours for step in steps if not step.is_booked),
        assessment_hours=_sum_assessments(steps),
        remarks=(*now.remarks, *_tell_unstated(steps)),
    )


def _build_step(snapshot: Snapshot, profile: Profile, scheduled: ScheduledCourse, targets: set[str]) -> PlanStep:
    course = snapshot.courses[scheduled.id]
    outcomes = []
    for outcome in snapshot.get_outcomes(course.id):
        # what is held already is no outcome, unless the course is there to renew it
        if profile.get(outcome.competency) >= outcome.level and not (scheduled.is_renewal and outcome.renews):
            continue
        competency = snapshot.competencies[outcome.competency]
        level = next(step for step in snapshot.scales[competency.scale] if step.rank == outcome.level)
        way, words = get_assessment_way(competency)
        outcomes.append(
            PlanOutcome(
                competency=competency.id,
                label=competency.label,
                level=outcome.level,
                level_label=level.label,
                is_target=competency.id in targets,
                practice=describe_practice(competency, level),
                assessed_by=way,
                assessment=words,
                assessment_hours=competency.assessment_hours,
            )
        )
    return PlanStep(
        course=course.id,
        label=course.label,
        strand=course.strand or UNSTATED,
        method=course.method,
        first_day=scheduled.first_day,
        last_day=scheduled.last_day,
        study_hours=scheduled.study_hours,
        coach_hours=scheduled.coach_hours,
        cost=scheduled.cost,
        is_renewal=scheduled.is_renewal,
        is_booked=scheduled.is_booked,
        outcomes=tuple(sorted(outcomes, key=lambda row: (not row.is_target, row.competency))),
        follow_ups=tuple(_find_follow_ups(scheduled.last_day)),
    )


def _find_follow_ups(last_day: dt.date) -> Iterable[FollowUp]:
    for months in FOLLOW_UP_MONTHS:
        try:
            yield FollowUp(months, _find_workday(add_months(last_day, months)))
        except OverflowError:
            return


def _find_workday(day: dt.date) -> dt.date:
    """Return the day, or the Monday after a weekend."""
    return day + dt.timedelta(days=max(0, 7 - day.weekday()) if day.weekday() >= _SATURDAY else 0)


def _share_out(steps: tuple[PlanStep, ...]) -> tuple[StrandShare, ...]:
    hours = dict.fromkeys(STRANDS, 0.0)
    for step in steps:
        hours[step.strand] = hours.get(step.strand, 0.0) + step.study_hours
    total = sum(hours.values())
    return tuple(
        StrandShare(strand, some, some / total if total else None, RULE_OF_THUMB.get(strand))
        for strand, some in hours.items()
    )


def _sum_assessments(steps: tuple[PlanStep, ...]) -> float:
    hours = {row.competency: row.assessment_hours or 0.0 for step in steps for row in step.outcomes}
    return sum(hours.values())


def _tell_unstated(steps: tuple[PlanStep, ...]) -> list[str]:
    unstated = [step.label for step in steps if step.strand == UNSTATED]
    if not unstated:
        return []
    return [f"Not said whether it is experience, social or formal learning: {', '.join(unstated)}."]
