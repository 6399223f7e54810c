"""The level of a person in a competency on a date, by the assessments of this competency alone. Pure.

Certificates: only the source "certificate" counts, and the highest level valid on the date. Other kinds: the
latest of certificate, assessor and manager, in this order on one day; same source and day: the lower, with a
remark. Where a mistake can hurt someone, a manager cannot raise what an assessor found.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from typing import Final, Literal

from ontology.model.records import Assessment, Competency
from ontology.model.validity import add_months
from ontology.snapshot.snapshot import Snapshot

LevelState = Literal["ok", "lapsed", "suspended", "review-due", "not-assessed"]

#: Under which name what changes when is kept with a Snapshot.
_TIMELINES: Final = "timelines of levels"
_COUNTED: Final = {"certificate": 0, "assessor": 1, "manager": 2}
DECLARED_SOURCES: Final = {"self": 0, "unstated": 1}


@dataclass(frozen=True, slots=True)
class LevelOnDate:
    """What is known of one competency of one person on one date.

    `level` is None when not assessed (it computes as 0), 0 when lapsed. `basis` is the assessment it rests on.
    `declared` is the latest self or unstated rating: shown, never counted. `renewable_level` is the level a
    refresher may still restore after a lapse (0: none). `by_equivalence` is the competency that it counts by, where it
    is another one; the basis is an assessment of that. `carried_from` is the retired competency that the basis was
    recorded of, "" where it is none.
    """

    competency: str
    level: int | None
    state: LevelState
    basis: Assessment | None = None
    declared: int | None = None
    renewable_level: int = 0
    remarks: tuple[str, ...] = ()
    by_equivalence: str = ""
    carried_from: str = ""


def get_own_levels(
    snapshot: Snapshot, person_id: str, competencies: Iterable[Competency], on: date
) -> list[LevelOnDate]:
    """Return what is known of a person's levels in some competencies on a date, by their own assessments alone.

    Assessments dated after `on` do not count. O(k log k) for k assessments of the pair the first time, O(log k) for
    every date between the same two days on which something changes: this is kept with the Snapshot.
    """
    timelines: dict[tuple[str, str], _Timeline] = snapshot.keep(_TIMELINES, dict)
    known, day = snapshot.competencies, on.toordinal()
    levels = []
    for competency in competencies:
        pair = person_id, competency.id
        if known.get(competency.id) is not competency:  # it may say something else under the same id
            levels.append(_compute_level(snapshot, person_id, competency, on))
            continue
        timeline = timelines.get(pair)
        if timeline is None:
            if not snapshot.get_assessments(person_id, competency.id):
                levels.append(_get_unassessed(competency.id))
                continue
            timeline = timelines[pair] = _Timeline(find_own_days(snapshot, person_id, competency))
        span = bisect_right(timeline.days, day)
        level = timeline.levels[span]
        if level is None:
            level = timeline.levels[span] = _compute_level(snapshot, person_id, competency, on)
        levels.append(level)
    return levels


@lru_cache(maxsize=4096)
def _get_unassessed(competency_id: str) -> LevelOnDate:
    return LevelOnDate(competency_id, None, "not-assessed")


class _Timeline:
    """The level of one person in one competency between the days on which it can change; None: not asked for yet."""

    __slots__ = ("days", "levels")

    def __init__(self, days: list[int]) -> None:
        self.days = days
        self.levels: list[LevelOnDate | None] = [None] * (len(days) + 1)


def is_counted(assessment: Assessment, competency: Competency) -> bool:
    """Whether an assessment's source counts: of certificates only a certificate, else all but own and unstated ones."""
    return assessment.source == "certificate" if competency.is_certificate else assessment.source in _COUNTED


def find_own_days(snapshot: Snapshot, person_id: str, competency: Competency) -> list[int]:
    """Return, sorted, the proleptic ordinals of every day on which something can be otherwise than the day before."""
    if snapshot.competencies.get(competency.id) is competency:
        timelines: dict[tuple[str, str], _Timeline] = snapshot.keep(_TIMELINES, dict)
        timeline = timelines.get((person_id, competency.id))
        if timeline is not None:
            return timeline.days
    days: set[int] = set()
    for assessment in snapshot.get_assessments(person_id, competency.id):
        if assessment.withdrawn_on is not None:
            continue
        days.add(assessment.date.toordinal())
        if assessment.valid_until is not None:
            days.add(assessment.valid_until.toordinal() + 1)
            if competency.refresher_months is not None:
                days.add(get_restorable_until(assessment.valid_until, competency.refresher_months).toordinal() + 1)
    return sorted(days)


