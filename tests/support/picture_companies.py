"""Companies for pictures of a given size: routes over many roles, paths with joined conditions and alternatives."""

from __future__ import annotations

import random
from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from small_company import ON, build_competencies, build_scale, build_snapshot

from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

_FAMILIES = ("Operations", "Maintenance", "Laboratory", "Control room and dispatch", "")
_GRADES = ("assistant", "technician", "specialist", "senior specialist")


def build_sized_company(size: int, *, is_reversed: bool = False) -> Snapshot:
    """Return a company whose role asks for `size` competencies, with a course for each and a team of `size` people."""
    families = [f"f{i}" for i in range(max(1, size // 5))]
    ids = [f"c{i}" for i in range(size)]
    competencies = build_competencies(" ".join(families))
    for i, row in enumerate(build_competencies(" ".join(ids))):
        competencies.append(row | {"label": f"Competency number {i}", "broader": (families[i % len(families)],)})
    necessities = ["blocking", "essential", "essential", "desirable"]
    tables: dict[str, list[dict[str, Any]]] = {
        "scales": build_scale(),
        "competencies": competencies,
        "roles": [
            {"id": "goal", "label": "Supervisor", "family": "Operations"},
            {"id": "mid", "label": "Operator", "months_to_full": 9},
            {"id": "now", "label": "Assistant"},
        ],
        "requirements": [
            {"role": "goal", "competency": i, "level": 3, "entry_level": 2, "necessity": necessities[k % 4]}
            for k, i in enumerate(ids)
        ]
        + [{"role": "mid", "competency": i, "level": 2, "entry_level": 1} for i in ids[: size // 2]]
        + [{"role": "now", "competency": ids[0], "level": 1}],
        "courses": [
            {"id": f"k{i}-{level}", "label": f"Course {i} to {level}", "hours": 10 * level, "method": "workshop"}
            for i in ids
            for level in (1, 2, 3)
        ],
        "outcomes": [{"course": f"k{i}-{level}", "competency": i, "level": level} for i in ids for level in (1, 2, 3)],
        "entry_conditions": [
            {"course": f"k{i}-{level}", "competency": i, "level": level - 1} for i in ids for level in (2, 3)
        ],
        "teams": [{"id": "t", "label": "Water works"}],
        "shifts": [
            {"id": "day", "team": "t", "label": "Day crew"},
            {"id": "night", "team": "t", "label": "Night crew"},
        ],
        "people": [
            {"id": f"p{k}", "name": f"Person {k}", "team": "t", "shift": ("day", "night")[k % 2], "role": "now"}
            for k in range(size)
        ],
        "absences": [{"person": "p1", "from_date": ON, "to_date": ON + timedelta(days=3)}],
        "assessments": [
            {"person": f"p{k}", "competency": i, "level": 1 + (k + n) % 3, "date": ON, "source": "assessor"}
            for k in range(size)
            for n, i in enumerate(ids)
            if (k * 3 + n) % 4 == 0
        ],
        "cover_needs": [
            {"team": "t", "competency": i, "level": 2, "minimum": 1 + n % 2, "applies": ("team", "each-shift")[n % 2]}
            for n, i in enumerate(ids)
        ],
        "places": [{"id": "post", "team": "t", "role": "now"}],
    }
    ordered: dict[str, Any] = {name: rows[::-1] if is_reversed else rows for name, rows in tables.items()}
    return build_snapshot(**ordered)


def build_career_company(n_roles: int, seed: int = 0) -> Snapshot:
    """Return a company whose roles lie in families and grades; the target "goal" asks for a little of everything.

    The present role is "now". Each role shares competencies with its neighbours, so that many ways lead up.
    """
    rng = random.Random(seed)
    ids = [f"c{i}" for i in range(12)]
    competencies = [{"id": i, "label": f"Competency {i[1:]}", "scale": "s5"} for i in ids]
    roles: list[dict[str, Any]] = [
        {"id": "now", "label": "Plant assistant", "family": "Operations"},
        {"id": "goal", "label": "Shift supervisor", "family": "Supervision"},
    ]
    requirements = [{"role": "now", "competency": ids[0], "level": 1}]
    requirements += [{"role": "goal", "competency": i, "level": 5, "entry_level": 4} for i in ids[:8]]
    for number in range(n_roles):
        family, grade = _FAMILIES[number % 5], number // 5 % 4
        label = f"{family or 'General'} {_GRADES[grade]} {number}"
        months = rng.choice([6.0, 9.0, 12.0, 18.0])
        roles.append({"id": f"r{number}", "label": label, "family": family, "months_to_full": months})
        for i in rng.sample(ids[:8], 4 + grade):
            level = min(5, 2 + grade + rng.randint(0, 1))
            requirements.append(
                {"role": f"r{number}", "competency": i, "level": level, "entry_level": max(1, level - 2)}
            )
    courses, outcomes, conditions = [], [], []
    for i in ids:
        for level in range(1, 6):
            course = f"k-{i}-{level}"
            courses.append({"id": course, "label": f"Course {i} to {level}", "hours": rng.choice([8, 16, 24, 40])})
            outcomes.append({"course": course, "competency": i, "level": level})
            if level > 1:
                conditions.append({"course": course, "competency": i, "level": level - 1})
    return build_snapshot(
        scales=build_scale(),
        competencies=competencies,
        roles=roles,
        requirements=requirements,
        courses=courses,
        outcomes=outcomes,
        entry_conditions=conditions,
    )


def build_course_company(n_courses: int, seed: int = 0) -> Snapshot:
    """Return a company whose role "goal" is reached by about `n_courses` courses that wait for one another.

    Courses ask for one to three levels of earlier ones; every fourth level is given by a second, dearer course, and
    every fifth course reaches two levels.
    """
    rng = random.Random(seed)
    competencies: list[dict[str, Any]] = []
    courses: list[dict[str, Any]] = []
    outcomes: list[dict[str, Any]] = []
    conditions: list[dict[str, Any]] = []
    asked: set[str] = set()
    for number in range(n_courses):
        i = f"c{number}"
        competencies.append({"id": i, "label": f"{rng.choice(_TASKS)} {rng.choice(_THINGS)} {number}", "scale": "s5"})
        hours = rng.choice([6, 8, 12, 16, 24, 40])
        course = {"id": f"k{number}", "label": f"{rng.choice(_FORMS)} {number}", "hours": hours, "method": "workshop"}
        courses.append(course)
        outcomes.append({"course": f"k{number}", "competency": i, "level": 2})
        recent = [f"c{k}" for k in range(max(0, number - 12), number)]
        if recent and rng.random() < 0.7:
            for needed in rng.sample(recent, min(len(recent), rng.choice([1, 1, 2, 3]))):
                conditions.append({"course": f"k{number}", "competency": needed, "level": 2})
                asked.add(needed)
        if number % 4 == 0:
            courses.append({"id": f"x{number}", "label": f"Dearer way {number}", "hours": hours + 30})
            outcomes.append({"course": f"x{number}", "competency": i, "level": 2})
        if number % 5 == 4:
            outcomes.append({"course": f"k{number}", "competency": f"c{number - 1}", "level": 3})
    targets = [c["id"] for c in competencies if c["id"] not in asked]
    return build_snapshot(
        scales=build_scale(),
        competencies=competencies,
        roles=[{"id": "goal", "label": "Network engineer", "family": "Networks"}],
        requirements=[{"role": "goal", "competency": i, "level": 2} for i in targets],
        courses=courses,
        outcomes=outcomes,
        entry_conditions=conditions,
    )


def build_team_company(size: int, seed: int = 0, *, n_people: int = 0) -> Snapshot:
    """Return a team "t" of `size` needs, as many people (or `n_people`), places that compete, and courses."""
    rng = random.Random(seed)
    ids = [f"c{i}" for i in range(size)]
    n_places = max(2, size // 4)
    names = {f"p{k}": f"{rng.choice(_FIRST)} {rng.choice(_LAST)} {k}" for k in range(n_people or size)}
    held = [
        {"person": person, "competency": i, "level": 2, "date": ON, "source": "assessor"}
        for person in names
        for i in rng.sample(ids, max(2, size // 10))
    ]
    return build_snapshot(
        scales=build_scale(),
        competencies=[
            {"id": i, "label": f"{rng.choice(_TASKS)} {rng.choice(_THINGS)} {i[1:]}", "scale": "s5"} for i in ids
        ],
        roles=[{"id": f"r{k}", "label": f"Post {k}: {rng.choice(_THINGS)}"} for k in range(n_places)],
        requirements=[
            {"role": f"r{k}", "competency": ids[k // 2 if k < 4 else k], "level": 2} for k in range(n_places)
        ],
        courses=[
            {"id": f"k{i}", "label": f"{rng.choice(_FORMS)} {i}", "hours": rng.choice([8, 12, 20])}
            for i in range(size)
            if i % 7
        ],
        outcomes=[{"course": f"k{i}", "competency": f"c{i}", "level": 2} for i in range(size) if i % 7],
        teams=[{"id": "t", "label": "Network control"}],
        shifts=[{"id": "day", "team": "t", "label": "Day crew"}, {"id": "night", "team": "t", "label": "Night crew"}],
        people=[
            {"id": person, "name": name, "team": "t", "shift": ("day", "night")[k % 2]}
            for k, (person, name) in enumerate(names.items())
        ],
        assessments=held,
        cover_needs=[
            {"team": "t", "competency": i, "level": 2, "minimum": 1 + n % 3 // 2, "target": 2 + n % 3}
            for n, i in enumerate(ids)
        ],
        places=[
            {"id": f"post{k}", "team": "t", "role": f"r{k}", "shift": (None, "day", "night")[k % 3], "count": 1 + k % 2}
            for k in range(n_places)
        ],
    )


def build_learning_team(size: int) -> Snapshot:
    """Return a team "t" of `size` people who can do nothing, as many needs for two people, and a course for each."""
    ids = [f"c{i}" for i in range(size)]
    return build_snapshot(
        scales=build_scale(),
        competencies=[
            {"id": i, "label": f"{_TASKS[n % 6]} {_THINGS[n % 7]}, part {n}", "scale": "s5"} for n, i in enumerate(ids)
        ],
        courses=[
            {"id": f"k{n}", "label": f"{_FORMS[n % 5]} on {_THINGS[n % 7]} {n}", "hours": 20, "coach_hours": n % 3}
            for n in range(size)
        ],
        outcomes=[{"course": f"k{n}", "competency": i, "level": 2} for n, i in enumerate(ids)],
        teams=[{"id": "t", "label": "Network control"}],
        people=[{"id": f"p{n:02}", "name": f"{_FIRST[n % 8]} {_LAST[n % 7]} {n}", "team": "t"} for n in range(size)],
        cover_needs=[{"team": "t", "competency": i, "level": 2, "minimum": 1, "target": 2} for i in ids],
    )


def build_scarce_team(n_places: int = 6, n_able: int = 4) -> Snapshot:
    """Return a team "t" with more places of one kind than people able for them, and two people who are close."""
    people = [f"p{n}" for n in range(n_able + 2)]
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("isolate start read"),
        roles=[{"id": "operator", "label": "Pumping station operator"}],
        requirements=[{"role": "operator", "competency": i, "level": 3} for i in ("isolate", "start", "read")],
        teams=[{"id": "t", "label": "Pumping"}],
        shifts=[{"id": "day", "team": "t", "label": "Day crew"}],
        people=[
            {"id": i, "name": f"{_FIRST[n]} {_LAST[n]}", "team": "t", "shift": "day"} for n, i in enumerate(people)
        ],
        assessments=[
            {"person": i, "competency": c, "level": 3 if n < n_able else 1, "date": ON, "source": "assessor"}
            for n, i in enumerate(people)
            for c in ("isolate", "start", "read")
        ],
        places=[
            {"id": f"post{n}", "team": "t", "role": "operator", "shift": "day", "label": f"Operator at station {n + 1}"}
            for n in range(n_places)
        ],
    )


def build_calendar_company(size: int) -> Snapshot:
    """Return `size` courses of several lengths, every third of which waits for the one before."""
    ids = [f"c{i:02}" for i in range(size)]
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies(" ".join(ids)),
        courses=[
            {"id": i, "label": f"Course {n} with a name of its own", "hours": 4.0 + n % 5 * 6, "weeks": float(n % 7)}
            for n, i in enumerate(ids)
        ],
        outcomes=[{"course": i, "competency": i, "level": 1} for i in ids],
        entry_conditions=[{"course": ids[n], "competency": ids[n - 1], "level": 1} for n in range(1, size, 3)],
    )


_FIRST = ("Ada", "Bo", "Chidi", "Dana", "Elif", "Femi", "Goran", "Hana")
_LAST = ("Okafor", "Lindqvist", "Moreau", "Tanaka", "Novak", "Reyes", "Silva")
_TASKS = ("Operate", "Inspect", "Calibrate", "Plan the upkeep of", "Isolate and lock off", "Read")
_THINGS = ("booster pumps", "valves", "filters", "drawings", "the northern trunk main", "dosing units", "alarms")
_FORMS = ("Workshop", "Course", "Practice with a coach", "Guided reading", "Weeks beside a specialist")


def build_certified_team(size: int) -> Snapshot:
    """Return a team of so many people, and five certificates with a course for each."""
    ids = [f"c{n}" for n in range(5)]
    return build_snapshot(
        scales=build_scale("held", 1),
        competencies=[
            row | {"label": f"Certificate of kind {n}"}
            for n, row in enumerate(build_competencies(" ".join(ids), "held", kind="certificate"))
        ],
        courses=[{"id": f"k-{i}", "label": f"Course for {i}", "hours": 8.0, "lead_weeks": 2.0} for i in ids],
        outcomes=[{"course": f"k-{i}", "competency": i, "level": 1} for i in ids],
        teams=[{"id": "t", "label": "Water works"}],
        people=[{"id": f"p{k:02d}", "name": f"Person number {k}", "team": "t"} for k in range(size)],
    )


def add_dues(snapshot: Snapshot, team: str, competencies: Sequence[str]) -> Snapshot:
    """Return a company in which everyone of a team must hold some certificates; they end over half a year."""
    rows: list[tuple[str, dict[str, Any]]] = []
    for n, competency in enumerate(competencies):
        asked = {"id": f"must-{competency}", "label": f"Must hold {competency}", "competency": competency}
        rows.append(("obligations", asked | {"rule": "team", "of": team}))
        for k, person in enumerate(snapshot.get_members(team)):
            until = ON + timedelta(days=(17 * k + 41 * n) % 180 - 10)
            held = {"person": person.id, "competency": competency, "level": 1, "source": "certificate"}
            rows.append(("assessments", held | {"date": ON - timedelta(days=400), "valid_until": until}))
    return snapshot.with_changes(put=[(table, TABLES[table].build(**row)) for table, row in rows])
