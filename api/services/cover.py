"""Services of the team lead: coverage, single points of failure, staffing, cross-training."""

from __future__ import annotations

from datetime import date
from typing import Any

from api import cautions
from api.services.answering import build_answer
from ontology.analysis.coverage import compute_coverage
from ontology.analysis.cross_training import plan_cross_training
from ontology.analysis.single_points import find_single_points_of_failure
from ontology.analysis.staffing import compute_staffing
from ontology.graph.snapshot import Snapshot


def get_coverage(snapshot: Snapshot, team_id: str, *, on: date, away: frozenset[str] = frozenset()) -> dict[str, Any]:
    """Return the depth of every cover need of a team; UnknownIdError for the team or someone in `away`."""
    return build_answer(snapshot, compute_coverage(snapshot, team_id, on, away), cautions.COVERAGE, {})


def get_single_points_of_failure(
    snapshot: Snapshot, team_id: str, *, on: date, away: frozenset[str] = frozenset()
) -> dict[str, Any]:
    """Return everyone on whom alone something rests; UnknownIdError for the team or someone in `away`."""
    result = find_single_points_of_failure(snapshot, team_id, on, away)
    return build_answer(snapshot, result, cautions.SINGLE_POINTS, {})


def get_staffing(snapshot: Snapshot, team_id: str, *, on: date, away: frozenset[str] = frozenset()) -> dict[str, Any]:
    """Return who can fill a team's places at once; UnknownIdError for the team or someone in `away`."""
    return build_answer(snapshot, compute_staffing(snapshot, team_id, on, away), cautions.STAFFING, {})


def get_cross_training(
    snapshot: Snapshot,
    team_id: str,
    *,
    on: date,
    away: frozenset[str] = frozenset(),
    hours_limit: float | None = None,
    tolerance: int | None = None,
    weigh_criticality: bool = False,
    time_limit_s: float | None = None,
) -> dict[str, Any]:
    """Return who should learn what so that a team's needs reach their targets.

    Raises
    ------
    UnknownIdError
        There is no such team, or `away` names someone who does not exist.
    InputError
        A limit or tolerance is below 0.
    """
    result = plan_cross_training(
        snapshot,
        team_id,
        on,
        away=away,
        hours_limit=hours_limit,
        tolerance=tolerance,
        weigh_criticality=weigh_criticality,
        time_limit_s=time_limit_s,
    )
    return build_answer(snapshot, result, cautions.CROSS_TRAINING, {})
