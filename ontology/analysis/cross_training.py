"""Who of a team should learn what, so that every need reaches its target, or the team a wished tolerance. Pure.

May import presence and the parts of the plan. An offer, no order: who learns is for the people to agree.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from ontology.analysis.catalogue import get_whole_minutes
from ontology.analysis.learners import CanDoAfter, TeamLearning, build_team_learning
from ontology.analysis.presence import get_presence
from ontology.analysis.solver import Deadline
from ontology.analysis.training_goals import build_goals
from ontology.analysis.training_reasons import (
    UnmetNeed,
    UnmetPlaces,
    describe_unmet_needs,
    describe_unmet_places,
)
from ontology.analysis.training_search import TrainingAnswer, find_best_training
from ontology.errors import InputError
from ontology.graph.snapshot import Snapshot

__all__ = ["CrossTrainingResult", "LearnerPlan", "PlanLine", "plan_cross_training"]

PlanStatus = Literal["optimal", "feasible", "unreachable", "nothing-to-do"]


@dataclass(frozen=True, slots=True)
class PlanLine:
    """A level that someone reaches and that counts for a need or place, with the courses that serve it, in order.

    A course that serves several lines of one person is named in each, and counts once in the totals.
    """

    person: str
    competency: str
    level: int
    courses: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LearnerPlan:
    """All courses of one person in an order they can be taken; hours are the learner's, then a coach's."""

    person: str
    study_hours: float
    coach_hours: float
    cost: float
    courses: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CrossTrainingResult:
    """A cross-training plan.

    Attributes
    ----------
    status : str
        "optimal": nobody is missing and the hours are proved least; "feasible": the best found in time;
        "unreachable": someone stays missing whatever is done, the plan is for the rest; "nothing-to-do".
    is_proved : bool
        No plan misses fewer people, and none that misses as few takes fewer hours.
    study_hours, coach_hours, total_hours : float
        Hours of learners, of coaches, and both. `lower_bound` is for both: with so few missing no plan takes less.
    cost : float
    missing : int
        People still missing after the plan, summed over needs and shifts (and once for places).
    plan : tuple of PlanLine
        By person, competency and level.
    learners : tuple of LearnerPlan
        By person.
    unmet, unmet_places
        What stays short, and why.
    """

    team: str
    on: date
    away: tuple[str, ...]
    hours_limit: float | None
    tolerance: int | None
    status: PlanStatus
    is_proved: bool
    study_hours: float
    coach_hours: float
    total_hours: float
    cost: float
    lower_bound: float
    missing: int
    plan: tuple[PlanLine, ...]
    learners: tuple[LearnerPlan, ...]
    unmet: tuple[UnmetNeed, ...]
    unmet_places: tuple[UnmetPlaces, ...]


def plan_cross_training(
    snapshot: Snapshot,
    team_id: str,
    on: date,
    *,
    away: frozenset[str] = frozenset(),
    hours_limit: float | None = None,
    tolerance: int | None = None,
    weigh_criticality: bool = False,
    time_limit_s: float | None = None,
) -> CrossTrainingResult:
    """Return who should learn what: fewest people missing, then least hours, least cost, fewest courses, then ids.

    Parameters
    ----------
    snapshot : Snapshot
    team_id : str
    on : date
        Members who have started and not ended learn and count, absent ones included.
    away : frozenset of str
        Taken as absent; matters for a wished tolerance only, where those present learn and count.
    hours_limit : float, optional
        The most hours of courses for each person.
    tolerance : int, optional
        Instead of the targets: every need keeps its minimum and all places (and `together` needs) can be filled,
        whichever this many people of those present are away.
    weigh_criticality : bool
        Whether a missing person weighs the need's criticality (3 for places) in the first aim.
    time_limit_s : float, optional
        Seconds after which the best plan found is returned; None: until proved. A first plan is always made, which
        takes well below a second for tens of people, and seconds for hundreds.

    Returns
    -------
    CrossTrainingResult

    Raises
    ------
    UnknownIdError
        There is no such team, or `away` names someone who does not exist.
    InputError
        A limit or tolerance below 0.

    Notes
    -----
    Exact by integer programs with cuts made on the fly; NP-hard, since one person's courses are already.
    """
    if hours_limit is not None and not hours_limit >= 0:
        raise InputError(f"hours_limit must be at least 0, not {hours_limit}.", hours_limit=hours_limit)
    if tolerance is not None and tolerance < 0:
        raise InputError(f"tolerance must be at least 0, not {tolerance}.", tolerance=tolerance)
    presence = get_presence(snapshot, team_id, on, away)
    goals = build_goals(presence, tolerance, weigh_criticality)
    limit_minutes = None if hours_limit is None else get_whole_minutes(hours_limit)
    team = build_team_learning(presence, goals, limit_minutes)
    before = goals.count_missing(CanDoAfter(team, {}))
    answer = TrainingAnswer({}, 0, 0, 0, True)
    if before:
        answer = find_best_training(team, goals, Deadline(time_limit_s))
    can_do = CanDoAfter(team, answer.plan)
    unmet = describe_unmet_needs(snapshot, team, goals, can_do, hours_limit)
    unmet_places = describe_unmet_places(goals, can_do, hours_limit)
    status: PlanStatus = "nothing-to-do"
    if answer.missing_bound:
        status = "unreachable"
    elif before:
        status = "optimal" if answer.is_proved else "feasible"
    minutes, cents, _ = team.get_aims(answer.plan)
    own = sum(team.get_minutes(person_id, operators) for person_id, operators in answer.plan.items())
    return CrossTrainingResult(
        team=team_id,
        on=on,
        away=presence.away,
        hours_limit=hours_limit,
        tolerance=tolerance,
        status=status,
        is_proved=answer.is_proved,
        study_hours=own / 60,
        coach_hours=(minutes - own) / 60,
        total_hours=minutes / 60,
        cost=cents / 100,
        lower_bound=answer.minutes_bound / 60,
        missing=sum(row.missing for row in unmet) + sum(row.missing for row in unmet_places),
        plan=_describe_lines(team, answer),
        learners=_describe_learners(team, answer),
        unmet=unmet,
        unmet_places=unmet_places,
    )


def _describe_lines(team: TeamLearning, answer: TrainingAnswer) -> tuple[PlanLine, ...]:
    lines: list[PlanLine] = []
    for person_id, operators in sorted(answer.plan.items()):
        learner = team.learners[person_id]
        lines.extend(
            PlanLine(person_id, *fact, tuple(learner.get_courses_for(fact, operators)))
            for fact in sorted(learner.wanted & learner.get_reached(operators))
        )
    return tuple(lines)


def _describe_learners(team: TeamLearning, answer: TrainingAnswer) -> tuple[LearnerPlan, ...]:
    rows = []
    for person_id, operators in sorted(answer.plan.items()):
        learner = team.learners[person_id]
        minutes, cents, _ = team.get_aims({person_id: operators})
        own = team.get_minutes(person_id, operators)
        courses = tuple(learner.get_order(operators))
        rows.append(LearnerPlan(person_id, own / 60, (minutes - own) / 60, cents / 100, courses))
    return tuple(rows)
