"""Cross-training plans of a small team, asked in one line."""

from __future__ import annotations

from typing import Any

from small_company import ON
from small_team import Rows, build_team

from ontology.analysis.training.cross_training import CrossTrainingResult, plan_cross_training


def need(competency: str = "a", level: int = 2, **more: Any) -> dict[str, Any]:
    return {"team": "t", "competency": competency, "level": level} | more


def plan(rows: Rows, needs: list[dict[str, Any]], courses: Rows, **more: Any) -> CrossTrainingResult:
    return plan_cross_training(build_team(rows, cover_needs=needs, **courses), "t", ON, **more)


def get_lines(result: CrossTrainingResult) -> list[tuple[str, str, int, tuple[str, ...]]]:
    return [(line.person, line.competency, line.level, line.courses) for line in result.plan]
