"""What a course, or a level however it is come by, adds to the reach: the roles that come within reach with it. Pure.

A role is gained when its move is not within reach from the profile and is from the profile with what was learned.
The preparation limit is for the move alone; the hours of what it takes are told beside it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Annotated, Final, Literal

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.paths.catalogue import Offer, Stage, get_whole_minutes, take_offers
from ontology.analysis.paths.pace import compute_months
from ontology.analysis.profiles.profile import Profile
from ontology.analysis.routes.joint_solver import ROUTE_AIMS
from ontology.analysis.routes.moves import LEVEL_LIMIT, PREPARATION_LIMIT, MoveCosts, find_level_breaks, require_limits
from ontology.snapshot.snapshot import Snapshot

__all__ = ["GAINS_TOLD", "CourseGain", "GainedRole", "LevelGain", "ReachGainsResult", "find_reach_gains"]


#: Courses and levels named, unless more are asked for.
GAINS_TOLD: Final = 20


@dataclass(frozen=True, slots=True)
class GainedRole:
    """A role that comes within reach; `study_hours` is the preparation still left then, `months` its calendar time."""

    id: Annotated[str, "Id of the role."]
    label: Annotated[str, "Its label."]
    study_hours: Annotated[float, "Preparation still left then."]
    months: Annotated[float | None, "Its calendar time; null where no hours a week are free for study."]


@dataclass(frozen=True, slots=True)
class CourseGain:
    """A course and the roles it brings within reach, at least one of them not by what it needs first alone.

    `courses` holds what it needs first, in order, and itself at the end; `study_hours` and `cost` are of them all.
    """

    id: Annotated[str, "Id of the course."]
    label: Annotated[str, "Its label."]
    study_hours: Annotated[float, "Hours of it and of what it needs first."]
    cost: Annotated[float, "Cost of it and of what it needs first."]
    courses: Annotated[tuple[str, ...], "What it needs first, in order, and itself."]
    gained: Annotated[tuple[GainedRole, ...], "The roles, by preparation left."]


@dataclass(frozen=True, slots=True)
class LevelGain:
    """A level of a competency, however it is come by, and the roles it brings within reach.

    `have` is held now; at the level below `level` fewer roles are within reach.
    """

    competency: Annotated[str, "Id of the competency."]
    label: Annotated[str, "Its label."]
    have: Annotated[int, "The level held."]
    level: Annotated[int, "The level supposed, however it is come by."]
    gained: Annotated[tuple[GainedRole, ...], "The roles, by preparation left."]


@dataclass(frozen=True, slots=True)
class ReachGainsResult:
    """What widens the reach most, in order: roles gained (most first), study hours (courses) or steps (levels), id.

    `within_reach` counts the roles within reach already. `status` is "feasible" when the time limit struck: then
    some gains are missing.
    """

    status: Annotated[
        Literal["optimal", "feasible"],
        "optimal: proved for these entries; feasible: the best found when the time limit struck.",
    ]
    within_reach: Annotated[int, "Roles within reach already."]
    courses: Annotated[tuple[CourseGain, ...], "Courses: most roles first, then least hours."]
    levels: Annotated[tuple[LevelGain, ...], "Levels: most roles first, then fewest steps."]
    remarks: Annotated[tuple[str, ...], "What else should be known."] = ()


def find_reach_gains(
    snapshot: Snapshot,
    profile: Profile,
    *,
    preparation_limit: float = PREPARATION_LIMIT,
    level_limit: int = LEVEL_LIMIT,
    limit: int = GAINS_TOLD,
    time_limit_s: float | None = None,
) -> ReachGainsResult:
    """Return the courses, and the levels, that bring most roles within reach.

    Parameters
    ----------
    preparation_limit : float
        Hours of a move's preparation; infinite for none.
    level_limit : int
        Levels that an entry level may lie above the profile, certificates apart.
    limit : int
        Most courses and most levels to name.
    time_limit_s : float or None
        Seconds for all together.

    Returns
    -------
    ReachGainsResult

    Raises
    ------
    InputError
        A limit is below 0.

    Notes
    -----
    One small learning path for each pair of a course (or level) and a closed role that bounds leave open: a
    preparation falls by no more hours than are spent, so dear moves are not looked at again.
    """
    require_limits(preparation_limit, level_limit)
    return _GainSearch(snapshot, profile, preparation_limit, level_limit, Deadline(time_limit_s)).run(limit)


#: Ties between ways to a course are settled, so that what they teach besides is always the same.


class _GainSearch:
    """The roles that are closed to a profile, and what brings them within reach."""

    def __init__(
        self, snapshot: Snapshot, profile: Profile, preparation_limit: float, level_limit: int, deadline: Deadline
    ) -> None:
        self._snapshot, self._profile, self._deadline = snapshot, profile, deadline
        self._limit_minutes = get_whole_minutes(preparation_limit)
        self._level_limit = level_limit
        self._costs = MoveCosts(snapshot, profile, deadline)
        self._within_reach = 0
        #: role id -> minutes of its preparation now, or None where no courses reach its entry levels
        self._closed: dict[str, int | None] = {}
        self._is_proved = True

    def run(self, limit: int) -> ReachGainsResult:
        self._find_closed()
        courses = [gain for offer in self._costs.catalogue.offers if (gain := self._try_course(offer))]
        levels = self._find_levels()
        courses.sort(key=lambda o: (-len(o.gained), o.study_hours, o.cost, o.id))
        levels.sort(key=lambda o: (-len(o.gained), o.level - o.have, o.competency, o.level))
        is_over = self._deadline.is_over()
        remarks = ["The time limit struck: there may be more."] if is_over else []
        return ReachGainsResult(
            status="feasible" if is_over or not self._is_proved else "optimal",
            within_reach=self._within_reach,
            courses=tuple(courses[:limit]),
            levels=tuple(levels[:limit]),
            remarks=tuple(remarks),
        )

    def _find_closed(self) -> None:
        for role_id in self._snapshot.roles:
            if role_id == self._profile.role or not self._snapshot.get_requirements(role_id):
                continue
            plan = self._costs.find_plan(self._profile.levels, role_id)
            minutes = None if plan is None else plan.value
            self._is_proved = self._is_proved and (plan is None or plan.is_proved)
            if minutes is not None and self._keeps_limits(self._profile.levels, role_id, minutes):
                self._within_reach += 1
            else:
                self._closed[role_id] = minutes

    def _keeps_limits(self, levels: Mapping[str, int], role_id: str, minutes: int) -> bool:
        if self._limit_minutes is not None and minutes > self._limit_minutes:
            return False
        return not find_level_breaks(self._snapshot, levels, role_id, self._level_limit)

    def _try_course(self, offer: Offer) -> CourseGain | None:
        held = self._profile.levels
        if self._deadline.is_over() or all(held.get(i, 0) >= level for i, level in offer.effects):
            return None
        if not self._may_gain(offer):
            return None
        goals = frozenset((i, level) for i, level in offer.conditions if level > held.get(i, 0))
        stages = [Stage(held, goals)]
        plan = self._costs.joint.solve(stages, ROUTE_AIMS)
        if plan is None:
            return None
        first = [before for before, _ in self._costs.joint.arrange(stages, plan.order)]
        taken = [*first, offer]
        minutes = sum(o.minutes for o in taken)
        gained = self._find_gained(take_offers(taken, held), minutes)
        if not gained:
            return None
        if first:
            without = {role.id for role in self._find_gained(take_offers(first, held), minutes)}
            if all(role.id in without for role in gained):
                return None
        return CourseGain(
            id=offer.id,
            label=self._snapshot.courses[offer.id].label,
            study_hours=minutes / 60,
            cost=sum(o.cents for o in taken) / 100,
            courses=tuple(o.id for o in taken),
            gained=gained,
        )

    def _may_gain(self, offer: Offer) -> bool:
        """Whether some effect can matter for the entry of a closed role."""
        taught = {i for i, _ in offer.effects}
        return any(
            competency_id in taught for role_id in self._closed for competency_id, _ in self._costs.get_scope(role_id)
        )

    def _find_levels(self) -> list[LevelGain]:
        """Return for each competency that can matter the levels at which more roles come within reach than below."""
        highest: dict[str, int] = {}
        asking: dict[str, list[str]] = {}
        for role_id in self._closed:
            for competency_id, level in self._costs.get_scope(role_id):
                highest[competency_id] = max(highest.get(competency_id, 0), level)
                asking.setdefault(competency_id, []).append(role_id)
        found: list[LevelGain] = []
        for competency_id, most in sorted(highest.items()):
            have, below = self._profile.levels.get(competency_id, 0), 0
            for level in range(have + 1, most + 1):
                if self._deadline.is_over():
                    return found
                held = {**self._profile.levels, competency_id: level}
                gained = self._find_gained(held, None, asking[competency_id])
                if len(gained) > below:
                    below = len(gained)
                    label = self._snapshot.competencies[competency_id].label
                    found.append(LevelGain(competency_id, label, have, level, gained))
        return found

    def _find_gained(
        self, levels: Mapping[str, int], spent_minutes: int | None, roles: Iterable[str] | None = None
    ) -> tuple[GainedRole, ...]:
        """Return the closed roles whose move is within reach from `levels`, by preparation left, then id."""
        gained = []
        for role_id in self._closed if roles is None else roles:
            before = self._closed[role_id]
            if (
                spent_minutes is not None
                and before is not None
                and self._limit_minutes is not None
                and before - spent_minutes > self._limit_minutes
            ):
                continue
            if find_level_breaks(self._snapshot, levels, role_id, self._level_limit):
                continue
            plan = self._costs.find_plan(levels, role_id)
            if plan is None or plan.value is None or not self._keeps_limits(levels, role_id, plan.value):
                continue
            label = self._snapshot.roles[role_id].label
            months = compute_months(plan.value, self._profile.study_hours_per_week)
            gained.append(GainedRole(role_id, label, plan.value / 60, months))
        return tuple(sorted(gained, key=lambda role: (role.study_hours, role.id)))
