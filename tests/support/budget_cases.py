"""Companies whose courses have hours and prices, for questions of budgets."""

from __future__ import annotations

from typing import Any

from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.paths.learning_path import LearningPathResult
from ontology.analysis.profiles.profile import Profile
from ontology.snapshot.snapshot import Snapshot

NOBODY = Profile({})


def build_company(courses: list[tuple[str, float, float, str, str]], requirements: list[dict[str, Any]]) -> Snapshot:
    """Return a company of (course, hours, cost, entry conditions, outcomes); levels stand after a colon."""
    parts: list[tuple[str, str, list[tuple[str, int]]]] = []
    for course, _, _, asked, given in courses:
        for table, text in (("entry_conditions", asked), ("outcomes", given)):
            pairs = [(word.partition(":")[0], int(word.partition(":")[2] or 1)) for word in text.split()]
            parts.append((table, course, pairs))
    ids = sorted({i for _, _, pairs in parts for i, _ in pairs} | {r["competency"] for r in requirements})
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies(" ".join(ids)),
        courses=[{"id": c, "label": c, "hours": hours, "cost": cost} for c, hours, cost, _, _ in courses],
        roles=[{"id": "r", "label": "R"}],
        requirements=[{"role": "r"} | row for row in requirements],
        **{
            table: [
                {"course": course, "competency": i, "level": level}
                for kind, course, pairs in parts
                if kind == table
                for i, level in pairs
            ]
            for table in ("entry_conditions", "outcomes")
        },
    )


def get_ids(result: LearningPathResult) -> list[str]:
    return [course.id for course in result.courses]
