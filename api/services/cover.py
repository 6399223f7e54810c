"""Services of the team lead: coverage, single points of failure, staffing, cross-training."""

from __future__ import annotations

from datetime import date
from typing import Any

from api import cautions
from api.services.answering import build_answer
from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.places.single_points import find_single_points_of_failure
from ontology.analysis.places.staffing import compute_staffing
from ontology.graph.snapshot import Snapshot


def get_coverage(
    snapshot: Snapshot, team_id: str, *, on: date, away: frozenset[str] = frozenset(), is_plain: bool = True
) -> dict[str, Any]:
    """Return the depth of every cover need of a team; UnknownIdError for the team or someone in `away`."""
    result = compute_coverage(snapshot, team_id, on, away)
    return build_answer(snapshot, result, cautions.COVERAGE, {}, is_plain=is_plain)


def get_single_points_of_failure(
    snapshot: Snapshot, team_id: str, *, on: date, away: frozenset[str] = frozenset()
) -> dict[str, Any]:
    """Return everyone on whom alone something rests; UnknownIdError for the team or someone in `away`."""
    result = find_single_points_of_failure(snapshot, team_id, on, away)
    return build_answer(snapshot, result, cautions.SINGLE_POINTS, {})


def get_staffing(
    snapshot: Snapshot,
    team_id: str,
    *,
    on: date,
    away: frozenset[str] = frozenset(),
    leaving: frozenset[str] = frozenset(),
) -> dict[str, Any]:
    """Return who can fill a team's places at once; UnknownIdError for the team, someone in `away` or `leaving`."""
    result = compute_staffing(snapshot, team_id, on, away, leaving)
    return build_answer(snapshot, result, cautions.STAFFING, {})
