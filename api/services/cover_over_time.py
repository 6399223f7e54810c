"""Services of cover over time: timeline, stand-ins, fragile needs, headcount, and the cover of the whole company."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any, Final

from api import cautions
from api.services.answering import build_answer
from ontology.analysis.cover.fragile_needs import NeedOrder, compute_fragile_needs
from ontology.analysis.outlook.company_cover import compute_company_cover
from ontology.analysis.outlook.cover_timeline import compute_cover_timeline
from ontology.analysis.places.headcount import ShiftPattern, compute_headcount
from ontology.analysis.places.stand_ins import find_stand_ins
from ontology.graph.snapshot import Snapshot

DEFAULT_WEEKS: Final = 26
DEFAULT_STAND_INS: Final = 50
DEFAULT_COMPANY_NEEDS: Final = 20
DEFAULT_WITHIN_HOURS: Final = 40.0


def get_coverage_timeline(
    snapshot: Snapshot,
    team_id: str,
    *,
    on: date,
    from_date: date | None = None,
    until: date | None = None,
    weeks: int = DEFAULT_WEEKS,
    away: frozenset[str] = frozenset(),
    time_limit_s: float | None = None,
) -> dict[str, Any]:
    """Return how a team's cover changes from one day to another, with the last day to act on every hole.

    `until` wins over `weeks`, which count from the first day.

    Raises
    ------
    UnknownIdError
        There is no such team, or `away` names someone who does not exist.
    InputError
        The last day lies before the first, or too far ahead.
    """
    start = on if from_date is None else from_date
    last = add_weeks(start, weeks) if until is None else until
    result = compute_cover_timeline(
        snapshot, team_id, on, from_date=start, to_date=last, away=away, time_limit_s=time_limit_s
    )
    return build_answer(snapshot, result, cautions.COVERAGE_TIMELINE, {})


def add_weeks(start: date, weeks: int) -> date:
    """Return the day so many weeks later, the last day of the calendar where that lies beyond it."""
    try:
        return start + timedelta(weeks=weeks)
    except OverflowError:
        return date.max


def get_stand_ins(
    snapshot: Snapshot,
    team_id: str,
    *,
    on: date,
    person: str | None = None,
    competency: str | None = None,
    level: int | None = None,
    away: frozenset[str] = frozenset(),
    limit: int = DEFAULT_STAND_INS,
) -> dict[str, Any]:
    """Return who can stand in for a member, or for a need.

    Raises
    ------
    UnknownIdError
        There is no such team, person or competency.
    InputError
        Not exactly one of person and competency; no member; no such need of the team.
    """
    result = find_stand_ins(
        snapshot, team_id, on, person_id=person, competency_id=competency, level=level, away=away, limit=limit
    )
    return build_answer(snapshot, result, cautions.STAND_INS, {})


def get_fragile_needs(
    snapshot: Snapshot,
    team_id: str,
    *,
    on: date,
    away: frozenset[str] = frozenset(),
    absence_rate: float | None = None,
    order_by: NeedOrder = "criticality",
    time_limit_s: float | None = None,
) -> dict[str, Any]:
    """Return a team's needs, the most fragile first; UnknownIdError for the team or someone in `away`."""
    result = compute_fragile_needs(
        snapshot,
        team_id,
        on,
        away=away,
        absence_rate=absence_rate,
        order_by=order_by,
        time_limit_s=time_limit_s,
    )
    return build_answer(snapshot, result, cautions.FRAGILE_NEEDS, {})


def get_headcount(
    snapshot: Snapshot,
    team_id: str,
    *,
    on: date,
    net_hours: float,
    manned_hours: float | None = None,
    shifts: ShiftPattern = "in-turn",
    away: frozenset[str] = frozenset(),
) -> dict[str, Any]:
    """Return how many people needs and places take in a year.

    Raises
    ------
    UnknownIdError
        There is no such team, or `away` names someone who does not exist.
    InputError
        Hours outside their limits.
    """
    result = compute_headcount(
        snapshot, team_id, on, net_hours=net_hours, manned_hours=manned_hours, shifts=shifts, away=away
    )
    return build_answer(snapshot, result, cautions.HEADCOUNT, {})


def get_company_cover(
    snapshot: Snapshot,
    *,
    on: date,
    away: frozenset[str] = frozenset(),
    absence_rate: float | None = None,
    limit: int = DEFAULT_COMPANY_NEEDS,
    within_hours: float = DEFAULT_WITHIN_HOURS,
    time_limit_s: float | None = None,
) -> dict[str, Any]:
    """Return the cover of all teams; UnknownIdError for someone in `away`."""
    result = compute_company_cover(
        snapshot,
        on,
        away=away,
        absence_rate=absence_rate,
        limit=limit,
        within_hours=within_hours,
        time_limit_s=time_limit_s,
    )
    return build_answer(snapshot, result, cautions.COMPANY_COVER, {})
