"""What a role asks beside what is held of it: each requirement with its level, and what is counted of them. Pure."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from operator import itemgetter
from typing import Final, NamedTuple

from ontology.analysis.profiles.levels import get_levels
from ontology.analysis.profiles.own_levels import LevelOnDate
from ontology.model.records import Competency, Requirement
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "Asked",
    "Required",
    "count_met",
    "get_asked",
    "list_remarks",
    "list_required",
    "list_unassessed",
    "make_exact",
    "order_by_gap",
]

_NO_REQUIREMENTS: Final = "The role has no requirements: there is nothing to compare with."
_RANK_OF_NECESSITY: Final = {"blocking": 0, "essential": 1, "desirable": 2}


@dataclass(frozen=True, slots=True)
class Asked:
    """What a role asks and what follows from it for everybody; one entry for each requirement.

    `weights` are exact; a level held adds `shares` for each step to the sum of which `whole` is the most.
    """

    requirements: tuple[Requirement, ...]
    competencies: tuple[Competency, ...]
    weights: tuple[int | Fraction, ...]
    shares: tuple[int | Fraction, ...]
    whole: int | Fraction


class Required(NamedTuple):
    """A requirement, what is held of it, and how many levels are missing."""

    requirement: Requirement
    held: LevelOnDate
    gap: int


def get_asked(snapshot: Snapshot, role_id: str) -> Asked:
    """Return what a role asks; UnknownIdError where there is no such role."""
    return snapshot.keep(("asked of a role", role_id), lambda: _build_asked(snapshot, role_id))


def _build_asked(snapshot: Snapshot, role_id: str) -> Asked:
    snapshot.require_role(role_id)
    requirements = snapshot.get_requirements(role_id)
    weights = tuple([make_exact(r.weight) for r in requirements])
    common = lcm(*[r.level for r in requirements])
    return Asked(
        requirements,
        tuple([snapshot.competencies[r.competency] for r in requirements]),
        weights,
        tuple([weight * (common // r.level) for weight, r in zip(weights, requirements, strict=True)]),
        sum(weights) * common,
    )


def make_exact(weight: float) -> int | Fraction:
    """Return a weight as an exact number: nearly all are whole, and whole numbers are far faster."""
    whole = int(weight)
    return whole if whole == weight else Fraction(weight)


def list_required(
    snapshot: Snapshot, role_id: str, person_id: str, on: dt.date, known: Mapping[str, LevelOnDate]
) -> list[Required]:
    """Return what a role asks beside what a person holds of it on a date, in the order of a gap.

    `known` are levels of the person on that day: what is among them is not sought again.
    """
    asked = get_asked(snapshot, role_id)
    missing = [competency for competency in asked.competencies if competency.id not in known]
    found = {level.competency: level for level in get_levels(snapshot, person_id, missing, on)}
    return order_by_gap(asked, [known.get(one.id) or found[one.id] for one in asked.competencies])


def order_by_gap(asked: Asked, levels: Sequence[LevelOnDate]) -> list[Required]:
    """Return each requirement beside its level: by necessity, then by what is missing, the heaviest first."""
    ordered = []
    for requirement, weight, held in zip(asked.requirements, asked.weights, levels, strict=True):
        gap = max(0, requirement.level - (held.level or 0))
        rank = _RANK_OF_NECESSITY[requirement.necessity], -gap * weight, requirement.competency
        ordered.append((rank, Required(requirement, held, gap)))
    ordered.sort(key=itemgetter(0))
    return [row for _, row in ordered]


def count_met(rows: Iterable[Required], necessity: str) -> tuple[int, int]:
    """Return how many requirements of a necessity are at their full level, and of how many."""
    gaps = [row.gap for row in rows if row.requirement.necessity == necessity]
    return gaps.count(0), len(gaps)


def list_unassessed(rows: Iterable[Required]) -> tuple[str, ...]:
    """Return the competencies that were never assessed."""
    return tuple([row.requirement.competency for row in rows if row.held.level is None])


def list_remarks(rows: Sequence[Required]) -> tuple[str, ...]:
    """Return what else should be known of what is compared."""
    if not rows:
        return (_NO_REQUIREMENTS,)
    return tuple([f"{row.requirement.competency}: {text}" for row in rows for text in row.held.remarks])