def _compute_level(snapshot: Snapshot, person_id: str, competency: Competency, on: date) -> LevelOnDate:
    assessments = snapshot.get_assessments(person_id, competency.id)
    # one that was taken back counts on no day
    known = [a for a in assessments if a.date <= on and a.withdrawn_on is None]
    declared = _get_declared(known)
    get_level = _get_certificate_level if competency.is_certificate else _get_assessed_level
    level = get_level(competency, known, declared, on)
    recorded = snapshot.get_recorded_of(level.basis) if level.basis is not None else None
    return level if recorded is None else replace(level, carried_from=recorded.competency)


def _get_declared(known: Iterable[Assessment]) -> int | None:
    rated = [a for a in known if a.source in DECLARED_SOURCES]
    if not rated:
        return None
    return min(rated, key=lambda a: (-a.date.toordinal(), DECLARED_SOURCES[a.source], a.level)).level


def _is_valid(assessment: Assessment, on: date) -> bool:
    return assessment.valid_until is None or assessment.valid_until >= on


def _get_renewable_level(competency: Competency, lapsed: Iterable[Assessment], on: date) -> int:
    months = competency.refresher_months
    if months is None:
        return 0
    return max(
        (a.level for a in lapsed if a.valid_until and get_restorable_until(a.valid_until, months) >= on), default=0
    )


def get_restorable_until(valid_until: date, months: int) -> date:
    """Return the last day on which a refresher restores a level that ended on a day."""
    try:
        return add_months(valid_until, months)
    except OverflowError:
        return date.max


def _get_certificate_level(
    competency: Competency, known: list[Assessment], declared: int | None, on: date
) -> LevelOnDate:
    certificates = [a for a in known if a.source == "certificate"]
    if not certificates:
        return LevelOnDate(competency.id, None, "not-assessed", declared=declared)
    valid = [a for a in certificates if _is_valid(a, on)]
    lapsed = [a for a in certificates if not _is_valid(a, on)]
    renewable = _get_renewable_level(competency, lapsed, on)
    if valid:
        # among equals the one that counts longest is the basis
        basis = max(valid, key=lambda a: (a.level, a.valid_until or date.max, a.date, a.assessor))
        level = basis.level
        state: LevelState = "ok"
    else:
        # what was held last
        basis = max(lapsed, key=lambda a: (a.valid_until or date.max, a.level, a.date, a.assessor))
        is_kept = competency.expiry == "review"
        level, state = (basis.level, "review-due") if is_kept else (0, "lapsed")
    # a higher level that was lost lately can be renewed from a lower one that is held
    return LevelOnDate(competency.id, level, state, basis, declared, renewable if renewable > level else 0)


def _get_assessed_level(competency: Competency, known: list[Assessment], declared: int | None, on: date) -> LevelOnDate:
    counted = [a for a in known if a.source in _COUNTED]
    remarks: list[str] = []
    counted = _drop_raised_by_manager(competency, counted, remarks)
    if not counted:
        return LevelOnDate(competency.id, None, "not-assessed", declared=declared)
    basis = counted[0]
    if len(counted) > 1:
        basis = min(counted, key=_latest_first)
        if len({a.level for a in counted if a.date == basis.date and a.source == basis.source}) > 1:
            remarks.append(
                f"The source {basis.source} gives several levels on {basis.date.isoformat()}; the lower one counts."
            )
    if _is_valid(basis, on):
        return LevelOnDate(competency.id, basis.level, "ok", basis, declared, remarks=tuple(remarks))
    if competency.expiry == "review":
        return LevelOnDate(competency.id, basis.level, "review-due", basis, declared, remarks=tuple(remarks))
    return LevelOnDate(
        competency.id,
        0,
        "lapsed",
        basis,
        declared,
        _get_renewable_level(competency, [basis], on),
        tuple(remarks),
    )


def _latest_first(assessment: Assessment) -> tuple[int, int, int, int, str]:
    # among equals the one that counts longest is the basis, as of certificates: not the one whose assessor sorts first
    until = (assessment.valid_until or date.max).toordinal()
    return (-assessment.date.toordinal(), _COUNTED[assessment.source], assessment.level, -until, assessment.assessor)


def find_assessor_limit(competency: Competency, known: Iterable[Assessment]) -> Assessment | None:
    """Return the assessor's assessment above whose level no manager's counts; None where there is no such limit.

    Where an error can hurt someone the latest of an assessor is it, however much later a manager says otherwise.
    `known` are a person's assessments in the competency that were made by the day and not taken back.
    """
    if not competency.safety or competency.is_certificate:
        return None
    return min((a for a in known if a.source == "assessor"), key=_latest_first, default=None)


def _drop_raised_by_manager(competency: Competency, counted: list[Assessment], remarks: list[str]) -> list[Assessment]:
    limit = find_assessor_limit(competency, counted)
    if limit is None:
        return counted
    kept = [a for a in counted if a.source != "manager" or a.level <= limit.level]
    if len(kept) < len(counted):
        remarks.append(
            f"A manager's level above the assessor's {limit.level} is ignored: an error here can hurt someone."
        )
    return kept
