"""Seeded teams of the size of a department, with a catalogue of courses; sizes and shares are our choice (no source).

"ladders": mostly single courses, one above the other, some with a second outcome. "bundles": two courses in five teach
three to six competencies at once for less, and conditions across competencies are many.
"""

from __future__ import annotations

import random
from datetime import timedelta
from typing import Any

from small_company import ON, build_scale, build_snapshot

from ontology.snapshot.snapshot import Snapshot


def build_large_team(
    seed: int,
    *,
    is_bundled: bool,
    people: int = 40,
    needs: int = 25,
    courses: int = 300,
    more: int = 1,
    competencies: int = 60,
    places: int = 0,
) -> Snapshot:
    """Return team "t", in which every need misses `more` people; of its places most have nobody able for them."""
    rng = random.Random(seed)
    ids = [f"c{n:02d}" for n in range(competencies)]
    rows: dict[str, list[dict[str, Any]]] = {
        "scales": build_scale(),
        "competencies": [{"id": i, "label": i, "scale": "s5"} for i in ids],
        "teams": [{"id": "t", "label": "Team"}],
        "people": [
            {"id": f"p{n:02d}", "name": f"p{n:02d}", "team": "t", "study_hours_per_week": rng.choice([2.0, 3.0, 4.0])}
            for n in range(people)
        ],
        "assessments": [],
    }
    held: dict[tuple[str, str], int] = {}
    for person in rows["people"]:
        for competency in ids:
            if rng.random() < (0.35 if is_bundled else 0.45):
                held[person["id"], competency] = rng.choice([1, 1, 2, 3] if is_bundled else [1, 1, 2, 2, 3, 4])
    for (person_id, competency), level in held.items():
        day = ON - timedelta(days=30)
        rows["assessments"].append(
            {"person": person_id, "competency": competency, "level": level, "date": day, "source": "assessor"}
        )
    _add_courses(rng, rows, ids, courses, is_bundled)
    rows["cover_needs"] = []
    for competency, level in rng.sample([(c, n) for c in ids for n in (2, 3, 4)], needs):
        have = sum(held.get((person["id"], competency), 0) >= level for person in rows["people"])
        rows["cover_needs"].append({"team": "t", "competency": competency, "level": level, "target": have + more})
    _add_places(random.Random(seed), rows, ids, places)
    return build_snapshot(**rows)


def _add_places(rng: random.Random, rows: dict[str, list[dict[str, Any]]], ids: list[str], count: int) -> None:
    """Add places, each of a role of its own that asks for two or three competencies."""
    rows["roles"] = [{"id": f"r{n:02d}", "label": f"r{n:02d}"} for n in range(count)]
    rows["requirements"] = [
        {"role": role["id"], "competency": competency, "level": rng.choice([2, 2, 3])}
        for role in rows["roles"]
        for competency in rng.sample(ids, rng.choice([2, 3]))
    ]
    rows["places"] = [{"id": f"x{n:02d}", "team": "t", "role": f"r{n:02d}"} for n in range(count)]


def _add_courses(
    rng: random.Random, rows: dict[str, list[dict[str, Any]]], ids: list[str], count: int, is_bundled: bool
) -> None:
    steps = [(competency, level) for competency in ids for level in (1, 2, 3, 4)]
    while len(steps) < count:
        steps.append((rng.choice(ids), rng.randint(1, 4)))
    for name in ("courses", "outcomes", "entry_conditions"):
        rows[name] = []
    for n, (competency, level) in enumerate(steps[:count]):
        outcomes = {competency: level}
        others = rng.randint(2, 5) if is_bundled and rng.random() < 0.4 else rng.choice([0, 0, 0, 1]) * (not is_bundled)
        for _ in range(others):
            outcomes.setdefault(rng.choice(ids), rng.randint(1, 4 if is_bundled else 3))
        asked = {competency: level - 1} if level > 1 and rng.random() < 0.85 else {}
        for _ in range(rng.choice([0, 1, 1, 2, 2, 3] if is_bundled else [0, 0, 1, 1, 2])):
            other = rng.choice(ids)
            if other not in outcomes:
                asked.setdefault(other, rng.randint(1, 3 if is_bundled else 2))
        share = 0.6 if len(outcomes) > 1 else 1.0
        hours = round(4 * share * sum(rng.uniform(6, 14) * rank**0.7 for rank in outcomes.values())) / 4
        rows["courses"].append(
            {
                "id": f"k{n:03d}",
                "label": f"k{n:03d}",
                "hours": hours,
                "coach_hours": rng.choice([0.0, 0.0, 1.0, 2.0]),
                "cost": rng.choice([0.0, 0.0, 100.0, 250.0, 400.0]),
            }
        )
        rows["outcomes"] += [{"course": f"k{n:03d}", "competency": i, "level": rank} for i, rank in outcomes.items()]
        rows["entry_conditions"] += [{"course": f"k{n:03d}", "competency": i, "level": k} for i, k in asked.items()]
