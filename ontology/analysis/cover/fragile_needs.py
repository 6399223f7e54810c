"""Needs in the order of how fragile they are: criticality, chance of cover, distance of the next best person. Pure.

May import coverage, chance, nearest, levels and presence. A ranking of needs, never of people.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Final, Literal

from ontology.analysis.cover.chance import compute_chance_of_cover
from ontology.analysis.cover.coverage import CoverState, NeedScope, build_need_scopes
from ontology.analysis.cover.nearest import PathFinder, can_end
from ontology.analysis.cover.presence import Presence, get_presence
from ontology.analysis.profiles.levels import get_level
from ontology.errors import InputError
from ontology.model.identity import PeopleTogether, PersonId, TellsOf
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "ORDERS",
    "FragileNeed",
    "FragileNeedsResult",
    "NeedOrder",
    "NextBest",
    "compute_fragile_needs",
    "require_absence_rate",
]

NeedOrder = Literal["criticality", "chance", "distance"]
ORDERS: Final[tuple[NeedOrder, ...]] = ("criticality", "chance", "distance")

_WORDS: Final = {
    "criticality": "the higher criticality",
    "chance": "the smaller chance of cover (without an absence rate: the fewer people above the minimum)",
    "distance": "the farther next best person (nobody who could learn it counts as farthest, nobody left as nearest)",
}
_NOBODY_LEFT: Final = "Everyone who could count for it is qualified already."


@dataclass(frozen=True, slots=True)
class NextBest:
    """The least hours in which one more person could count for a need, and by which courses.

    Whoever leaves before the courses would end is not counted on. `have` is None where the person was never assessed
    (`source` and `assessed_on` too): the first act is to assess.
    `status` is "optimal" or "feasible" as of a learning path.
    """

    person: Annotated[PersonId, "Id of the person."]
    have: Annotated[int | None, "Level held; null where never assessed: assess first."]
    source: Annotated[str | None, "Who assessed it."]
    assessed_on: Annotated[date | None, "The day it was assessed."]
    study_hours: Annotated[float, "Hours of the learning path."]
    status: Annotated[str, "optimal: proved; feasible: the best found when the time limit struck."]
    courses: Annotated[tuple[str, ...], "The courses, in order."]


@dataclass(frozen=True, slots=True)
class FragileNeed:
    """A need where it counts; `chance` is that of at least `minimum` of the `depth` people being there, or None.

    `next_best` is None with the `reason` where no one else could come to count.
    """

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level needed."]
    applies: Annotated[str, "team, each-shift, or the id of one shift."]
    shift: Annotated[str | None, "Where it counts; null for the team."]
    criticality: Annotated[int, "1..5; 5 = life, law or supply within hours."]
    minimum: Annotated[int, "People present at the least."]
    target: Annotated[int, "People qualified."]
    depth: Annotated[PeopleTogether, "Members present at or above the level."]
    state: Annotated[CoverState, "How it stands."]
    chance: Annotated[
        float | None, TellsOf("depth"), "Chance 0..1 that the minimum of them is there; null without an absence rate."
    ]
    next_best: Annotated[NextBest | None, "One person more."]
    reason: Annotated[str | None, "Why there is none."]


@dataclass(frozen=True, slots=True)
class FragileNeedsResult:
    """A team's needs, the most fragile first; `order_rule` tells the order in words.

    `status` is "optimal" where every learning path is proved, "feasible" where the time limit struck.
    """

    team: Annotated[str, "The team."]
    on: Annotated[date, "The day asked about."]
    away: Annotated[tuple[PersonId, ...], "People taken as absent because the question said so."]
    absence_rate: Annotated[float | None, "One rate for the team; null where there is none."]
    order_by: Annotated[NeedOrder, "What comes first."]
    order_rule: Annotated[str, "The order in words."]
    status: Annotated[
        Literal["optimal", "feasible"],
        "optimal: every learning path is proved; feasible: the time limit struck, better ones may be found.",
    ]
    needs: Annotated[tuple[FragileNeed, ...], "The most fragile first."]
    remarks: Annotated[tuple[str, ...], "What else should be known."]


def require_absence_rate(rate: float | None) -> None:
    """Raise InputError where a rate is none."""
    if rate is not None and not 0.0 <= rate <= 1.0:
        raise InputError("An absence rate must lie between 0 and 1.", parameter="absence_rate", value=rate)


def compute_fragile_needs(
    snapshot: Snapshot,
    team_id: str,
    on: date,
    *,
    away: frozenset[PersonId] = frozenset(),
    absence_rate: float | None = None,
    order_by: NeedOrder = "criticality",
    time_limit_s: float | None = None,
) -> FragileNeedsResult:
    """Return a team's needs with their chance of cover and their next best person, the most fragile first.

    Parameters
    ----------
    away : frozenset of str
        People taken as absent on top of the recorded absences.
    absence_rate : float or None
        Chance of each who is there by the plan to be absent all the same: one figure for the team, never a person's
        own. The team's where left out; without either the chance is None.
    order_by : {"criticality", "chance", "distance"}
        What comes first; the other two follow in this order, then competency, level and shift.
    time_limit_s : float or None
        Seconds for all learning paths together; afterwards each is the best found at once.

    Returns
    -------
    FragileNeedsResult

    Raises
    ------
    UnknownIdError
        There is no such team, or `away` names someone who does not exist.
    InputError
        The rate lies outside 0..1, or the order is none of the three.

    Notes
    -----
    Recorded absences are certain and everyone else is absent independently: the Poisson-binomial chance is that of a
    k-out-of-n system. One learning path for each way of standing towards a need.
    """
    require_absence_rate(absence_rate)
    if order_by not in ORDERS:
        raise InputError(
            f"Needs are ordered by {', '.join(ORDERS)}, not by {order_by!r}.", parameter="order_by", value=order_by
        )
    presence = get_presence(snapshot, team_id, on, away)
    rate = snapshot.teams[team_id].absence_rate if absence_rate is None else absence_rate
    finder = PathFinder(snapshot, time_limit_s)
    needs = [_build(presence, finder, scope, rate) for scope in build_need_scopes(presence)]
    order = (order_by, *(name for name in ORDERS if name != order_by))
    remarks = ["The team has no absence rate and none was given: no chance of cover is told."] if rate is None else []
    remarks += [
        f"{need.competency} at level {need.level} is needed in each shift, but the team has no shifts."
        for need in needs
        if need.applies == "each-shift" and need.shift is None
    ]
    return FragileNeedsResult(
        team=team_id,
        on=on,
        away=presence.away,
        absence_rate=rate,
        order_by=order_by,
        order_rule="First " + "; then ".join(_WORDS[name] for name in order) + "; then by competency, level and shift.",
        status=finder.status,
        needs=tuple(sorted(needs, key=lambda need: _get_key(need, order))),
        remarks=tuple(remarks),
    )


def _build(presence: Presence, finder: PathFinder, scope: NeedScope, rate: float | None) -> FragileNeed:
    need = scope.need
    next_best, reason = _find_next_best(presence, finder, scope)
    return FragileNeed(
        competency=need.competency,
        level=need.level,
        applies=need.applies,
        shift=scope.shift,
        criticality=need.criticality,
        minimum=need.minimum,
        target=need.target,
        depth=scope.depth,
        state=scope.state,
        chance=None if rate is None else compute_chance_of_cover(scope.depth, need.minimum, rate),
        next_best=next_best,
        reason=reason,
    )


def _find_next_best(presence: Presence, finder: PathFinder, scope: NeedScope) -> tuple[NextBest | None, str | None]:
    snapshot, need = presence.snapshot, scope.need
    people = [
        person.id
        for person in (presence.get_scope(scope.shift) if scope.has_scope else ())
        if person.id not in scope.qualified and person.id not in presence.away
    ]
    if not people:
        return None, _NOBODY_LEFT if scope.qualified else "Nobody belongs to where it counts."
    best: tuple[float, str] | None = None
    reason = None
    for person_id in people:
        path = finder.find(finder.build_profile(person_id, presence.on, need.competency), need.competency, need.level)
        if path.status == "unreachable":
            reason = reason or path.unreachable[0].reason
        elif not can_end(snapshot, person_id, (course.id for course in path.courses), presence.on):
            reason = reason or "Who could learn it leaves the team before the courses would end."
        elif best is None or (path.study_hours, person_id) < best:
            best = path.study_hours, person_id
    if best is None:
        return None, reason
    person_id = best[1]
    path = finder.find(finder.build_profile(person_id, presence.on, need.competency), need.competency, need.level)
    known = get_level(snapshot, person_id, snapshot.competencies[need.competency], presence.on)
    basis = known.basis
    return NextBest(
        person=person_id,
        have=known.level,
        source=basis.source if basis else None,
        assessed_on=basis.date if basis else None,
        study_hours=path.study_hours,
        status=path.status,
        courses=tuple(course.id for course in path.courses),
    ), None


def _get_key(need: FragileNeed, order: tuple[NeedOrder, ...]) -> tuple[object, ...]:
    return (*(_KEYS[name](need) for name in order), need.competency, need.level, need.shift or "", need.applies)


def _get_chance_key(need: FragileNeed) -> float:
    return need.depth - need.minimum if need.chance is None else need.chance


def _get_distance_key(need: FragileNeed) -> float:
    if need.next_best is not None:
        return -need.next_best.study_hours
    return math.inf if need.reason == _NOBODY_LEFT else -math.inf


_KEYS: Final[dict[NeedOrder, Callable[[FragileNeed], float]]] = {
    "criticality": lambda need: -need.criticality,
    "chance": _get_chance_key,
    "distance": _get_distance_key,
}
