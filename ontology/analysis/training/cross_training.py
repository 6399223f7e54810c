"""Who of a team should learn what, so that needs reach their targets and slots are filled, or a wished tolerance. Pure.

May import presence and the parts of the plan. An offer, no order: who learns is for the people to agree.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Annotated, Literal

from ontology.analysis.cover.presence import get_presence
from ontology.analysis.engine.solver import Deadline
from ontology.analysis.training.booked_seats import BookedSeat, count_as_held, find_booked_seats
from ontology.analysis.training.dated_plan import (
    MonthOfLearning,
    PlannedCourse,
    ReleaseConflict,
    build_dated_plan,
)
from ontology.analysis.training.learners import CanDoAfter, TeamLearning, build_team_learning
from ontology.analysis.training.released_plan import find_released_plan
from ontology.analysis.training.training_ceilings import PracticeCeiling, describe_ceilings
from ontology.analysis.training.training_goals import Holes, TrainingGoals, build_goals
from ontology.analysis.training.training_lines import LearnerPlan, PlanLine, describe_learners, describe_lines
from ontology.analysis.training.training_reasons import UnmetGoal, describe_unmet_needs
from ontology.analysis.training.training_rules import LearnerRules, TrainingAsked, build_learner_rules
from ontology.analysis.training.training_search import TrainingAnswer, find_best_training
from ontology.analysis.training.unmet_slots import UnmetPlaces, describe_unmet_places, describe_unmet_slots
from ontology.errors import InputError
from ontology.model.identity import PeopleCount, PeopleShort, PersonId, TellsOf
from ontology.snapshot.snapshot import Snapshot

__all__ = ["CrossTrainingResult", "LearnerPlan", "PlanLine", "TrainingAsked", "plan_cross_training"]

PlanStatus = Literal["optimal", "feasible", "unreachable", "nothing-to-do"]


@dataclass(frozen=True, slots=True)
class CrossTrainingResult:
    """A cross-training plan."""

    team: Annotated[str, "The team."]
    on: Annotated[date, "The day asked about."]
    away: Annotated[tuple[PersonId, ...], "People taken as absent because the question said so."]
    hours_limit: Annotated[float | None, "Most hours of one person, as asked."]
    tolerance: Annotated[int | None, "Tolerance, as asked."]
    holes: Annotated[Holes, "What is to be closed, as asked."]
    exclude_people: Annotated[tuple[PersonId, ...], "People who do not learn, as asked."]
    exclude_courses: Annotated[tuple[str, ...], "Courses that are not used, as asked."]
    by: Annotated[date | None, "Last day of every course, as asked."]
    fair: Annotated[bool, "Whether the largest load of one person is to be small, as asked."]
    with_coach: Annotated[bool, "Whether a course with coach hours needs somebody who could coach it, as asked."]
    lending_teams: Annotated[tuple[str, ...], "Teams whose people may coach, as asked."]
    status: Annotated[
        PlanStatus, "optimal: proved for these entries; feasible: the best found when the time limit struck."
    ]
    is_proved: Annotated[bool, "Whether no plan leaves fewer missing, and none as good takes fewer hours."]
    learner_count: Annotated[PeopleCount, "How many people learn."]
    study_hours: Annotated[float, TellsOf("learner_count"), "Hours of learners."]
    coach_hours: Annotated[float, TellsOf("learner_count"), "Hours of coaches."]
    total_hours: Annotated[float, TellsOf("learner_count"), "Both."]
    cost: Annotated[float, TellsOf("learner_count"), "Cost."]
    lower_bound: Annotated[
        float,
        TellsOf("learner_count"),
        "No plan that leaves as few missing is below this many hours of learners and coaches.",
    ]
    missing: Annotated[
        PeopleShort, "People still short of targets after the plan, summed over shifts, and slots still empty."
    ]
    plan: Annotated[tuple[PlanLine, ...], "The plan."]
    learners: Annotated[tuple[LearnerPlan, ...], "The same by person."]
    unmet: Annotated[tuple[UnmetGoal, ...], "Needs below their target and empty slots, and why."]
    unmet_places: Annotated[
        tuple[UnmetPlaces, ...], "For a wished tolerance: slots with too few people to spare, and why."
    ]
    largest_load: Annotated[float, TellsOf(), "Most study hours of one person."]
    timetable: Annotated[tuple[MonthOfLearning, ...], "The plan by month and person."]
    courses: Annotated[tuple[PlannedCourse, ...], "The plan by course and day."]
    finished_on: Annotated[date | None, "The day on which the last course is done; null where there is none."]
    after_on: Annotated[
        date, "The day that after the plan means: the same, or that of the last booked session, or the day asked about."
    ]
    release_conflicts: Annotated[tuple[ReleaseConflict, ...], "Courses off the job for which nobody can be spared."]
    ceilings: Annotated[tuple[PracticeCeiling, ...], "Needs for which more holders would be cover on paper."]
    booked: Annotated[
        tuple[BookedSeat, ...],
        "Seats in sessions to come that bring what the team asks for: taken as passed, and not asked for again.",
    ]
    remarks: Annotated[tuple[str, ...], "What else should be known."]


def plan_cross_training(
    snapshot: Snapshot,
    team_id: str,
    on: date,
    *,
    away: frozenset[str] = frozenset(),
    hours_limit: float | None = None,
    tolerance: int | None = None,
    holes: Holes = "all",
    weigh_criticality: bool = False,
    asked: TrainingAsked | None = None,
    time_limit_s: float | None = None,
) -> CrossTrainingResult:
    """Return who should learn what: fewest missing, least hours, what can be coached, least cost, courses, then ids.

    Parameters
    ----------
    on : date
        Members who have started and not ended learn and count, absent ones included.
    away : frozenset of str
        Taken as absent: they fill no slot, coach nobody, and for a wished tolerance neither learn nor count.
    hours_limit : float, optional
        The most hours of courses for each person; instead of that of `asked`.
    tolerance : int, optional
        Instead of the targets: every need keeps its minimum and all places (and `together` needs) can be filled,
        whichever this many people of those present are away.
    holes : {"needs", "places", "all"}
        What is to be closed: needs below their target, slots of places and `together` needs that those present cannot
        fill, each by another person, or both. For a wished tolerance: which of the two is to survive the absences.
    weigh_criticality : bool
        Whether a missing person weighs the need's criticality in the first aim, in a slot too (3 for places).
    asked : TrainingAsked, optional
        Who learns, by which courses, until when, coached by whom, and whether the largest load is to be small.
    time_limit_s : float, optional
        Seconds after which the best plan found is returned; None: until proved. A first plan is always made, which
        takes well below a second for tens of people, and seconds for hundreds. Plans of the same hours are chosen among
        (coaches, cost, courses, ids) for as long again as these took, two seconds at the least.

    Returns
    -------
    CrossTrainingResult

    Raises
    ------
    UnknownIdError
        There is no such team, or `away` or a rule names something that does not exist.
    InputError
        A limit or tolerance below 0, or a date before `on`.

    Notes
    -----
    Exact by linear and integer programs over landmarks of people and courses; NP-hard, since one person's courses are
    already. Its days are set afterwards: it changes nothing about who learns what, but where `by` is asked for
    someone who cannot be released in time gives way to somebody for whom all aims come to the same.
    """
    deadline = Deadline(time_limit_s)
    asked = TrainingAsked() if asked is None else asked
    if hours_limit is not None:
        asked = replace(asked, hours_limit=hours_limit)
    if tolerance is not None and tolerance < 0:
        raise InputError(f"tolerance must be at least 0, not {tolerance}.", parameter="tolerance", value=tolerance)
    asked.require_sound(snapshot, on)
    booked = find_booked_seats(snapshot, team_id, on)
    presence = get_presence(count_as_held(snapshot, booked, on), team_id, on, away)
    goals = build_goals(presence, tolerance, weigh_criticality, holes)
    learner_rules = build_learner_rules(presence, asked)
    team = build_team_learning(presence, goals, learner_rules)
    before = goals.count_missing(CanDoAfter(team, {}))
    answer = TrainingAnswer({}, 0, 0, 0, True)
    if before:
        answer = find_best_training(team, goals, deadline, is_fair=asked.is_fair)
    return _build_result(learner_rules, team, goals, answer, holes, before > 0, booked)


def _build_result(
    rules: LearnerRules,
    team: TeamLearning,
    goals: TrainingGoals,
    answer: TrainingAnswer,
    holes: Holes,
    has_work: bool,
    booked: tuple[BookedSeat, ...],
) -> CrossTrainingResult:
    presence, asked = rules.presence, rules.asked
    plan, dated = answer.plan, build_dated_plan(presence, team, answer.plan)
    if asked.by is not None:
        plan, dated = find_released_plan(presence, team, goals, plan)
    can_do = CanDoAfter(team, plan)
    unmet = describe_unmet_needs(rules, team, goals, can_do) + describe_unmet_slots(rules, team, goals, can_do)
    unmet_places = describe_unmet_places(goals, can_do, asked.hours_limit)
    missing = sum(row.missing for row in unmet) + sum(row.missing for row in unmet_places)
    is_beyond = goals.tolerance is not None and any(goal.beyond for goal in goals.counts)
    status: PlanStatus = "nothing-to-do"
    if answer.missing_bound or is_beyond:
        status = "unreachable"
    elif has_work:
        status = "optimal" if answer.is_proved else "feasible"
    minutes, _, cents, _ = team.get_aims(plan)
    loads = [team.get_minutes(person_id, operators) for person_id, operators in plan.items()]
    learners = describe_learners(team, plan, dated)
    finished_on = max((row.finished_on for row in learners), default=None)
    lines = describe_lines(rules, team, goals, plan, dated)
    ceilings = describe_ceilings(goals, can_do)
    return CrossTrainingResult(
        team=presence.team,
        on=presence.on,
        away=presence.away,
        hours_limit=asked.hours_limit,
        tolerance=goals.tolerance,
        holes=holes,
        exclude_people=tuple(sorted(asked.exclude_people)),
        exclude_courses=tuple(sorted(asked.exclude_courses)),
        by=asked.by,
        fair=asked.is_fair,
        with_coach=asked.with_coach,
        lending_teams=tuple(dict.fromkeys(asked.lending_teams)),
        status=status,
        is_proved=answer.is_proved,
        learner_count=len(learners),
        study_hours=sum(loads) / 60,
        coach_hours=(minutes - sum(loads)) / 60,
        total_hours=minutes / 60,
        cost=cents / 100,
        lower_bound=answer.minutes_bound / 60,
        missing=missing,
        plan=lines,
        learners=learners,
        unmet=unmet,
        unmet_places=unmet_places,
        largest_load=max(loads, default=0) / 60,
        timetable=dated.months,
        courses=dated.courses,
        finished_on=finished_on,
        after_on=max([finished_on or presence.on, *(seat.ends_on for seat in booked)]),
        release_conflicts=dated.conflicts,
        ceilings=ceilings,
        booked=booked,
        remarks=tuple([row.reason for row in ceilings]),
    )
