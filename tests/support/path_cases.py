"""Companies of a few courses whose learning paths can be worked out by hand."""

from __future__ import annotations

from typing import Any

from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.paths.learning_path import LearningPathResult
from ontology.analysis.profiles.profile import Profile
from ontology.snapshot.snapshot import Snapshot

NOBODY = Profile({})


def build_company(*rows: tuple[str, float, str, str], more: Any = None, **tables: Any) -> Snapshot:
    """Return a company of courses (id, hours, "entry conditions", "outcomes"); an outcome with a ! renews."""
    courses, conditions, outcomes = [], [], []
    for course, hours, asked, given in rows:
        courses.append({"id": course, "label": course.upper(), "hours": hours} | (more or {}).get(course, {}))
        for text in asked.split():
            i, _, level = text.partition(":")
            conditions.append({"course": course, "competency": i, "level": int(level or 1)})
        for text in given.split():
            i, _, level = text.rstrip("!").partition(":")
            outcomes.append({"course": course, "competency": i, "level": int(level or 1), "renews": text.endswith("!")})
    return build_snapshot(
        **{
            "scales": build_scale(),
            "competencies": [
                *build_competencies("a b c d"),
                *build_competencies("z", kind="certificate", validity_months=12, refresher_months=6),
            ],
            "courses": courses,
            "entry_conditions": conditions,
            "outcomes": outcomes,
            "roles": [{"id": "r", "label": "R"}],
        }
        | tables
    )


def get_ids(result: LearningPathResult) -> list[str]:
    return [course.id for course in result.courses]
