"""Services of learning paths: from a person or a role to a role, with everything that can be asked of them."""

from __future__ import annotations

from collections.abc import Set as AbstractSet
from datetime import date
from typing import Any, TypedDict, Unpack

from api import cautions
from api.services.answering import build_answer_on, get_profile
from ontology.analysis.paths.aims import Aim
from ontology.analysis.paths.learning_path import LearningPathResult, find_learning_path, get_targets
from ontology.analysis.paths.person_path import settle_path
from ontology.analysis.profiles.gap import find_unassessed
from ontology.graph.snapshot import Snapshot


class PathOptions(TypedDict, total=False):
    """What a learning path may be asked besides from where and to where; as in `learning_path.find_learning_path`."""

    minimise: Aim
    with_desirable: bool
    max_hours: float | None
    max_cost: float | None
    exclude: AbstractSet[str]
    already_booked: AbstractSet[str]
    alternatives: int | None
    time_limit_s: float | None


def find_path(
    snapshot: Snapshot,
    role_id: str,
    *,
    person_id: str | None = None,
    from_role_id: str | None = None,
    on: date,
    **options: Unpack[PathOptions],
) -> LearningPathResult:
    """Return the result record of a learning path, for answers and pictures; see `get_learning_path`.

    Without `alternatives` there are none.
    """
    profile = get_profile(snapshot, person_id, from_role_id, on)
    if person_id is None:
        return find_learning_path(snapshot, profile, role_id, **options)
    # of every requirement, also of those that are no targets: their rows are shown
    asked = get_targets(snapshot, role_id, with_desirable=True)
    unassessed = find_unassessed(snapshot, person_id, asked, on)
    result = find_learning_path(snapshot, profile, role_id, unassessed=unassessed, **options)
    return settle_path(snapshot, person_id, result, on)


def get_learning_path(
    snapshot: Snapshot,
    role_id: str,
    *,
    person_id: str | None = None,
    from_role_id: str | None = None,
    on: date,
    **options: Unpack[PathOptions],
) -> dict[str, Any]:
    """Return the cheapest courses from a person (or a role's profile) to the full levels of a role.

    Without `alternatives` two are shown where they are quick.

    Raises
    ------
    UnknownIdError
        There is no such role, person or course.
    InputError
        Not exactly one of person_id and from_role_id is given, or a wish makes no sense.
    """
    options.setdefault("alternatives", None)
    result = find_path(snapshot, role_id, person_id=person_id, from_role_id=from_role_id, on=on, **options)
    return build_answer_on(snapshot, result, cautions.LEARNING_PATH, on, person_id, from_role_id)
