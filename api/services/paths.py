"""Services of the employee: gap, upskilling routes, reachable and similar roles."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import Any, TypedDict, Unpack

from api import cautions
from api.services.answering import build_answer, build_answer_on, get_profile, get_subject
from ontology.analysis.profiles.gap import compute_gap
from ontology.analysis.profiles.similarity import find_similar_roles
from ontology.analysis.routes.moves import find_reachable_roles
from ontology.analysis.routes.routes import RoutesResult, find_routes
from ontology.graph.snapshot import Snapshot

DEFAULT_MAX_MOVES = 3
DEFAULT_PREPARATION_LIMIT = 200.0
DEFAULT_LEVEL_LIMIT = 2


def get_gap(
    snapshot: Snapshot,
    role_id: str,
    *,
    person_id: str | None = None,
    from_role_id: str | None = None,
    on: date,
    is_plain: bool = True,
) -> dict[str, Any]:
    """Return the gap of a person (or of someone fully in another role) to a role on a date.

    Raises
    ------
    UnknownIdError
        There is no such role or person.
    InputError
        Not exactly one of person_id and from_role_id is given.
    """
    result = compute_gap(snapshot, role_id, person_id=person_id, from_role_id=from_role_id, on=on)
    return build_answer(snapshot, result, cautions.GAP, get_subject(person_id, from_role_id), is_plain=is_plain)


class RouteLimits(TypedDict, total=False):
    """What routes may be asked besides from where and to where; each as in `routes.find_routes`."""

    max_moves: int
    preparation_limit: float
    level_limit: int
    avoid: Collection[str]
    via: str | None
    study_hours_per_week: float | None
    time_limit_s: float | None


def find_upskilling_routes(
    snapshot: Snapshot,
    role_id: str,
    *,
    person_id: str | None = None,
    from_role_id: str | None = None,
    on: date,
    **limits: Unpack[RouteLimits],
) -> RoutesResult:
    """Return the result record of upskilling routes, for answers and pictures; see `get_routes`."""
    return find_routes(snapshot, get_profile(snapshot, person_id, from_role_id, on), role_id, **limits)


def get_routes(
    snapshot: Snapshot,
    role_id: str,
    *,
    person_id: str | None = None,
    from_role_id: str | None = None,
    on: date,
    **limits: Unpack[RouteLimits],
) -> dict[str, Any]:
    """Return the upskilling routes from a person (or a role's profile) to a role.

    Raises
    ------
    UnknownIdError
        There is no such role or person.
    InputError
        The role is the present one, a limit or a role to avoid or to pass makes no sense, or not exactly one of
        person_id and from_role_id is given.
    """
    result = find_upskilling_routes(snapshot, role_id, person_id=person_id, from_role_id=from_role_id, on=on, **limits)
    return build_answer_on(snapshot, result, cautions.ROUTES, on, person_id, from_role_id)


def get_reachable_roles(
    snapshot: Snapshot,
    *,
    person_id: str | None = None,
    from_role_id: str | None = None,
    preparation_limit: float = DEFAULT_PREPARATION_LIMIT,
    level_limit: int = DEFAULT_LEVEL_LIMIT,
    on: date,
    time_limit_s: float | None = None,
) -> dict[str, Any]:
    """Return the roles one move away from a person (or a role's profile).

    Raises
    ------
    UnknownIdError
        There is no such person or role.
    """
    result = find_reachable_roles(
        snapshot,
        get_profile(snapshot, person_id, from_role_id, on),
        preparation_limit=preparation_limit,
        level_limit=level_limit,
        time_limit_s=time_limit_s,
    )
    return build_answer_on(snapshot, result, cautions.REACHABLE_ROLES, on, person_id, from_role_id)


def get_similar_roles(snapshot: Snapshot, role_id: str, limit: int = 20) -> dict[str, Any]:
    """Return the roles whose requirements are most alike, in order; UnknownIdError where there is no such role."""
    return build_answer(snapshot, find_similar_roles(snapshot, role_id, limit), cautions.SIMILAR, {"role": role_id})
