"""Small companies whose role asks for much and whose courses offer choices: for budgets, bookings and alternatives."""

from __future__ import annotations

import random
from typing import Any

from small_company import build_scale, build_snapshot

from ontology.analysis.profiles.profile import Profile
from ontology.snapshot.snapshot import Snapshot


def build_choices(seed: int) -> tuple[Snapshot, Profile, dict[str, Any]]:
    """Return a company of 5 competencies and 8 courses, a profile, and wishes; role r0 asks for 3 to 5 levels."""
    rng = random.Random(seed)
    ids = [f"c{n}" for n in range(5)]
    tables: dict[str, list[dict[str, Any]]] = {"scales": build_scale("s", 4)}
    tables["competencies"] = [
        {"id": i, "label": i, "scale": "s", "kind": rng.choice(["skill", "skill", "certificate"])} for i in ids
    ]
    for table in ("courses", "outcomes", "entry_conditions"):
        tables[table] = []
    for n in range(8):
        course = f"x{n}"
        tables["courses"].append(
            {
                "id": course,
                "label": course,
                "hours": rng.choice([0.0, 2.0, 4.0, 4.0, 5.5, 8.0, 10.0]),
                "cost": rng.choice([0.0, 5.0, 5.0, 7.25, 20.0]),
                "weeks": rng.choice([None, None, 0.5, 1.0, 2.0]),
                "coach_hours": rng.choice([0.0, 1.5]),
            }
        )
        for i in sorted({ids[n % 5], *rng.sample(ids, rng.choice([0, 0, 1]))}):
            level = rng.choice([1, 2, 3, 4])
            tables["outcomes"].append({"course": course, "competency": i, "level": level, "renews": rng.random() < 0.1})
            if level > 1 and rng.random() < 0.4:
                tables["entry_conditions"].append({"course": course, "competency": i, "level": level - 1})
    asked = [r["competency"] for r in tables["entry_conditions"]]
    tables["roles"] = [{"id": "r0", "label": "r0"}]
    tables["requirements"] = [
        {
            "role": "r0",
            "competency": i,
            "level": rng.choice([1, 2, 3, 4]),
            "weight": rng.choice([1.0, 2.0, 2.5, 3.0, 4.12, 5.0]),
            "necessity": rng.choice(["blocking", "essential", "essential", "desirable"]),
        }
        for i in rng.sample(ids, rng.choice([3, 4, 5]))
    ]
    levels = {i: rng.choice([1, 1, 2]) for i in rng.sample(ids, rng.choice([0, 1, 2]))} | dict.fromkeys(asked[:1], 1)
    renewable = {i: 4 for i in rng.sample(ids, rng.choice([0, 0, 1])) if i not in levels}
    profile = Profile(levels, renewable, held_by="p1", study_hours_per_week=rng.choice([0.0, 2.0, 3.0, 4.0]))
    courses = [row["id"] for row in tables["courses"]]
    exclude = frozenset(rng.sample(courses, rng.choice([0, 0, 0, 1])))
    booked = frozenset(rng.sample(courses, rng.choice([0, 0, 1, 2]))) - exclude
    wishes = {
        "minimise": rng.choice(["hours", "hours", "cost", "courses", "weeks"]),
        "with_desirable": rng.random() < 0.5,
        "exclude": exclude,
        "already_booked": booked,
    }
    return build_snapshot(**tables), profile, wishes
