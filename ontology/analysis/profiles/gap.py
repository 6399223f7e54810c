"""The gap between a profile and a role: what is held of what is asked, row by row. Pure.

Three figures are said first: blocking requirements unmet, essential ones met, of how many. Readiness is a sort
key for roles, not a verdict about a person.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import Final, Literal

from ontology.analysis.profiles.levels import LevelOnDate, LevelState, build_role_profile, get_level
from ontology.errors import InputError
from ontology.graph.snapshot import Snapshot
from ontology.records import Requirement

__all__ = ["GapResult", "GapRow", "Standing", "compute_gap", "compute_readiness", "find_unassessed", "get_standing"]

Standing = Literal["none", "may-start", "works-alone", "full"]

NO_REQUIREMENTS: Final = "The role has no requirements: there is nothing to compare with."
_RANK_OF_NECESSITY: Final = {"blocking": 0, "essential": 1, "desirable": 2}


@dataclass(frozen=True, slots=True)
class GapRow:
    """One requirement and what is held of it.

    `have` is None when not assessed (it computes as 0); `declared` is a self or unstated rating, shown and never
    counted. `source`, `date` and `age_days` say what `have` rests on; they are None where nothing was assessed
    and where a role's profile is compared.
    """

    competency: str
    level: int
    have: int | None
    declared: int | None
    gap: int
    necessity: str
    weight: float
    source: str | None
    date: dt.date | None
    age_days: int | None
    state: LevelState


@dataclass(frozen=True, slots=True)
class GapResult:
    """The gap to a role on a date.

    `readiness` is a share 0..1, None without requirements. `blocking_unmet` counts the blocking requirements below
    their full level, `essential_met` the essential ones at it, of `essential_total`. `gaps` holds every requirement
    (gap 0 included): blocking first, then essential, then desirable; within these by gap x weight, the largest
    first, then by competency id. `assess_first` names what was never assessed, in the order of `gaps`.
    """

    role: str
    on: dt.date
    readiness: float | None
    standing: Standing
    blocking_unmet: int
    essential_met: int
    essential_total: int
    assess_first: tuple[str, ...]
    gaps: tuple[GapRow, ...]
    remarks: tuple[str, ...] = ()


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
    snapshot : Snapshot
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
    snapshot.require_role(role_id)
    if (person_id is None) == (from_role_id is None):
        raise InputError("A gap is asked either for a person or for a role's profile, not for both or neither.")
    requirements = snapshot.get_requirements(role_id)
    if person_id is not None:
        snapshot.require_person(person_id)
        known = {
            r.competency: get_level(snapshot, person_id, snapshot.competencies[r.competency], on) for r in requirements
        }
    else:
        assert from_role_id is not None
        levels = build_role_profile(snapshot, from_role_id).levels
        known = {r.competency: LevelOnDate(r.competency, levels.get(r.competency, 0), "ok") for r in requirements}
    return _summarise(role_id, requirements, known, on)


def _summarise(
    role_id: str, requirements: tuple[Requirement, ...], known: Mapping[str, LevelOnDate], on: dt.date
) -> GapResult:
    rows = sorted((_build_row(r, known[r.competency], on) for r in requirements), key=_row_order)
    levels = {i: k.level or 0 for i, k in known.items()}
    remarks = [f"{row.competency}: {text}" for row in rows for text in known[row.competency].remarks]
    if not rows:
        remarks.append(NO_REQUIREMENTS)
    essential = [row for row in rows if row.necessity == "essential"]
    return GapResult(
        role=role_id,
        on=on,
        readiness=compute_readiness((row.level, row.have or 0, row.weight) for row in rows),
        standing=get_standing(requirements, levels),
        blocking_unmet=sum(row.necessity == "blocking" and row.gap > 0 for row in rows),
        essential_met=sum(row.gap == 0 for row in essential),
        essential_total=len(essential),
        assess_first=tuple(row.competency for row in rows if row.have is None),
        gaps=tuple(rows),
        remarks=tuple(remarks),
    )


def _build_row(requirement: Requirement, known: LevelOnDate, on: dt.date) -> GapRow:
    basis = known.basis
    return GapRow(
        competency=requirement.competency,
        level=requirement.level,
        have=known.level,
        declared=known.declared,
        gap=max(0, requirement.level - (known.level or 0)),
        necessity=requirement.necessity,
        weight=requirement.weight,
        source=basis.source if basis else None,
        date=basis.date if basis else None,
        age_days=(on - basis.date).days if basis else None,
        state=known.state,
    )


def _row_order(row: GapRow) -> tuple[int, int | Fraction, str]:
    return _RANK_OF_NECESSITY[row.necessity], -row.gap * _make_exact(row.weight), row.competency


def _make_exact(weight: float) -> int | Fraction:
    # nearly all weights are whole, and whole numbers are far faster
    whole = int(weight)
    return whole if whole == weight else Fraction(weight)


def compute_readiness(rows: Iterable[tuple[int, int, float]]) -> float | None:
    """Return sum(weight x min(1, have / level)) / sum(weight) of (level, have, weight) rows; None without rows.

    Exact until the last step, so that the order of the rows cannot change the last digit.
    """
    asked: int | Fraction = 0
    met_by_level: dict[int, int | Fraction] = {}
    for level, have, weight in rows:
        exact = _make_exact(weight)
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
