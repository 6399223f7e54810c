"""Job rotations of a small team, asked in one line."""

from __future__ import annotations

from typing import Any

from small_company import ON
from small_team import Rows, build_team

from ontology.analysis.rotation.rotation import RotationResult, plan_rotation
from ontology.analysis.rotation.rotation_asked import RotationAsked

ROLES = [{"id": r, "label": r} for r in ("ra", "rb", "rnone")]
REQUIREMENTS = [
    {"role": "ra", "competency": "a", "level": 4, "unsupervised_level": 3, "entry_level": 1, "necessity": "blocking"},
    {"role": "rb", "competency": "b", "level": 2},
    {"role": "rb", "competency": "c", "level": 5, "necessity": "desirable"},
]


def rotate(rows: Rows, purpose: Any = "learn", more: dict[str, Any] | None = None, **asked: Any) -> RotationResult:
    snapshot = build_team(rows, roles=ROLES, requirements=REQUIREMENTS, **(more or {}))
    return plan_rotation(snapshot, "t", RotationAsked(purpose, ON, asked.pop("start", ON), **asked))


def place(place_id: str, role: str = "ra", **more: Any) -> dict[str, Any]:
    return {"id": place_id, "team": "t", "role": role} | more
