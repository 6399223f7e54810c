"""Random small companies for property tests, with many ties, certificates, renewals and desirable requirements."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st
from small_company import build_scale, build_snapshot

from ontology.analysis.levels import Profile
from ontology.graph.snapshot import Snapshot

LEVELS = st.integers(1, 4)


@st.composite
def draw_snapshots(
    draw: st.DrawFn, *, competencies: int = 4, courses: int = 5, roles: int = 4, min_courses: int = 1
) -> Snapshot:
    """A company with a few competencies, courses and roles; levels 1..4."""
    ids = [f"c{n}" for n in range(draw(st.integers(2, competencies)))]
    tables: dict[str, list[dict[str, Any]]] = {"scales": build_scale("s", 4), "competencies": []}
    for i in ids:
        kind = draw(st.sampled_from(["skill", "skill", "knowledge", "certificate"]))
        tables["competencies"].append({"id": i, "label": i, "scale": "s", "kind": kind})
    for table in ("courses", "outcomes", "entry_conditions", "roles", "requirements"):
        tables[table] = []
    for n in range(draw(st.integers(min_courses, courses))):
        course = f"x{n}"
        hours = draw(st.sampled_from([0.0, 1.5, 4.0, 4.0, 10.0, 10.0, 25.0]))
        cost = draw(st.sampled_from([0.0, 5.0, 5.0, 7.25]))
        tables["courses"].append({"id": course, "label": course, "hours": hours, "cost": cost})
        for i in draw(st.lists(st.sampled_from(ids), min_size=1, max_size=2, unique=True)):
            renews = draw(st.sampled_from([False, False, False, True]))
            tables["outcomes"].append({"course": course, "competency": i, "level": draw(LEVELS), "renews": renews})
        for i in draw(st.lists(st.sampled_from(ids), max_size=2, unique=True)):
            tables["entry_conditions"].append({"course": course, "competency": i, "level": draw(st.integers(1, 3))})
    for n in range(draw(st.integers(2, roles))):
        role = f"r{n}"
        months = draw(st.sampled_from([0, 6, 12, 12, 24]))
        tables["roles"].append({"id": role, "label": role, "months_to_full": months})
        for i in draw(st.lists(st.sampled_from(ids), min_size=0 if n else 1, max_size=3, unique=True)):
            level = draw(LEVELS)
            tables["requirements"].append(
                {
                    "role": role,
                    "competency": i,
                    "level": level,
                    "entry_level": draw(st.integers(1, level)),
                    "unsupervised_level": draw(st.integers(1, level)),
                    "weight": draw(st.sampled_from([1.0, 2.5, 3.0, 5.0])),
                    "necessity": draw(st.sampled_from(["blocking", "essential", "essential", "desirable"])),
                    "learned_on_job": draw(st.sampled_from([None, None, None, True, False])),
                }
            )
    return build_snapshot(**tables)


@st.composite
def draw_profiles(draw: st.DrawFn, snapshot: Snapshot) -> Profile:
    """A profile of a person of the company; the first role is never the present one."""
    ids = list(snapshot.competencies)
    levels = draw(st.dictionaries(st.sampled_from(ids), LEVELS, max_size=2))
    lost = draw(st.dictionaries(st.sampled_from(ids), LEVELS, max_size=2))
    return Profile(
        levels=levels,
        renewable={i: level for i, level in lost.items() if level > levels.get(i, 0)},
        held_by="p1",
        role=draw(st.sampled_from(["", *list(snapshot.roles)[1:]])),
        study_hours_per_week=draw(st.sampled_from([2.0, 4.0])),
    )
