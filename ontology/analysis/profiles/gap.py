"""The gap between a profile and a role: what is held of what is asked, row by row. Pure.

Three figures are said first: blocking requirements unmet, essential ones met, of how many. Readiness is a sort
key for roles, not a verdict about a person.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import Annotated, Literal

from ontology.analysis.profiles.levels import get_level, get_levels
from ontology.analysis.profiles.own_levels import LevelOnDate, LevelState
from ontology.analysis.profiles.profile import build_role_profile
from ontology.analysis.profiles.required import (
    Asked,
    Required,
    count_met,
    get_asked,
    list_remarks,
    list_unassessed,
    make_exact,
    order_by_gap,
)
from ontology.errors import InputError
from ontology.model.records import Requirement
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "GapResult",
    "GapRow",
    "Standing",
    "compute_gap",
    "compute_readiness",
    "find_unassessed",
    "get_standing",
]

Standing = Literal["none", "may-start", "works-alone", "full"]


@dataclass(frozen=True, slots=True)
class GapRow:
    """One requirement and what is held of it.

    `have` is None when not assessed (it computes as 0); `declared` is a self or unstated rating, shown and never
    counted. `source`, `date` and `age_days` say what `have` rests on; they are None where nothing was assessed
    and where a role's profile is compared.
    """

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The full level."]
    have: Annotated[int | None, "The level that counts; null where it was never assessed."]
    declared: Annotated[int | None, "A self or unstated rating: shown, never counted."]
    gap: Annotated[int, "Levels missing."]
    necessity: Annotated[str, "How necessary."]
    weight: Annotated[float, "Importance, 1 to 5."]
    source: Annotated[str | None, "Who assessed what counts."]
    date: Annotated[dt.date | None, "The day it was assessed."]
    age_days: Annotated[int | None, "Days since then."]
    state: Annotated[LevelState, "Whether it still counts."]
    by_equivalence: Annotated[str | None, "The other competency that it counts by; null: held itself."] = None
    carried_from: Annotated[
        str | None, "The retired competency that what counts was recorded of; null: this one, or the one it counts by."
    ] = None


@dataclass(frozen=True, slots=True)
class GapResult:
    """The gap to a role on a date.

    `readiness` is a share 0..1, None without requirements. `blocking_unmet` counts the blocking requirements below
    their full level, `essential_met` the essential ones at it, of `essential_total`. `gaps` holds every requirement
    (gap 0 included): blocking first, then essential, then desirable; within these by gap x weight, the largest
    first, then by competency id. `assess_first` names what was never assessed, in the order of `gaps`.
    """

    role: Annotated[str, "The role asked about."]
    on: Annotated[dt.date, "The day asked about."]
    readiness: Annotated[float | None, "Share 0..1, null without requirements: a sort key for roles, no verdict."]
    standing: Annotated[Standing, "What is met altogether."]
    blocking_unmet: Annotated[int, "Blocking requirements below full level."]
    essential_met: Annotated[int, "Essential requirements at full level."]
    essential_total: Annotated[int, "Essential requirements."]
    assess_first: Annotated[tuple[str, ...], "Competencies never assessed: assess before training."]
    gaps: Annotated[tuple[GapRow, ...], "Every requirement, gap 0 included."]
    remarks: Annotated[tuple[str, ...], "What else should be known."] = ()


def compute_gap(
    snapshot: Snapshot,
    role_id: str,
    *,
    person_id: str | None = None,
    from_role_id: str | None = None,
    on: dt.date,
) -> GapResult:
    """Return the gap of a person on a date, or of someone fully in another role, to a role.

    Parameters
    ----------
    role_id : str
        The role that asks.
    person_id, from_role_id : str or None
        Exactly one of the two: whose levels are compared.
    on : date
        Assessments after this day do not count.

    Returns
    -------
    GapResult

    Raises
    ------
    UnknownIdError
        There is no such role or person.
    InputError
        Not exactly one of person_id and from_role_id was given.

    Notes
    -----
    O(r log r + k log k) for r requirements and k assessments of them.
    """
    asked = get_asked(snapshot, role_id)
    if (person_id is None) == (from_role_id is None):
        raise InputError("A gap is asked either for a person or for a role's profile, not for both or neither.")
    if person_id is not None:
        snapshot.require_person(person_id)
        known = get_levels(snapshot, person_id, asked.competencies, on)
    else:
        assert from_role_id is not None
        profile = build_role_profile(snapshot, from_role_id).levels
        known = [LevelOnDate(r.competency, profile.get(r.competency, 0), "ok") for r in asked.requirements]
    return _summarise(role_id, asked, known, on)


def _summarise(role_id: str, asked: Asked, known: Sequence[LevelOnDate], on: dt.date) -> GapResult:
    met: int | Fraction = 0
    levels: dict[str, int] = {}
    for requirement, share, held in zip(asked.requirements, asked.shares, known, strict=True):
        have = levels[requirement.competency] = held.level or 0
        met += share * min(requirement.level, have)
    rows = order_by_gap(asked, known)
    blocking_met, blocking_total = count_met(rows, "blocking")
    essential_met, essential_total = count_met(rows, "essential")
    return GapResult(
        role=role_id,
        on=on,
        # whole numbers divide to the nearest float, fractions likewise
        readiness=float(met / asked.whole) if asked.whole else None,
        standing=get_standing(asked.requirements, levels),
        blocking_unmet=blocking_total - blocking_met,
        essential_met=essential_met,
        essential_total=essential_total,
        assess_first=list_unassessed(rows),
        gaps=tuple([_build_row(row, on) for row in rows]),
        remarks=list_remarks(rows),
    )


def _build_row(row: Required, on: dt.date) -> GapRow:
    requirement, held, gap = row
    basis = held.basis
    return GapRow(
        requirement.competency,
        requirement.level,
        held.level,
        held.declared,
        gap,
        requirement.necessity,
        requirement.weight,
        basis.source if basis else None,
        basis.date if basis else None,
        (on - basis.date).days if basis else None,
        held.state,
        held.by_equivalence or None,
        held.carried_from or None,
    )


def compute_readiness(rows: Iterable[tuple[int, int, float]]) -> float | None:
    """Return sum(weight x min(1, have / level)) / sum(weight) of (level, have, weight) rows; None without rows.

    Exact until the last step, so that the order of the rows cannot change the last digit.
    """
    asked: int | Fraction = 0
    met_by_level: dict[int, int | Fraction] = {}
    for level, have, weight in rows:
        exact = make_exact(weight)
        asked += exact
        met_by_level[level] = met_by_level.get(level, 0) + exact * min(level, have)
    if not asked:
        return None
    common = lcm(*met_by_level)
    met = sum(parts * (common // level) for level, parts in met_by_level.items())
    return float(Fraction(met) / (asked * common))


def get_standing(requirements: Iterable[Requirement], levels: Mapping[str, int]) -> Standing:
    """Return the highest standing that holds: full, works-alone, may-start or none.

    Each is judged by itself on the blocking and essential requirements: at full, unsupervised, entry level. A role
    without requirements gives no standing; one with desirable requirements only gives the full one.
    """
    rows = tuple(requirements)
    if not rows:
        return "none"
    asked = [r for r in rows if r.necessity != "desirable"]
    if all(levels.get(r.competency, 0) >= r.level for r in asked):
        return "full"
    if all(levels.get(r.competency, 0) >= r.unsupervised_level for r in asked):
        return "works-alone"
    if all(levels.get(r.competency, 0) >= r.entry_level for r in asked):
        return "may-start"
    return "none"


def find_unassessed(snapshot: Snapshot, person_id: str, competency_ids: Iterable[str], on: dt.date) -> frozenset[str]:
    """Return those of the competencies that the person has no counted assessment of on the date.

    Raises
    ------
    UnknownIdError
        There is no such person or competency.
    """
    snapshot.require_person(person_id)
    ids = set(competency_ids)
    return frozenset(i for i in ids if get_level(snapshot, person_id, snapshot.require_competency(i), on).level is None)
