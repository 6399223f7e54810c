"""A move into a role from a profile: its preparation, and whether that is within reach. Pure.

The preparation is the learning path to the entry levels of the blocking and essential requirements. The limits are
those of the person who asks; they are guards against leaps, not rules of law.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Final, Literal

from ontology.analysis.engine.solver import Deadline
from ontology.analysis.paths.catalogue import (
    Catalogue,
    Fact,
    Stage,
    build_catalogue,
    get_whole_minutes,
)
from ontology.analysis.paths.pace import compute_months
from ontology.analysis.paths.planner import Plan, PlanMemory
from ontology.analysis.profiles.gap import Standing, get_standing
from ontology.analysis.profiles.profile import Profile, add_what_it_hangs_on, count_levels
from ontology.analysis.routes.joint_solver import JointSolver
from ontology.analysis.routes.level_facts import LevelFacts
from ontology.analysis.routes.route_landmarks import Landmark, LandmarkBook
from ontology.analysis.routes.route_reach import Reach
from ontology.errors import InputError
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "LEVEL_LIMIT",
    "PREPARATION_LIMIT",
    "BrokenLimit",
    "MoveCosts",
    "ReachableRole",
    "ReachableRolesResult",
    "find_broken_limits",
    "find_reachable_roles",
    "get_entry_levels",
    "grow",
    "require_limits",
]

#: Hours that the preparation of one move may take, unless another limit is asked for.
PREPARATION_LIMIT: Final = 200.0
#: Levels that a requirement may lie above the profile when the preparation starts.
LEVEL_LIMIT: Final = 2


@dataclass(frozen=True, slots=True)
class BrokenLimit:
    """A limit that a move breaks.

    "preparation": `allowed` and `needed` are hours. "level": they are steps above the profile, for `competency`.
    """

    limit: Annotated[Literal["preparation", "level"], "Which."]
    competency: Annotated[str | None, "Whose level is too far above the profile."]
    allowed: Annotated[float, "Hours, or levels."]
    needed: Annotated[float, "Hours, or levels."]


@dataclass(frozen=True, slots=True)
class ReachableRole:
    """A role seen from a profile; `study_hours` and `months` are None where no courses reach its entry levels.

    `months` is the calendar time of the preparation; None too where no hours a week are free for study.
    """

    id: Annotated[str, "Id of the role."]
    label: Annotated[str, "Its label."]
    study_hours: Annotated[float | None, "Hours of the preparation; null where no courses reach it."]
    months: Annotated[float | None, "Calendar time of the preparation."]
    within_reach: Annotated[bool, "Whether the move breaks no limit."]
    broken_limits: Annotated[tuple[BrokenLimit, ...], "The limits it breaks."]
    standing: Annotated[Standing, "What is met today."]


@dataclass(frozen=True, slots=True)
class ReachableRolesResult:
    """Every other role with requirements: those within reach first, then by study hours (None last), then by id.

    `status` is "feasible" when the time limit struck: then some hours are the best found, not the least.
    """

    status: Annotated[
        Literal["optimal", "feasible"],
        "optimal: proved for these entries; feasible: the best found when the time limit struck.",
    ]
    roles: Annotated[tuple[ReachableRole, ...], "Those within reach first."]
    remarks: Annotated[tuple[str, ...], "What else should be known."] = ()


def require_limits(preparation_limit: float, level_limit: int) -> None:
    """Raise InputError unless both limits are at least 0."""
    if not preparation_limit >= 0:
        raise InputError(
            f"The preparation limit is hours, 0 or more, not {preparation_limit}.", parameter="preparation_limit"
        )
    if level_limit < 0:
        raise InputError(
            f"The level limit is a number of levels, 0 or more, not {level_limit}.", parameter="level_limit"
        )


def get_entry_levels(snapshot: Snapshot, role_id: str) -> dict[str, int]:
    """Return competency id -> entry level of a role's blocking and essential requirements, by id."""
    asked = {r.competency: r.entry_level for r in snapshot.get_requirements(role_id) if r.necessity != "desirable"}
    return add_what_it_hangs_on(snapshot, asked)


