"""Companies of a few roles whose routes can be worked out by hand."""

from __future__ import annotations

from typing import Any

from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.profiles.profile import Profile
from ontology.snapshot.snapshot import Snapshot

START = Profile({}, role="now", study_hours_per_week=4.0)


def build_company(
    roles: dict[str, str],
    courses: dict[str, tuple[float, str, str]],
    months: dict[str, int] | None = None,
    costs: dict[str, float] | None = None,
) -> Snapshot:
    """Return a company from short texts.

    A role is "a:1-3 b:2 c:0-2" (competency, entry-full; entry 0 = desirable but learned on the job); a course is
    (hours, "entry conditions", "outcomes"). Competencies a to f are skills, z is a certificate.
    """
    tables: dict[str, list[dict[str, Any]]] = {name: [] for name in ("roles", "requirements", "courses")}
    tables |= {"outcomes": [], "entry_conditions": []}
    for role, text in roles.items():
        tables["roles"].append({"id": role, "label": role.upper(), "months_to_full": (months or {}).get(role, 12)})
        for part in text.split():
            competency, _, levels = part.partition(":")
            entry, _, full = levels.partition("-")
            row: dict[str, Any] = {"role": role, "competency": competency, "level": int(full or entry)}
            if entry == "0":
                row |= {"necessity": "desirable", "learned_on_job": True}
            else:
                row["entry_level"] = int(entry)
            tables["requirements"].append(row)
    for course, (hours, asked, given) in courses.items():
        cost = (costs or {}).get(course, 0.0)
        tables["courses"].append({"id": course, "label": course.upper(), "hours": hours, "cost": cost})
        for name, text in (("entry_conditions", asked), ("outcomes", given)):
            for part in text.split():
                competency, _, level = part.partition(":")
                tables[name].append({"course": course, "competency": competency, "level": int(level)})
    return build_snapshot(
        scales=build_scale(),
        competencies=[*build_competencies("a b c d e f"), *build_competencies("z", kind="certificate")],
        **tables,
    )


def get_plan(route: Any) -> list[tuple[str, tuple[str, ...]]]:
    return [(move.role, move.courses) for move in route.moves]
