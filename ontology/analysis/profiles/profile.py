"""Levels held at once, as a person has them on a date or a role brings them. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from ontology.analysis.profiles.belonging import get_person_on
from ontology.analysis.profiles.levels import find_known, find_ways
from ontology.analysis.profiles.own_levels import LevelOnDate
from ontology.model.records import Competency, Requirement
from ontology.snapshot.snapshot import Snapshot


@dataclass(frozen=True, slots=True)
class Profile:
    """Levels held, as a person has them on a date or a role brings them.

    `levels` holds competency id -> rank >= 1; what is missing is 0. `renewable` holds competency id -> the level
    that was lost lately enough for a refresher. `held_by` is the id of the person or role, `kind` says which.
    `role` is the present role ("" where there is none), `study_hours_per_week` paces the calendar time. `on` is the day
    of a person's levels; what is learned is taken to count as another only if it does until `until`, where that is set.

    A level is held here also while it is suspended, since it comes back without a course with what it hangs on: that is
    asked for wherever the level is (`add_what_it_hangs_on`). What counts on the day itself tells `count_levels`.
    """

    levels: Mapping[str, int]
    renewable: Mapping[str, int] = field(default_factory=dict)
    kind: Literal["person", "role"] = "person"
    held_by: str = ""
    role: str = ""
    study_hours_per_week: float = 4.0
    on: date | None = None
    until: date | None = None

    def get(self, competency_id: str) -> int:
        """Return the level held, 0 where there is none."""
        return self.levels.get(competency_id, 0)


def build_profile(snapshot: Snapshot, person_id: str, on: date) -> Profile:
    """Return a person's profile on a date.

    Raises
    ------
    UnknownIdError
        There is no such person.
    """
    snapshot.require_person(person_id)
    person = get_person_on(snapshot, person_id, on)
    levels, renewable = {}, {}
    for i in find_known(snapshot, person_id):
        known = get_restored_level(snapshot, person_id, snapshot.competencies[i], on)
        if known.level:
            levels[i] = known.level
        if known.renewable_level:
            renewable[i] = known.renewable_level
    return Profile(
        levels=levels,
        renewable=renewable,
        kind="person",
        held_by=person_id,
        role=person.role,
        study_hours_per_week=person.study_hours_per_week,
        on=on,
    )


def get_restored_level(snapshot: Snapshot, person_id: str, competency: Competency, on: date) -> LevelOnDate:
    """Return a person's level as if nothing that it hangs on were missing: what courses build on."""
    return find_ways(snapshot, person_id, competency, on).pick(is_forced=True)


def build_role_profile(snapshot: Snapshot, role_id: str) -> Profile:
    """Return the profile of someone who is fully in a role.

    Its blocking and essential requirements at full level, certificates included, and the desirable ones that
    are learned on the job; what these hold while, too.

    Raises
    ------
    UnknownIdError
        There is no such role.
    """
    snapshot.require_role(role_id)
    return Profile(
        levels=add_what_it_hangs_on(
            snapshot,
            {r.competency: r.level for r in snapshot.get_requirements(role_id) if is_in_role_profile(snapshot, r)},
        ),
        kind="role",
        held_by=role_id,
        role=role_id,
    )


def is_in_role_profile(snapshot: Snapshot, requirement: Requirement) -> bool:
    """Whether someone fully in the role is taken to hold this requirement."""
    return requirement.necessity != "desirable" or snapshot.is_learned_on_job(requirement)


def add_what_it_hangs_on(snapshot: Snapshot, targets: Mapping[str, int]) -> dict[str, int]:
    """Return the targets, and at level 1 what a target of at least that level holds while, and so on.

    A target of level 0 asks for nothing.
    """
    if not has_hanging(snapshot):
        return dict(targets)
    closed = dict(targets)
    stack = [i for i, level in targets.items() if level]
    while stack:
        for other in snapshot.require_competency(stack.pop()).holds_while:
            if not closed.get(other):
                closed[other] = 1
                stack.append(other)
    return closed


def count_levels(snapshot: Snapshot, levels: Mapping[str, int]) -> Mapping[str, int]:
    """Return the levels that count where these are held: without those that hang on something not held.

    The same mapping where no competency hangs on another.
    """
    if not has_hanging(snapshot):
        return levels
    counted = {i: level for i, level in levels.items() if level}
    while True:
        lost = [i for i in counted if any(other not in counted for other in snapshot.competencies[i].holds_while)]
        if not lost:
            return counted
        for i in lost:
            del counted[i]


def has_hanging(snapshot: Snapshot) -> bool:
    """Whether any competency holds only while others do."""
    return snapshot.keep("hanging", lambda: any(c.holds_while for c in snapshot.competencies.values()))
