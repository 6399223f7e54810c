"""What every service does: whose profile is asked for, and how a result record becomes an answer."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from api.answers import get_members, to_json
from ontology.analysis.profiles.levels import Profile, build_profile, build_role_profile
from ontology.errors import InputError
from ontology.graph.snapshot import Snapshot


def get_profile(snapshot: Snapshot, person_id: str | None, from_role_id: str | None, on: date) -> Profile:
    """Return the profile of a person on a date, or of someone fully in a role.

    Raises
    ------
    UnknownIdError
        There is no such person or role.
    InputError
        Not exactly one of the two is given.
    """
    if person_id is not None and from_role_id is None:
        return build_profile(snapshot, person_id, on)
    if from_role_id is not None and person_id is None:
        return build_role_profile(snapshot, from_role_id)
    raise InputError("Ask either for a person or for a role's profile, not for both or neither.")


def get_subject(person_id: str | None, from_role_id: str | None) -> dict[str, Any]:
    return {"person": person_id} if person_id is not None else {"from_role": from_role_id}


def build_answer(
    snapshot: Snapshot,
    result: Any,
    cautions_of_kind: Sequence[str],
    subject: dict[str, Any],
    *,
    is_plain: bool = True,
) -> dict[str, Any]:
    """Return the answer that holds a result; without `is_plain` its rows stay records, for who makes text of them."""
    answer: dict[str, Any] = to_json(result) if is_plain else get_members(result)
    return subject | answer | {"revision": snapshot.revision, "cautions": list(cautions_of_kind)}


def build_answer_on(
    snapshot: Snapshot,
    result: Any,
    cautions_of_kind: Sequence[str],
    on: date,
    person_id: str | None = None,
    from_role_id: str | None = None,
) -> dict[str, Any]:
    """Return the answer that holds a result about a person or a role's profile on a date."""
    return build_answer(
        snapshot, result, cautions_of_kind, get_subject(person_id, from_role_id) | {"on": on.isoformat()}
    )
