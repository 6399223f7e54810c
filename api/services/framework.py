"""Services of whoever asks what leads on: what widens a person's reach, and what stands out in the framework."""

from __future__ import annotations

from datetime import date
from typing import Any

from api import cautions
from api.services.answering import build_answer, get_profile, get_subject
from api.services.paths import DEFAULT_LEVEL_LIMIT, DEFAULT_PREPARATION_LIMIT
from ontology.analysis.routes.framework_review import review_framework
from ontology.analysis.routes.reach_gains import find_reach_gains
from ontology.graph.snapshot import Snapshot

DEFAULT_GAINS = 20


def get_reach_gains(
    snapshot: Snapshot,
    *,
    person_id: str | None = None,
    from_role_id: str | None = None,
    preparation_limit: float = DEFAULT_PREPARATION_LIMIT,
    level_limit: int = DEFAULT_LEVEL_LIMIT,
    limit: int = DEFAULT_GAINS,
    on: date,
    time_limit_s: float | None = None,
) -> dict[str, Any]:
    """Return the courses and levels that bring most roles within reach of a person (or a role's profile).

    Raises
    ------
    UnknownIdError
        There is no such person or role.
    InputError
        Not exactly one of person_id and from_role_id is given.
    """
    result = find_reach_gains(
        snapshot,
        get_profile(snapshot, person_id, from_role_id, on),
        preparation_limit=preparation_limit,
        level_limit=level_limit,
        limit=limit,
        time_limit_s=time_limit_s,
    )
    subject = get_subject(person_id, from_role_id) | {"on": on.isoformat()}
    return build_answer(snapshot, result, cautions.REACHABLE_ROLES, subject)


def get_framework_review(
    snapshot: Snapshot,
    *,
    preparation_limit: float = DEFAULT_PREPARATION_LIMIT,
    level_limit: int = DEFAULT_LEVEL_LIMIT,
    on: date,
    time_limit_s: float | None = None,
) -> dict[str, Any]:
    """Return what stands out in the framework: roles at the edge, untaught levels, unused courses and the rest."""
    result = review_framework(
        snapshot, on, preparation_limit=preparation_limit, level_limit=level_limit, time_limit_s=time_limit_s
    )
    return build_answer(snapshot, result, cautions.FRAMEWORK_REVIEW, {})
