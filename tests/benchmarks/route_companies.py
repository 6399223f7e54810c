"""A generated company for routes: families of roles that overlap, courses, and people with a role to aim at.

Sizes and shares are our own choice (common practice, no source); no catalogue or organisation stands behind them.
Seeded: the same numbers give the same company.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import Any

from small_company import build_scale, build_snapshot

from ontology.analysis.profiles.profile import Profile, build_role_profile
from ontology.snapshot.snapshot import Snapshot

GRADES = 5
"""Roles of a family stand on grades 0 (entry) to 4; the levels they ask for rise with the grade."""


@dataclass(frozen=True)
class Asker:
    """A person who asks for the routes to a role."""

    profile: Profile
    target: str


def build_company(
    seed: int, *, role_count: int = 300, competency_count: int = 1500, course_count: int = 2000, family_size: int = 15
) -> Snapshot:
    """Return a company with levels 1..5, 8 to 15 requirements a role, entry levels below full, bundled courses.

    A family draws two thirds of its requirements from a core of its own, the rest from its whole field, from the
    neighbouring families' fields, and from what all roles share.
    """
    rng = random.Random(seed)
    families = max(1, role_count // family_size)
    shared_count = competency_count // 10
    field_size = (competency_count - shared_count) // families
    tables: dict[str, list[dict[str, Any]]] = {"scales": build_scale(), "competencies": []}
    for table in ("roles", "requirements", "courses", "outcomes", "entry_conditions"):
        tables[table] = []
    for n in range(competency_count):
        kind = "certificate" if n % 40 == 7 else "skill"
        tables["competencies"].append({"id": f"c{n:04}", "label": f"Competency {n}", "scale": "s5", "kind": kind})
    fields = [range(shared_count + f * field_size, shared_count + (f + 1) * field_size) for f in range(families)]
    for n in range(role_count):
        _add_role(rng, tables, n, families, fields, shared_count)
    _add_courses(rng, tables, course_count, competency_count, shared_count, field_size)
    return build_snapshot(**tables)


def _add_role(
    rng: random.Random,
    tables: dict[str, list[dict[str, Any]]],
    n: int,
    families: int,
    fields: list[range],
    shared_count: int,
) -> None:
    family, grade = n % families, n // families % GRADES
    role = f"r{n:03}"
    months = rng.choice([6, 9, 12, 12, 18]) + 3 * grade
    tables["roles"].append({"id": role, "label": f"Role {n}", "family": f"f{family:02}", "months_to_full": months})
    field = fields[family]
    # the core slides with the grade, so that neighbouring grades share most of it
    core = list(field[2 * grade : 2 * grade + 14])
    asked: dict[int, None] = {}
    while len(asked) < rng.randint(8, 15):
        draw = rng.random()
        if draw < 0.66:
            pool = core
        elif draw < 0.76:
            pool = list(field[:30])
        elif draw < 0.86:
            pool = list(fields[(family + rng.choice((-1, 1))) % families][:16])
        else:
            pool = list(range(min(40, shared_count)))
        asked.setdefault(rng.choice(pool))
    for competency in asked:
        is_certificate = competency % 40 == 7
        full = 1 if is_certificate else max(1, min(5, grade + 1 + rng.choice((-1, 0, 0, 1))))
        row: dict[str, Any] = {"role": role, "competency": f"c{competency:04}", "level": full}
        row["entry_level"] = max(1, full - rng.choice((0, 1, 1, 2)))
        row["necessity"] = "blocking" if is_certificate else rng.choice(("essential",) * 6 + ("desirable",))
        tables["requirements"].append(row)


def _add_courses(
    rng: random.Random,
    tables: dict[str, list[dict[str, Any]]],
    course_count: int,
    competency_count: int,
    shared_count: int,
    field_size: int,
) -> None:
    effort = [rng.uniform(2, 8) for _ in range(competency_count)]
    highest: dict[int, int] = {}
    for row in tables["requirements"]:
        competency = int(row["competency"][1:])
        highest[competency] = max(row["entry_level"], highest.get(competency, 0))
    asked = sorted(highest)
    rng.shuffle(asked)

    def draw_neighbour(competency: int) -> int:
        if competency < shared_count:
            return rng.randrange(shared_count)
        first = shared_count + (competency - shared_count) // field_size * field_size
        # most bundles stay close, so that a role finds several of its competencies in one course
        near = competency + rng.randint(-6, 6)
        return near if first <= near < min(first + field_size, competency_count) else rng.randrange(first, first + 5)

    for n in range(course_count):
        # first one for every entry level, then three in four serve what roles ask for, the rest teach anything
        main = asked[n % len(asked)] if n % 4 or n < len(asked) else rng.randrange(competency_count)
        is_bundle = rng.random() < 0.3
        outcomes = {main: highest[main] if n < len(asked) else rng.choice((2, 3, 3, 4, 4, 5))}
        for _ in range(rng.randint(2, 4) if is_bundle else rng.choice((0, 0, 1))):
            outcomes.setdefault(draw_neighbour(main), rng.choice((1, 2, 3, 3, 4)))
        entries: dict[int, int] = {}
        for competency, level in outcomes.items():
            if level >= 3 and rng.random() < 0.5:
                entries[competency] = level - rng.choice((1, 2, 2))
        if rng.random() < 0.25 and (other := draw_neighbour(main)) not in outcomes and other in highest:
            entries[other] = rng.choice((1, 1, 2))
        hours = sum(effort[c] * (level - 0.7 * entries.get(c, 0)) for c, level in outcomes.items())
        hours *= rng.uniform(0.5, 0.8) if is_bundle else rng.uniform(0.8, 1.3)
        course = f"x{n:04}"
        row = {"id": course, "label": f"Course {n}", "hours": max(1, round(hours * 2)) / 2}
        tables["courses"].append(row | {"cost": rng.choice((0.0, 50.0, 120.0, 300.0)) * len(outcomes)})
        for competency, level in outcomes.items():
            tables["outcomes"].append({"course": course, "competency": f"c{competency:04}", "level": level})
        for competency, level in entries.items():
            tables["entry_conditions"].append({"course": course, "competency": f"c{competency:04}", "level": level})


def build_askers(snapshot: Snapshot, count: int, seed: int) -> list[Asker]:
    """Return people fully in a role (a few levels less, a few competencies more) and a role one to two grades up."""
    rng = random.Random(seed)
    roles = [role_id for role_id in snapshot.roles if snapshot.get_requirements(role_id)]
    families: dict[str, list[str]] = {}
    for role_id in roles:
        families.setdefault(snapshot.roles[role_id].family, []).append(role_id)
    names = sorted(families)
    askers = []
    while len(askers) < count:
        present = rng.choice(roles)
        levels = dict(build_role_profile(snapshot, present).levels)
        for competency in rng.sample(sorted(levels), 2):
            levels[competency] = max(1, levels[competency] - 1)
        for competency in rng.sample(sorted(snapshot.competencies), 20):
            levels.setdefault(competency, rng.choice((1, 1, 2, 3)))
        family = names.index(snapshot.roles[present].family)
        choices = [*families[names[family]], *families[names[(family + 1) % len(names)]]]
        step = rng.choice((1, 1, 2))
        higher = [r for r in choices if _get_grade(snapshot, r) == _get_grade(snapshot, present) + step]
        if higher:
            profile = Profile(levels, held_by=f"p{len(askers)}", role=present, study_hours_per_week=4.0)
            askers.append(Asker(profile, rng.choice(higher)))
    return askers


def _get_grade(snapshot: Snapshot, role_id: str) -> int:
    """Return the rounded mean of the levels a role asks for, a stand-in for its grade."""
    skills = snapshot.competencies
    levels = [r.level for r in snapshot.get_requirements(role_id) if not skills[r.competency].is_certificate]
    return round(sum(levels) / max(1, len(levels)))
