"""Job rotation: who holds which place when, who learns beside whom, so that every place is always filled. Pure.

May import rotation_question, rotation_setting, rotation_search, rotation_problem and rotation_reasons. Someone able
holds every slot of every place in every interval; a learner is an extra beside one holder, who holds that place alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Literal

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.rotation.rotation_problem import Plan, iterate_stays
from ontology.analysis.rotation.rotation_question import RotationQuestion
from ontology.analysis.rotation.rotation_reasons import RotationReason, describe_reasons
from ontology.analysis.rotation.rotation_search import RotationOutcome, solve_rotation
from ontology.analysis.rotation.rotation_setting import RotationSetting, build_setting
from ontology.graph.snapshot import Snapshot

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

    number: int
    start: date
    end: date


@dataclass(frozen=True, slots=True)
class RotationRow:
    """One slot of a place in one interval: who holds it and who learns beside them (nobody or one)."""

    interval: int
    start: date
    end: date
    place: str
    role: str
    shift: str | None
    slot: int
    person: str
    learners: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RotationPractice:
    """In how many intervals someone holds a place of a role; `wanted` 0 where nothing was asked for."""

    role: str
    wanted: int
    held: int


@dataclass(frozen=True, slots=True)
class RotationPerson:
    """What the plan means for one person.

    Attributes
    ----------
    person : str
    places : tuple of str
        Places held, in the order of the first time.
    intervals_held, intervals_learning : int
    strain : int
        Strain of the places held or learned, summed over intervals.
    moves : int
        Stays that begin after the first interval.
    not_there : tuple of int
        Numbers of the intervals in which the person is not there on all days.
    practice : tuple of RotationPractice
        By role.
    """

    person: str
    places: tuple[str, ...]
    intervals_held: int
    intervals_learning: int
    strain: int
    moves: int
    not_there: tuple[int, ...]
    practice: tuple[RotationPractice, ...]


@dataclass(frozen=True, slots=True)
class RotationLearner:
    """Who learns which place, in how many intervals beside a holder, and beside whom."""

    person: str
    place: str
    wanted: int
    intervals: tuple[int, ...]
    beside: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RotationResult:
    """A rotation, or why there is none.

    `status`: optimal (proved), feasible (best when the time limit struck), infeasible (`reasons` say why), unknown (the
    time limit struck before a plan was found), nothing-to-do (no places). `moves` and `lower_bound` count stays that
    begin after the first interval; `largest_strain` is the most that one person carries.
    """

    team: str
    on: date
    purpose: str
    away: tuple[str, ...]
    start: date
    end: date
    interval_weeks: int
    minimum_stay: int
    maximum_stay: int | None
    status: Literal["optimal", "feasible", "infeasible", "unknown", "nothing-to-do"]
    moves: int | None
    lower_bound: int
    largest_strain: int | None
    strain_lower_bound: int
    intervals: tuple[RotationInterval, ...]
    rows: tuple[RotationRow, ...]
    people: tuple[RotationPerson, ...]
    learners: tuple[RotationLearner, ...]
    reasons: tuple[RotationReason, ...]
    remarks: tuple[str, ...]


def plan_rotation(
    snapshot: Snapshot, team_id: str, question: RotationQuestion, *, time_limit_s: float | None = None
) -> RotationResult:
    """Return a rotation of a team's people through its places.

    Parameters
    ----------
    snapshot : Snapshot
    team_id : str
    question : RotationQuestion
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
        The question contradicts itself or the team, or is too large.

    Notes
    -----
    A mixed-integer program over people, places and intervals.
    """
    deadline = Deadline(time_limit_s)
    setting = build_setting(snapshot, team_id, question)
    outcome = solve_rotation(setting.problem, deadline)
    status: Literal["optimal", "feasible", "infeasible", "unknown", "nothing-to-do"] = outcome.status
    if not any(setting.problem.slots):
        status = "nothing-to-do"
    reasons = describe_reasons(setting, deadline) if status == "infeasible" else ()
    plan, measures = outcome.plan, outcome.measures
    rows = tuple(_iterate_rows(setting, plan)) if plan else ()
    return RotationResult(
        team=team_id,
        on=question.on,
        purpose=question.purpose,
        away=tuple(sorted(question.away)),
        start=setting.dates[0][0],
        end=setting.dates[-1][1],
        interval_weeks=question.interval_weeks,
        minimum_stay=question.minimum_stay,
        maximum_stay=question.maximum_stay,
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
