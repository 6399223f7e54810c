"""What is asked of one state on a day to compare it with another; kept with the Snapshot, and asked once. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from ontology.analysis.cover.presence import is_employed
from ontology.analysis.effect.relevant import Relevant, find_relevant
from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.paths.learning_path import find_learning_path, get_targets
from ontology.analysis.paths.path_results import LearningPathResult
from ontology.analysis.paths.person_path import find_person_path
from ontology.analysis.profiles.belonging import get_person_on
from ontology.analysis.profiles.gap import Standing, compute_gap
from ontology.analysis.profiles.profile import Profile, build_profile
from ontology.snapshot.snapshot import Snapshot

__all__ = ["NOBODY", "PathValue", "Stand", "Values", "get_values"]

#: Who starts from nothing.
NOBODY: Final = ""
_DAYS_KEPT: Final = 4


@dataclass(frozen=True, slots=True)
class Stand:
    """Readiness and standing of someone for a role; of a role that is not there there is neither."""

    readiness: float | None
    standing: Standing


@dataclass(frozen=True, slots=True)
class PathValue:
    """What a learning path to a role takes, and whether it leads to all its targets; `courses` of the path."""

    study_hours: float
    is_possible: bool
    courses: frozenset[str]


_NO_STAND: Final = Stand(None, "none")


class Values:
    """Readiness, paths and what matters for them, of one state on one day. It does not hold the Snapshot."""

    def __init__(self, snapshot: Snapshot, on: date) -> None:
        self.on = on
        #: Who is employed that day, by id.
        self.employed = tuple(person.id for person in snapshot.people.values() if is_employed(person, on))
        holders: dict[str, list[str]] = {}
        for person_id in self.employed:
            holders.setdefault(get_person_on(snapshot, person_id, on).role, []).append(person_id)
        self._holders = {role: tuple(people) for role, people in holders.items() if role}
        self._stands: dict[tuple[str, str], Stand] = {}
        self._paths: dict[tuple[str, str], PathValue] = {}
        self._relevant: dict[tuple[str, str], Relevant] = {}
        self._profiles: dict[str, Mapping[str, int]] = {NOBODY: {}}

    def get_holders(self, role_id: str) -> tuple[str, ...]:
        """Return who of those employed has a role that day, by id."""
        return self._holders.get(role_id, ())

    def get_stand(self, snapshot: Snapshot, person_id: str, role_id: str) -> Stand:
        """Return readiness and standing of someone for a role."""
        known = self._stands.get((role_id, person_id))
        if known is None:
            known = _NO_STAND
            if role_id in snapshot.roles:
                gap = compute_gap(snapshot, role_id, person_id=person_id, on=self.on)
                known = Stand(gap.readiness, gap.standing)
            self._stands[role_id, person_id] = known
        return known

    def get_path(self, snapshot: Snapshot, person_id: str, role_id: str, deadline: Deadline) -> PathValue | None:
        """Return what the path of someone, or from nothing, to the full levels of a role takes; None: time was up."""
        known = self._paths.get((role_id, person_id))
        if known is None:
            known = _find_path(snapshot, person_id, role_id, self.on, deadline.get_remaining_s())
            if deadline.is_over():
                return None
            self._paths[role_id, person_id] = known
        return known

    def get_relevant(self, snapshot: Snapshot, person_id: str, role_id: str) -> Relevant:
        """Return what can matter for the path of someone, or from nothing, to a role."""
        known = self._relevant.get((role_id, person_id))
        if known is None:
            if person_id not in self._profiles:
                self._profiles[person_id] = build_profile(snapshot, person_id, self.on).levels
            targets = get_targets(snapshot, role_id) if role_id in snapshot.roles else {}
            known = find_relevant(snapshot, self._profiles[person_id], targets)
            self._relevant[role_id, person_id] = known
        return known


def _find_path(snapshot: Snapshot, person_id: str, role_id: str, on: date, time_limit_s: float | None) -> PathValue:
    path: LearningPathResult
    if person_id == NOBODY:
        path = find_learning_path(snapshot, Profile({}, on=on), role_id, time_limit_s=time_limit_s)
    else:
        path = find_person_path(snapshot, person_id, role_id, on, time_limit_s=time_limit_s)
    return PathValue(path.study_hours, path.status != "unreachable", frozenset(path.order))


def get_values(snapshot: Snapshot, on: date) -> Values:
    """Return what was asked of a state on a day; of the last days it is kept."""
    by_day: dict[date, Values] = snapshot.keep("values of days", dict)
    if on not in by_day and len(by_day) >= _DAYS_KEPT:
        by_day.clear()
    known = by_day.get(on)
    return known if known is not None else by_day.setdefault(on, Values(snapshot, on))
