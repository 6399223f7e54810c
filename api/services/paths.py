"""Services of the employee: gap, learning path, upskilling routes, reachable and similar roles."""

from __future__ import annotations

from datetime import date
from typing import Any

from api import cautions
from api.services.answering import build_answer, get_profile, get_subject
from ontology.analysis.catalogue import Aim
from ontology.analysis.gap import compute_gap, find_unassessed
from ontology.analysis.learning_path import LearningPathResult, find_learning_path, get_targets
from ontology.analysis.moves import find_reachable_roles
from ontology.analysis.routes import RoutesResult, find_routes
from ontology.analysis.similarity import find_similar_roles
from ontology.graph.snapshot import Snapshot

DEFAULT_MAX_MOVES = 3
DEFAULT_PREPARATION_LIMIT = 200.0
DEFAULT_LEVEL_LIMIT = 2


def get_gap(
    snapshot: Snapshot, role_id: str, *, person_id: str | None = None, from_role_id: str | None = None, on: date
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
    return build_answer(snapshot, result, cautions.GAP, get_subject(person_id, from_role_id))


def find_path(
    snapshot: Snapshot,
    role_id: str,
    *,
    person_id: str | None = None,
    from_role_id: str | None = None,
    minimise: Aim = "hours",
    with_desirable: bool = False,
    on: date,
    time_limit_s: float | None = None,
) -> LearningPathResult:
    """Return the result record of a learning path, for answers and pictures; see `get_learning_path`."""
    profile = get_profile(snapshot, person_id, from_role_id, on)
    unassessed: frozenset[str] = frozenset()
    if person_id is not None:
        targets = get_targets(snapshot, role_id, with_desirable=with_desirable)
        unassessed = find_unassessed(snapshot, person_id, targets, on)
    return find_learning_path(
        snapshot,
        profile,
        role_id,
        minimise=minimise,
        with_desirable=with_desirable,
        time_limit_s=time_limit_s,
        unassessed=unassessed,
    )


def get_learning_path(
    snapshot: Snapshot,
    role_id: str,
    *,
    person_id: str | None = None,
    from_role_id: str | None = None,
    minimise: Aim = "hours",
    with_desirable: bool = False,
    on: date,
    time_limit_s: float | None = None,
) -> dict[str, Any]:
    """Return the cheapest courses from a person (or a role's profile) to the full levels of a role.

    Raises
    ------
    UnknownIdError
        There is no such role or person.
    InputError
        Not exactly one of person_id and from_role_id is given.
    """
    result = find_path(
        snapshot,
        role_id,
        person_id=person_id,
        from_role_id=from_role_id,
        minimise=minimise,
        with_desirable=with_desirable,
        on=on,
        time_limit_s=time_limit_s,
    )
    subject = get_subject(person_id, from_role_id) | {"on": on.isoformat()}
    return build_answer(snapshot, result, cautions.LEARNING_PATH, subject)


def find_upskilling_routes(
    snapshot: Snapshot,
    role_id: str,
    *,
    person_id: str | None = None,
    from_role_id: str | None = None,
    max_moves: int = DEFAULT_MAX_MOVES,
    preparation_limit: float = DEFAULT_PREPARATION_LIMIT,
    level_limit: int = DEFAULT_LEVEL_LIMIT,
    on: date,
    time_limit_s: float | None = None,
) -> RoutesResult:
    """Return the result record of upskilling routes, for answers and pictures; see `get_routes`."""
    return find_routes(
        snapshot,
        get_profile(snapshot, person_id, from_role_id, on),
        role_id,
        max_moves=max_moves,
        preparation_limit=preparation_limit,
        level_limit=level_limit,
        time_limit_s=time_limit_s,
    )


def get_routes(
    snapshot: Snapshot,
    role_id: str,
    *,
    person_id: str | None = None,
    from_role_id: str | None = None,
    max_moves: int = DEFAULT_MAX_MOVES,
    preparation_limit: float = DEFAULT_PREPARATION_LIMIT,
    level_limit: int = DEFAULT_LEVEL_LIMIT,
    on: date,
    time_limit_s: float | None = None,
) -> dict[str, Any]:
    """Return the upskilling routes from a person (or a role's profile) to a role.

    Raises
    ------
    UnknownIdError
        There is no such role or person.
    InputError
        The role is the present one, or not exactly one of person_id and from_role_id is given.
    """
    result = find_upskilling_routes(
        snapshot,
        role_id,
        person_id=person_id,
        from_role_id=from_role_id,
        max_moves=max_moves,
        preparation_limit=preparation_limit,
        level_limit=level_limit,
        on=on,
        time_limit_s=time_limit_s,
    )
    subject = get_subject(person_id, from_role_id) | {"on": on.isoformat()}
    return build_answer(snapshot, result, cautions.ROUTES, subject)


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
    subject = get_subject(person_id, from_role_id) | {"on": on.isoformat()}
    return build_answer(snapshot, result, cautions.REACHABLE_ROLES, subject)


def get_similar_roles(snapshot: Snapshot, role_id: str, limit: int = 20) -> dict[str, Any]:
    """Return the roles whose requirements are most alike, in order; UnknownIdError where there is no such role."""
    return build_answer(snapshot, find_similar_roles(snapshot, role_id, limit), cautions.SIMILAR, {"role": role_id})
