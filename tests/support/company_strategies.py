"""Random small companies for property tests, with many ties, certificates, renewals and desirable requirements."""

from __future__ import annotations

import random
from typing import Any

from hypothesis import strategies as st
from small_company import build_scale, build_snapshot

from ontology.analysis.profiles.profile import Profile
from ontology.snapshot.snapshot import Snapshot

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
            level = draw(st.sampled_from([3, 4, 2, 1]))
            tables["outcomes"].append({"course": course, "competency": i, "level": level, "renews": renews})
        count = draw(st.sampled_from([0, 0, 1, 2]))
        for i in draw(st.lists(st.sampled_from(ids), min_size=count, max_size=count, unique=True)):
            level = draw(st.sampled_from([1, 1, 2, 3]))
            tables["entry_conditions"].append({"course": course, "competency": i, "level": level})
    for n in range(draw(st.integers(2, roles))):
        role = f"r{n}"
        months = draw(st.sampled_from([0, 6, 12, 12, 24]))
        tables["roles"].append({"id": role, "label": role, "months_to_full": months})
        for i in draw(st.lists(st.sampled_from(ids), min_size=0 if n else 1, max_size=3, unique=True)):
            level = draw(st.sampled_from([2, 3, 4, 1]))
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


def build_random_company(seed: int) -> tuple[Snapshot, Profile]:
    """A company and a person from a seed, mostly with routes worth finding: growth, windows, ties, a few renewals."""
    rng = random.Random(seed)
    ids = [f"c{n}" for n in range(rng.choice([3, 3, 4]))]
    tables: dict[str, list[dict[str, Any]]] = {"scales": build_scale("s", 4), "competencies": []}
    for table in ("courses", "outcomes", "entry_conditions", "roles", "requirements"):
        tables[table] = []
    for i in ids:
        kind = rng.choice(["skill", "skill", "skill", "certificate"])
        tables["competencies"].append({"id": i, "label": i, "scale": "s", "kind": kind})
    for n in range(4):
        course = f"x{n}"
        hours, cost = rng.choice([0.0, 1.5, 4.0, 4.0, 5.0, 6.0, 8.0, 10.0]), rng.choice([0.0, 5.0, 5.0, 7.25])
        tables["courses"].append({"id": course, "label": course, "hours": hours, "cost": cost})
        gives = {ids[n % len(ids)], *rng.sample(ids, rng.choice([0, 0, 1]))}
        for i in sorted(gives):
            level, renews = rng.choice([2, 3, 3, 4, 4]), rng.random() < 0.06
            tables["outcomes"].append({"course": course, "competency": i, "level": level, "renews": renews})
        for i in rng.sample(ids, rng.choice([0, 0, 0, 1, 1, 2])):
            level = rng.choice([1, 1, 2])
            tables["entry_conditions"].append({"course": course, "competency": i, "level": level})
    for n in range(5):
        role = f"r{n}"
        months = rng.choice([0, 6, 12, 12, 24])
        tables["roles"].append({"id": role, "label": role, "months_to_full": months})
        for i in rng.sample(ids, rng.choice([2, 2, 3]) if n == 0 else rng.choice([1, 1, 2, 3])):
            full = rng.choice([2, 3, 3, 4])
            entry = rng.randint(2, full) if n == 0 else rng.choice([1, 1, 2, full])
            tables["requirements"].append(
                {
                    "role": role,
                    "competency": i,
                    "level": full,
                    "entry_level": entry,
                    "unsupervised_level": full,
                    "necessity": rng.choice(["blocking", "essential", "essential", "essential", "desirable"]),
                    "learned_on_job": rng.choice([None, None, None, True, False]),
                }
            )
    levels = {i: rng.choice([1, 1, 2]) for i in rng.sample(ids, rng.choice([0, 1, 2]))}
    renewable = {i: 4 for i in rng.sample(ids, rng.choice([0, 0, 1])) if i not in levels}
    profile = Profile(
        levels, renewable, held_by="p1", role=rng.choice(["", "", "r4"]), study_hours_per_week=rng.choice([2.0, 4.0])
    )
    return build_snapshot(**tables), profile


def build_gated_company(seed: int) -> tuple[Snapshot, Profile]:
    """A company and a person from a seed in which level limits matter: steps of one level, growth from nothing.

    Courses ask for the level below their own, roles grow what they did not ask for, and the target enters high: at a
    small level limit the order of growth and courses decides what is legal.
    """
    rng = random.Random(seed)
    ids = ["c0", "c1", "c2"]
    tables: dict[str, list[dict[str, Any]]] = {"scales": build_scale("s", 4), "competencies": []}
    for table in ("courses", "outcomes", "entry_conditions", "roles", "requirements"):
        tables[table] = []
    for i in ids:
        kind = "certificate" if rng.random() < 0.08 else "skill"
        tables["competencies"].append({"id": i, "label": i, "scale": "s", "kind": kind})
    for n in range(4):
        course = f"x{n}"
        tables["courses"].append({"id": course, "label": course, "hours": rng.choice([1.5, 4.0, 5.0, 6.0, 9.0])})
        main, level = rng.choice(ids), rng.choice([1, 2, 2, 3, 3, 4])
        tables["outcomes"].append({"course": course, "competency": main, "level": level})
        other = rng.choice(ids)
        if other != main and rng.random() < 0.25:
            tables["outcomes"].append({"course": course, "competency": other, "level": rng.choice([1, 2])})
        elif other != main and rng.random() < 0.35:
            tables["entry_conditions"].append({"course": course, "competency": other, "level": rng.choice([1, 2])})
        if level > 1 and rng.random() < 0.75:
            tables["entry_conditions"].append({"course": course, "competency": main, "level": level - 1})
    for n in range(4 if rng.random() < 0.5 else 5):
        role = f"r{n}"
        tables["roles"].append({"id": role, "label": role, "months_to_full": rng.choice([0, 6, 12, 12])})
        for i in rng.sample(ids, rng.choice([1, 1, 2]) if n == 0 else rng.choice([1, 2, 2, 3])):
            full = rng.choice([2, 3, 3, 4]) if n == 0 else rng.choice([1, 1, 2, 2, 3])
            is_grown_only = n > 0 and rng.random() < 0.5
            tables["requirements"].append(
                {
                    "role": role,
                    "competency": i,
                    "level": full,
                    "entry_level": full if n == 0 else rng.choice([1, 1, max(1, full - 1), full]),
                    "unsupervised_level": full,
                    "necessity": "desirable" if is_grown_only else "essential",
                    "learned_on_job": True if is_grown_only else rng.choice([None, None, False]),
                }
            )
    levels = {i: rng.choice([1, 1, 2]) for i in rng.sample(ids, rng.choice([0, 1, 1, 2]))}
    return build_snapshot(**tables), Profile(levels, held_by="p1", study_hours_per_week=4.0)


def build_route_company(seed: int) -> tuple[Snapshot, Profile]:
    """A company and a person from a seed: by turns with routes worth finding, and with level limits that matter."""
    return build_gated_company(seed // 2) if seed % 2 else build_random_company(seed // 2)