def grow(snapshot: Snapshot, levels: Mapping[str, int], role_id: str) -> dict[str, int]:
    """Return the levels after `months_to_full` in a role: what is learned on the job is at full level.

    Expected, to be confirmed by assessment. Certificates never come by time, and no level falls.
    """
    grown = dict(levels)
    for requirement in snapshot.get_requirements(role_id):
        if snapshot.is_learned_on_job(requirement):
            grown[requirement.competency] = max(grown.get(requirement.competency, 0), requirement.level)
    return grown


def find_level_breaks(
    snapshot: Snapshot, levels: Mapping[str, int], role_id: str, level_limit: int
) -> tuple[BrokenLimit, ...]:
    """Return the entry levels (certificates apart) more than the level limit above the levels, by competency id."""
    return tuple(
        BrokenLimit("level", i, level_limit, entry - levels.get(i, 0))
        for i, entry in get_entry_levels(snapshot, role_id).items()
        if entry - levels.get(i, 0) > level_limit and not snapshot.competencies[i].is_certificate
    )


def find_broken_limits(
    snapshot: Snapshot,
    levels: Mapping[str, int],
    role_id: str,
    study_minutes: int | None,
    preparation_limit: float,
    level_limit: int,
) -> tuple[BrokenLimit, ...]:
    """Return the limits that a move breaks: the preparation first, then levels by competency id.

    Where no courses reach the entry levels (`study_minutes` None) only levels are judged.
    """
    most = get_whole_minutes(preparation_limit)
    broken = find_level_breaks(snapshot, levels, role_id, level_limit)
    if study_minutes is not None and most is not None and study_minutes > most:
        return (BrokenLimit("preparation", None, preparation_limit, study_minutes / 60), *broken)
    return broken


@dataclass(frozen=True, slots=True)
class _Shared:
    """What is known of a catalogue, whoever asks."""

    facts: LevelFacts
    landmarks: LandmarkBook
    memory: PlanMemory


def _build_shared(snapshot: Snapshot, catalogue: Catalogue) -> _Shared:
    entries = [fact for role_id in snapshot.roles for fact in get_entry_levels(snapshot, role_id).items()]
    facts = LevelFacts(catalogue, entries)
    return _Shared(facts, LandmarkBook(catalogue, facts), PlanMemory())


def _get_shared(snapshot: Snapshot, catalogue: Catalogue) -> _Shared:
    """Return what serves all profiles with nothing to renew: they share one catalogue."""
    return snapshot.keep("plans of moves", lambda: _build_shared(snapshot, catalogue))


