"""The service of job rotation."""

from __future__ import annotations

from typing import Any

from api import cautions
from api.services.answering import build_answer
from ontology.analysis.rotation.rotation import plan_rotation
from ontology.analysis.rotation.rotation_question import RotationQuestion
from ontology.graph.snapshot import Snapshot

__all__ = ["RotationQuestion", "get_rotation"]


def get_rotation(
    snapshot: Snapshot, team_id: str, question: RotationQuestion, *, time_limit_s: float | None = None
) -> dict[str, Any]:
    """Return a rotation of a team's people through its places, or why there is none.

    Raises
    ------
    UnknownIdError
        There is no such team, or the question names someone who does not exist.
    InputError
        The question contradicts itself or the team, or is too large.
    """
    result = plan_rotation(snapshot, team_id, question, time_limit_s=time_limit_s)
    return build_answer(snapshot, result, cautions.ROTATION, {})
