"""Job rotation: who holds which place when, who learns beside whom, so that every place is always filled. Pure.

May import rotation_asked, rotation_setting, rotation_search, rotation_problem and rotation_reasons. Someone able
holds every slot of every place in every interval; a learner is an extra beside one holder, who holds that place alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Literal

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.rotation.rotation_asked import RotationAsked
from ontology.analysis.rotation.rotation_problem import Plan, iterate_stays
from ontology.analysis.rotation.rotation_reasons import RotationReason, describe_reasons
from ontology.analysis.rotation.rotation_search import RotationOutcome, solve_rotation
from ontology.analysis.rotation.rotation_setting import RotationSetting, build_setting
from ontology.model.identity import PeopleShort, PersonId
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "RotationInterval",
    "RotationLearner",
    "RotationPerson",
    "RotationPractice",
    "RotationResult",
    "RotationRow",
    "plan_rotation",
]


@dataclass(frozen=True, slots=True)
class RotationInterval:
    """An interval by number, from 1; first and last day count."""

    number: Annotated[int, "From 1."]
    start: Annotated[date, "Its first day."]
    end: Annotated[date, "Its last day."]


@dataclass(frozen=True, slots=True)
class RotationRow:
    """One slot of a place in one interval: who holds it and who learns beside them (nobody or one)."""

    interval: Annotated[int, "Number of the interval."]
    start: Annotated[date, "Its first day."]
    end: Annotated[date, "Its last day."]
    place: Annotated[str, "Id of the place."]
    role: Annotated[str, "Id of its role."]
    shift: Annotated[str | None, "The shift; null for the team."]
    slot: Annotated[int, "Which of the place's posts, from 1."]
    person: Annotated[PersonId, "Id of who holds it, and no other place in this interval."]
    learners: Annotated[tuple[PersonId, ...], "Who learns beside them: nobody or one."]


@dataclass(frozen=True, slots=True)
class RotationPractice:
    """In how many intervals someone holds a place of a role; `wanted` 0 where nothing was asked for."""

    role: Annotated[str, "Id of the role."]
    wanted: Annotated[int, "Intervals wanted; 0 where nothing is."]
    held: Annotated[int, "Intervals held."]


@dataclass(frozen=True, slots=True)
class RotationPerson:
    """What the plan means for one person."""

    person: Annotated[PersonId, "Id of the person."]
    places: Annotated[tuple[str, ...], "Places held, in the order of the first time."]
    intervals_held: Annotated[int, "Intervals in which they hold a place."]
    intervals_learning: Annotated[int, "Intervals in which they learn beside a holder."]
    strain: Annotated[int, "Strain of the places held or learned, summed over intervals."]
    moves: Annotated[int, "Stays that begin after the first interval."]
    not_there: Annotated[tuple[int, ...], "Numbers of the intervals in which they are not there on all days."]
    practice: Annotated[tuple[RotationPractice, ...], "By role."]


@dataclass(frozen=True, slots=True)
class RotationLearner:
    """Who learns which place, in how many intervals beside a holder, and beside whom."""

    person: Annotated[PersonId, "Id of the person."]
    place: Annotated[str, "Id of the place."]
    wanted: Annotated[int, "Intervals beside a holder that are wanted."]
    intervals: Annotated[tuple[int, ...], "Numbers of the intervals planned."]
    beside: Annotated[tuple[PersonId, ...], "Who they learn beside, in order."]


@dataclass(frozen=True, slots=True)
class RotationResult:
    """A rotation, or why there is none.

    `status`: optimal (proved), feasible (best when the time limit struck), infeasible (`reasons` say why), unknown (the
    time limit struck before a plan was found), nothing-to-do (no places). `moves` and `lower_bound` count stays that
    begin after the first interval; `largest_strain` is the most that one person carries.
    """

    team: Annotated[str, "The team."]
    on: Annotated[date, "The day asked about."]
    purpose: Annotated[str, "What for."]
    away: Annotated[tuple[PersonId, ...], "People taken as absent because the question said so."]
    start: Annotated[date, "First day of the period."]
    end: Annotated[date, "Last day of the period."]
    interval_weeks: Annotated[int, "Weeks of an interval."]
    minimum_stay: Annotated[int, "Intervals someone stays at a place at the least."]
    maximum_stay: Annotated[int | None, "And at the most; null where there is no limit."]
    status: Annotated[
        Literal["optimal", "feasible", "infeasible", "unknown", "nothing-to-do"],
        "optimal: proved; feasible: the best when the time limit struck; infeasible: see reasons; "
        "unknown: the time limit struck before a plan was found; nothing-to-do: the team has no "
        "places.",
    ]
    moves: Annotated[int | None, "Stays that begin after the first interval; null without a plan."]
    lower_bound: Annotated[int, "No plan with this largest strain has fewer moves."]
    largest_strain: Annotated[PeopleShort | None, "The most strain that one person carries; null without a plan."]
    strain_lower_bound: Annotated[PeopleShort, "For relieve-strain: in no plan it is less."]
    intervals: Annotated[tuple[RotationInterval, ...], "The period."]
    rows: Annotated[tuple[RotationRow, ...], "By interval, place and slot."]
    people: Annotated[tuple[RotationPerson, ...], "By id."]
    learners: Annotated[tuple[RotationLearner, ...], "By id."]
    reasons: Annotated[tuple[RotationReason, ...], "Why there is no rotation."]
    remarks: Annotated[tuple[str, ...], "What was taken for granted."]


def plan_rotation(
    snapshot: Snapshot, team_id: str, asked: RotationAsked, *, time_limit_s: float | None = None
) -> RotationResult:
    """Return a rotation of a team's people through its places.

    Parameters
    ----------
    time_limit_s : float or None
        Seconds; None means no limit.

    Returns
    -------
    RotationResult
        Least in this order: the largest sum of strain (for the purpose relieve-strain only), moves, intervals of
        learning beyond what is wanted.

    Raises
    ------
    UnknownIdError
        There is no such team or person.
    InputError
        What is asked contradicts itself or the team, or is too large.

    Notes
    -----
    A mixed-integer program over people, places and intervals.
    """
    deadline = Deadline(time_limit_s)
    setting = build_setting(snapshot, team_id, asked)
    outcome = solve_rotation(setting.problem, deadline)
    status: Literal["optimal", "feasible", "infeasible", "unknown", "nothing-to-do"] = outcome.status
    if not any(setting.problem.slots):
        status = "nothing-to-do"
    reasons = describe_reasons(setting, deadline) if status == "infeasible" else ()
    plan, measures = outcome.plan, outcome.measures
    rows = tuple(_iterate_rows(setting, plan)) if plan else ()
    return RotationResult(
        team=team_id,
        on=asked.on,
        purpose=asked.purpose,
        away=tuple(sorted(asked.away)),
        start=setting.dates[0][0],
        end=setting.dates[-1][1],
        interval_weeks=asked.interval_weeks,
        minimum_stay=asked.minimum_stay,
        maximum_stay=asked.maximum_stay,
        status=status,
        moves=measures.moves if measures else None,
        lower_bound=outcome.moves_bound,
        largest_strain=measures.largest_strain if measures else None,
        strain_lower_bound=outcome.strain_bound,
        intervals=tuple(RotationInterval(t + 1, *days) for t, days in enumerate(setting.dates)),
        rows=rows,
        people=_get_people(setting, plan) if plan else (),
        learners=_get_learners(setting, outcome, rows),
        reasons=reasons,
        remarks=setting.remarks,
    )


def _iterate_rows(setting: RotationSetting, plan: Plan) -> Iterator[RotationRow]:
    """Yield the rows by interval, place and slot; who stays keeps the slot, a learner the holder, where possible."""
    slots: dict[int, list[int]] = {place: [-1] * count for place, count in enumerate(setting.problem.slots)}
    beside: dict[int, int] = {}  # learner -> holder
    for t, (start, end) in enumerate(setting.dates):
        now: dict[int, int] = {}
        for place, record in enumerate(setting.places):
            holders = [person for person, row in enumerate(plan.held) if row[t] == place]
            slots[place] = _keep_order(slots[place], holders)
            learners = [
                person
                for person, row in enumerate(plan.learning)
                if row[t] >= 0 and setting.problem.goals[row[t]].place == place
            ]
            pairs = _pair(learners, slots[place], beside)
            now.update({learner: holder for holder, learner in pairs.items()})
            for number, holder in enumerate(slots[place]):
                yield RotationRow(
                    interval=t + 1,
                    start=start,
                    end=end,
                    place=record.id,
                    role=record.role,
                    shift=record.shift or None,
                    slot=number + 1,
                    person=setting.people[holder].id,
                    learners=(setting.people[pairs[holder]].id,) if holder in pairs else (),
                )
        beside = now


def _keep_order(before: list[int], holders: list[int]) -> list[int]:
    """Return the holders, those who held before on their old position, the others in order on what is left."""
    fresh = iter([person for person in holders if person not in before])
    return [person if person in holders else next(fresh) for person in before]


def _pair(learners: list[int], holders: list[int], beside: dict[int, int]) -> dict[int, int]:
    """Return holder -> learner, one each; a learner stays with the holder of the interval before where possible."""
    pairs: dict[int, int] = {}
    for learner in learners:
        if beside.get(learner, -1) in holders:
            pairs.setdefault(beside[learner], learner)
    settled = set(pairs.values())
    free = iter([holder for holder in holders if holder not in pairs])
    for learner in learners:
        if learner not in settled:
            pairs[next(free)] = learner
    return pairs


def _get_people(setting: RotationSetting, plan: Plan) -> tuple[RotationPerson, ...]:
    problem = setting.problem
    stays = list(iterate_stays(problem, plan))
    everything = frozenset(range(problem.intervals))
    found = []
    for number, person in enumerate(setting.people):
        own = [stay for stay in stays if stay.person == number]
        held = sorted((stay for stay in own if stay.goal < 0), key=lambda stay: stay.first)
        practised: dict[str, int] = {}
        for stay in held:
            role = setting.places[stay.place].role
            practised[role] = practised.get(role, 0) + stay.length
        wanted = {
            setting.places[practice.places[0]].role: practice.wanted
            for practice in problem.practices
            if practice.person == number
        }
        found.append(
            RotationPerson(
                person=person.id,
                places=tuple(dict.fromkeys(setting.places[stay.place].id for stay in held)),
                intervals_held=sum(stay.length for stay in held),
                intervals_learning=sum(stay.length for stay in own if stay.goal >= 0),
                strain=sum(problem.strain[stay.place] * stay.length for stay in own),
                moves=sum(stay.first > 0 for stay in own),
                not_there=tuple(t + 1 for t in sorted(everything - setting.abilities.there[number])),
                practice=tuple(
                    RotationPractice(role, wanted.get(role, 0), practised.get(role, 0))
                    for role in sorted({*wanted, *practised})
                ),
            )
        )
    return tuple(found)


def _get_learners(
    setting: RotationSetting, outcome: RotationOutcome, rows: tuple[RotationRow, ...]
) -> tuple[RotationLearner, ...]:
    found = []
    for goal in setting.problem.goals:
        person, place = setting.people[goal.person].id, setting.places[goal.place].id
        own = [row for row in rows if row.place == place and person in row.learners]
        found.append(
            RotationLearner(
                person=person,
                place=place,
                wanted=goal.wanted,
                intervals=tuple(row.interval for row in own),
                beside=tuple(dict.fromkeys(row.person for row in own)),
            )
        )
    return tuple(found)
