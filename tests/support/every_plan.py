"""The best cross-training plan of a tiny team by looking at every choice of courses, with networkx for the slots.

Written from the meanings alone. Fewest missing (people short of targets, and slots that stay empty), then hours of
learners and coaches, then courses that nobody can coach, then cost, courses and ids. A person takes courses one after
the other in paid working time, and ends them by the day asked for and by their last day.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import date, timedelta
from fractions import Fraction
from itertools import chain, combinations, permutations, product
from math import ceil
from typing import Any

import networkx as nx
from small_company import ON, build_scale

Rows = dict[str, list[dict[str, Any]]]
Levels = dict[str, int]
Choice = tuple[tuple[str, ...], Levels, int]


def draw_tiny_team(seed: int) -> Rows:
    """Return a team of two or three people, three or four courses, needs, groups and places."""
    rng = random.Random(f"every plan {seed}")
    shifts = ["s1", "s2"][: rng.choice([0, 0, 1, 2])]
    people = ["p", "q", "r"][: rng.choice([2, 2, 3])]
    rows: Rows = {"scales": build_scale("s", 3), "teams": [{"id": "t", "label": "T"}], "people": [], "assessments": []}
    rows["competencies"] = [{"id": i, "label": i, "scale": "s"} for i in "abc"]
    rows["shifts"] = [{"id": shift, "team": "t", "label": shift} for shift in shifts]
    rows["roles"] = [{"id": "r0", "label": "r0"}, {"id": "r1", "label": "r1"}]
    rows["requirements"] = [
        {"role": "r0", "competency": "a", "level": 2, "unsupervised_level": 1},
        {"role": "r1", "competency": "b", "level": 1},
        {"role": "r1", "competency": "c", "level": rng.choice([1, 2])},
    ]
    for person in people:
        row: dict[str, Any] = {"id": person, "name": person, "team": "t", "shift": rng.choice(["", *shifts, *shifts])}
        if rng.random() < 0.25:
            row["end_date"] = ON + timedelta(days=rng.randint(0, 25))
        rows["people"].append(row)
        for i in "abc":
            if rng.random() < 0.3:
                known = {"person": person, "competency": i, "level": rng.choice([1, 1, 2]), "source": "assessor"}
                rows["assessments"].append(known | {"date": ON - timedelta(days=9)})
    _draw_courses(rng, rows, 3 if len(people) == 3 else 4)
    asked = {(rng.choice("abc"), rng.randint(1, 2), rng.choice(["team", "each-shift", *shifts])) for _ in range(3)}
    rows["cover_needs"] = []
    for competency, level, applies in sorted(asked)[: rng.randint(1, 3)]:
        need = {
            "team": "t",
            "competency": competency,
            "level": level,
            "applies": applies,
            "minimum": rng.choice([1, 2]),
        }
        need |= {"target": rng.randint(need["minimum"], 3), "together": rng.choice(["", "g", "g", "h"])}
        rows["cover_needs"].append(need)
    rows["places"] = [
        {
            "id": f"x{n}",
            "team": "t",
            "role": rng.choice(["r0", "r1"]),
            "shift": rng.choice(["", *shifts]),
            "count": 1 + n,
        }
        for n in range(rng.choice([0, 1, 2]))
    ]
    return rows


def _draw_courses(rng: random.Random, rows: Rows, count: int) -> None:
    rows |= {"courses": [], "outcomes": [], "entry_conditions": []}
    for n in range(count):
        row: dict[str, Any] = {"id": f"k{n}", "label": "k", "hours": float(rng.choice([0, 1, 2, 2, 3, 50]))}
        row |= {"cost": float(rng.choice([0, 0, 5])), "coach_hours": rng.choice([0.0, 0.0, 0.5, 1.0])}
        rows["courses"].append(row | {"weeks": rng.choice([0.0, 0.5, 1.0]), "lead_weeks": rng.choice([0.0, 0.0, 2.5])})
        gives = {i: rng.randint(1, 2) for i in rng.sample("abc", rng.choice([1, 1, 2]))}
        rows["outcomes"] += [{"course": f"k{n}", "competency": i, "level": level} for i, level in gives.items()]
        other = rng.choice("abc")
        if rng.random() < 0.35 and gives.get(other, 2) > 1:
            rows["entry_conditions"].append({"course": f"k{n}", "competency": other, "level": 1})


def find_best_of_all(rows: Rows, holes: str, by: date | None) -> tuple[int, int, int, int, tuple[tuple[str, str], ...]]:
    """Return missing, minutes with coaches, cents, courses and (person, course) pairs of the best plan."""
    held: dict[str, Levels] = {row["id"]: {} for row in rows["people"]}
    for row in rows["assessments"]:
        held[row["person"]][row["competency"]] = row["level"]
    courses = {row["id"]: row for row in rows["courses"]}
    choices = [list(_list_choices(rows, held, person, by)) for person in rows["people"]]
    best: tuple[Any, ...] | None = None
    for chosen in product(*choices):
        after = {row["id"]: levels for row, (_, levels, _) in zip(rows["people"], chosen, strict=True)}
        pairs = sorted((row["id"], k) for row, (ids, _, _) in zip(rows["people"], chosen, strict=True) for k in ids)
        taken = [courses[k] for _, k in pairs]
        minutes = sum(round(60 * (row["hours"] + row["coach_hours"])) for row in taken)
        uncoached = sum(number for _, _, number in chosen)
        cents = sum(round(100 * row["cost"]) for row in taken)
        missing = _count_missing(rows, after, holes)
        value = (missing, minutes, uncoached, cents, len(pairs), tuple(pairs))
        best = value if best is None else min(best, value)
    assert best is not None
    return best[0], best[1], best[3], best[4], best[5]


def _list_choices(rows: Rows, held: dict[str, Levels], person: dict[str, Any], by: date | None) -> Iterator[Choice]:
    """Yield what a person may take and end in time, the levels after it, and how many courses nobody can coach."""
    last = min(person.get("end_date") or date.max, by or date.max)
    ids = [row["id"] for row in rows["courses"]]
    for some in chain.from_iterable(combinations(ids, n) for n in range(len(ids) + 1)):
        ends = [found for order in permutations(some) if (found := _take(rows, held[person["id"]], order)) is not None]
        if ends:
            days, levels = min(ends, key=lambda pair: pair[0])
            if not some or ON + timedelta(days=days) <= last:
                yield some, levels, sum(not _can_coach(rows, held, person["id"], k) for k in some)


def _take(rows: Rows, held: Levels, order: tuple[str, ...]) -> tuple[int, Levels] | None:
    """Return the days that courses take one after the other, and the levels then; None where one cannot begin."""
    levels, end = dict(held), Fraction(0)
    for k in order:
        (course,) = [row for row in rows["courses"] if row["id"] == k]
        asked = [row for row in rows["entry_conditions"] if row["course"] == k]
        if any(levels.get(row["competency"], 0) < row["level"] for row in asked):
            return None
        weeks = max(Fraction(str(course["weeks"])), Fraction(str(course["hours"])) / 40)
        end = max(end, Fraction(str(course["lead_weeks"]))) + weeks
        for row in rows["outcomes"]:
            if row["course"] == k:
                levels[row["competency"]] = max(levels.get(row["competency"], 0), row["level"])
    return ceil(7 * end), levels


def _can_coach(rows: Rows, held: dict[str, Levels], learner: str, k: str) -> bool:
    """Whether each outcome of a course with coach hours finds someone else at its level."""
    (course,) = [row for row in rows["courses"] if row["id"] == k]
    outcomes = [row for row in rows["outcomes"] if row["course"] == k]
    return not course["coach_hours"] or all(
        any(person != learner and levels.get(row["competency"], 0) >= row["level"] for person, levels in held.items())
        for row in outcomes
    )


def _count_missing(rows: Rows, after: dict[str, Levels], holes: str) -> int:
    """Return the people short of targets, and the slots that no matching fills, as far as asked for."""
    shift_of = {row["id"]: row["shift"] for row in rows["people"]}
    missing, slots = 0, list[list[str]]()
    for place in rows["places"]:
        asked = [row for row in rows["requirements"] if row["role"] == place["role"]]
        needed = {row["competency"]: row.get("unsupervised_level", row["level"]) for row in asked}
        able = [
            p
            for p in after
            if place["shift"] in ("", shift_of[p]) and all(after[p].get(i, 0) >= n for i, n in needed.items())
        ]
        slots += [able] * place["count"]
    for need in rows["cover_needs"]:
        everywhere = [row["id"] for row in rows["shifts"]] or ["nowhere"]
        for shift in everywhere if need["applies"] == "each-shift" else [need["applies"]]:
            people = [
                p
                for p in after
                if shift in ("team", shift_of[p]) and after[p].get(need["competency"], 0) >= need["level"]
            ]
            missing += max(0, need["target"] - len(people)) if holes != "places" else 0
            slots += [people] * need["minimum"] if need["together"] else []
    graph = nx.Graph((number, p) for number, able in enumerate(slots) for p in able)
    top = [number for number in range(len(slots)) if number in graph]
    filled = len(nx.bipartite.hopcroft_karp_matching(graph, top)) // 2
    return missing + (len(slots) - filled if holes != "needs" else 0)