class MoveCosts:
    """Least study minutes of single moves, whatever the limits; each question is solved once.

    Parameters
    ----------
    profile : Profile
        Its renewals decide which courses are of use; levels are given with each question.
    deadline : Deadline
        After it answers are best-found.
    """

    def __init__(self, snapshot: Snapshot, profile: Profile, deadline: Deadline) -> None:
        self.snapshot = snapshot
        self.catalogue: Catalogue = build_catalogue(snapshot, profile)
        shared = _build_shared(snapshot, self.catalogue) if profile.renewable else _get_shared(snapshot, self.catalogue)
        self.facts = shared.facts
        self.landmarks = shared.landmarks
        self.joint = JointSolver(self.catalogue, shared.facts, shared.landmarks, deadline, shared.memory)
        self._entries: dict[str, dict[str, int]] = {}
        self._scopes: dict[str, tuple[Fact, ...]] = {}
        self._plans: dict[tuple[str, tuple[int, ...]], Plan | None] = {}
        self._reach = Reach(self.catalogue)
        self._last_reached: tuple[dict[str, int], dict[str, int]] = ({}, self._reach.start({}))

    def get_entry_levels(self, role_id: str) -> dict[str, int]:
        """Return competency id -> entry level of the role."""
        if role_id not in self._entries:
            self._entries[role_id] = get_entry_levels(self.snapshot, role_id)
        return self._entries[role_id]

    def get_scope(self, role_id: str) -> tuple[Fact, ...]:
        """Return the competencies that can matter for the role's entry, each with the highest level that does."""
        if role_id not in self._scopes:
            highest: dict[str, int] = {}
            stack = list(self.get_entry_levels(role_id).items())
            while stack:
                competency_id, level = stack.pop()
                if level <= highest.get(competency_id, 0):
                    continue
                highest[competency_id] = level
                for _, offer in self.catalogue.by_competency.get(competency_id, ()):
                    stack.extend(offer.conditions)
            self._scopes[role_id] = tuple(sorted(highest.items()))
        return self._scopes[role_id]

    def get_landmarks(self, levels: Mapping[str, int], role_id: str) -> tuple[Landmark, ...]:
        """Return the landmarks of the role's entry levels from these levels."""
        return self.landmarks.find(levels, self.get_entry_levels(role_id).items())

    def find_plan(self, levels: Mapping[str, int], role_id: str) -> Plan | None:
        """Return the cheapest preparation from these levels; None where no courses reach the entry levels."""
        key = (role_id, tuple(min(levels.get(i, 0), highest) for i, highest in self.get_scope(role_id)))
        if key not in self._plans:
            self._plans[key] = self._solve(levels, role_id)
        return self._plans[key]

    def _get_reached(self, levels: Mapping[str, int]) -> dict[str, int]:
        """Return what all courses reach; many roles are asked about from the same levels, one after the other."""
        if self._last_reached[0] != levels:
            self._last_reached = (dict(levels), self._reach.start(levels))
        return self._last_reached[1]

    def _solve(self, levels: Mapping[str, int], role_id: str) -> Plan | None:
        goals = frozenset((i, level) for i, level in self.get_entry_levels(role_id).items() if level > levels.get(i, 0))
        if goals:
            reached = self._get_reached(levels)
            if any(level > reached.get(i, 0) for i, level in goals):
                return None
        return self.joint.solve([Stage(levels, goals)])


def find_reachable_roles(
    snapshot: Snapshot,
    profile: Profile,
    *,
    preparation_limit: float = PREPARATION_LIMIT,
    level_limit: int = LEVEL_LIMIT,
    time_limit_s: float | None = None,
) -> ReachableRolesResult:
    """Return every role but the present one and those without requirements, with what the move into it takes.

    Parameters
    ----------
    preparation_limit : float
        Hours; infinite for none.
    level_limit : int
        Levels that an entry level may lie above the profile, certificates apart.
    time_limit_s : float or None
        Seconds for all roles together.

    Returns
    -------
    ReachableRolesResult

    Raises
    ------
    InputError
        A limit is below 0.

    Notes
    -----
    One small learning path for each role; NP-hard in general, milliseconds in practice.
    """
    require_limits(preparation_limit, level_limit)
    costs = MoveCosts(snapshot, profile, Deadline(time_limit_s))
    rows: list[ReachableRole] = []
    is_proved = True
    for role in snapshot.roles.values():
        requirements = snapshot.get_requirements(role.id)
        if role.id == profile.role or not requirements:
            continue
        plan = costs.find_plan(profile.levels, role.id)
        minutes = None if plan is None else plan.value
        is_proved = is_proved and (plan is None or plan.is_proved)
        broken = find_broken_limits(snapshot, profile.levels, role.id, minutes, preparation_limit, level_limit)
        rows.append(
            ReachableRole(
                id=role.id,
                label=role.label,
                study_hours=None if minutes is None else minutes / 60,
                months=None if minutes is None else compute_months(minutes, profile.study_hours_per_week),
                within_reach=minutes is not None and not broken,
                broken_limits=broken,
                standing=get_standing(requirements, count_levels(snapshot, profile.levels)),
            )
        )
    rows.sort(key=lambda row: (not row.within_reach, row.study_hours is None, row.study_hours or 0.0, row.id))
    return ReachableRolesResult("optimal" if is_proved else "feasible", tuple(rows))
