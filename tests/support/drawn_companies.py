"""Rows of random small companies, and of these once courses are done.

Drawn with every feature that has a date or a slot: shifts, groups, places, each-shift needs, absences, first and last
days, lapses, refreshers, lead weeks. Nothing here computes an answer.
"""

from __future__ import annotations

import random
from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

from brute_meanings import find_own, find_standing, list_ways
from small_company import ON, build_scale

from ontology.model.tables import TABLES

Rows = dict[str, list[dict[str, Any]]]

#: One skill that stays, one that lapses, two certificates: one to renew while held, one also for three months after.
COMPETENCIES: list[dict[str, Any]] = [
    {"id": "a", "label": "A", "scale": "s3"},
    {"id": "b", "label": "B", "scale": "s3", "expiry": "hard", "validity_months": 6, "safety": True},
    {"id": "c", "label": "C", "scale": "s3", "kind": "certificate", "validity_months": 12},
    {"id": "d", "label": "D", "scale": "s3", "kind": "certificate", "validity_months": 9, "refresher_months": 3},
]
IDS = "abcd"
CERTIFICATES = "cd"


def draw_rows(seed: int, *, people: int = 6, is_dated: bool = True) -> Rows:
    """Return the rows of a company, the same for the same seed.

    Parameters
    ----------
    seed : int
    people : int
        The most people of each of the two teams.
    is_dated : bool
        Whether anything changes after the day asked about: without it nobody comes, goes or is absent, nothing lapses.
    """
    rng = random.Random(f"agree {seed}")
    rows: Rows = {name: [] for name in TABLES}
    rows["scales"] = build_scale("s3", 3)
    rows["competencies"] = [dict(row) for row in COMPETENCIES]
    rows["roles"] = [{"id": f"r{n}", "label": f"R{n}"} for n in range(3)]
    for role in ("r0", "r1", "r2"):
        for competency in sorted(rng.sample(IDS, rng.choice([1, 2, 2, 3]))):
            level = rng.randint(1, 2)
            necessity = rng.choice(["blocking", "essential", "essential", "desirable"])
            row = {"role": role, "competency": competency, "level": level, "necessity": necessity}
            rows["requirements"].append(row | {"unsupervised_level": rng.randint(0, level), "entry_level": 0})
    _draw_courses(rng, rows)
    for team in "tu":
        rows["teams"].append({"id": team, "label": team.upper(), "absence_rate": 0.1})
        shifts = [f"{team}{n}" for n in range(rng.choice([0, 1, 2, 2]))]
        rows["shifts"] += [{"id": shift, "team": team, "label": shift} for shift in shifts]
        for n in range(rng.randint(2, people)):
            _draw_person(rng, rows, f"{team}p{n}", team, shifts, is_dated=is_dated)
        _draw_needs(rng, rows, team, shifts)
    return rows


def _draw_courses(rng: random.Random, rows: Rows) -> None:
    for n in range(rng.randint(4, 7)):
        course = f"k{n}"
        hours = rng.choice([0.0, 2.0, 4.0, 8.0, 16.0, 50.0])
        row = {"id": course, "label": course, "hours": hours, "cost": rng.choice([0.0, 10.0])}
        row |= {"weeks": rng.choice([None, None, 0.5, 1.0, 2.5]), "lead_weeks": rng.choice([0.0, 0.0, 1.0, 2.5])}
        row |= {
            "method": rng.choice(["", "classroom", "coaching on the job"]),
            "coach_hours": rng.choice([0.0, 0.0, 1.0]),
        }
        rows["courses"].append(row | {"strand": rng.choice(["", "formal", "social"])})
        given = {IDS[n % 4], *rng.sample(IDS, rng.choice([0, 0, 1]))}
        for competency in sorted(given):
            level = rng.randint(1, 3)
            renews = competency in CERTIFICATES and rng.random() < 0.4
            rows["outcomes"].append({"course": course, "competency": competency, "level": level, "renews": renews})
        if rng.random() < 0.35:
            asked = rng.choice([i for i in IDS if i not in given])
            rows["entry_conditions"].append({"course": course, "competency": asked, "level": 1})


def _draw_person(rng: random.Random, rows: Rows, person: str, team: str, shifts: list[str], *, is_dated: bool) -> None:
    row: dict[str, Any] = {
        "id": person,
        "name": person.upper(),
        "team": team,
        "shift": rng.choice(["", *shifts, *shifts]),
    }
    row |= {"role": rng.choice(["", "r0", "r1"]), "study_hours_per_week": rng.choice([4.0, 4.0, 2.0, 8.0])}
    if is_dated and rng.random() < 0.2:
        row["start_date"] = ON + timedelta(days=rng.randint(-20, 60))
    if is_dated and rng.random() < 0.2:
        row["end_date"] = max(ON, row.get("start_date", ON)) + timedelta(days=rng.randint(0, 100))
    rows["people"].append(row)
    if is_dated and rng.random() < 0.35:
        first = ON + timedelta(days=rng.randint(-10, 70))
        last = first + timedelta(days=rng.randint(0, 30))
        rows["absences"].append({"person": person, "from_date": first, "to_date": last})
    for competency in IDS:
        for _ in range(rng.choice([0, 1, 1, 2 if is_dated else 1])):
            day = ON - timedelta(days=rng.randint(1, 420)) if is_dated else ON - timedelta(days=1)
            if is_dated and rng.random() < 0.1:
                day = ON + timedelta(days=rng.randint(1, 60))
            row = {"person": person, "competency": competency, "level": rng.randint(1, 3), "date": day}
            # where a mistake can hurt, a manager's word counts by rules of its own: not looked at here
            others = ["assessor"] if competency == "b" else ["assessor", "assessor", "manager"]
            row["source"] = "certificate" if competency in CERTIFICATES else rng.choice(others)
            row["valid_until"] = find_valid_until(competency, day) if is_dated else date(2099, 12, 31)
            if not any(
                all(known[k] == row[k] for k in ("person", "competency", "date")) for known in rows["assessments"]
            ):
                rows["assessments"].append(row)


def _draw_needs(rng: random.Random, rows: Rows, team: str, shifts: list[str]) -> None:
    keys = {(rng.choice(IDS), rng.randint(1, 2), rng.choice(["team", "each-shift", *shifts])) for _ in range(4)}
    for competency, level, applies in sorted(keys)[: rng.randint(2, 4)]:
        row: dict[str, Any] = {"team": team, "competency": competency, "level": level, "applies": applies}
        row |= {"minimum": rng.choice([1, 1, 2]), "together": rng.choice(["", "", "g", "g", "h"])}
        rows["cover_needs"].append(row | {"target": rng.randint(row["minimum"], 3), "criticality": rng.randint(1, 5)})
    for n in range(rng.choice([0, 1, 2])):
        shift = rng.choice(["", *shifts])
        rows["places"].append(
            {
                "id": f"{team}x{n}",
                "team": team,
                "role": f"r{rng.randrange(3)}",
                "shift": shift,
                "count": rng.choice([1, 1, 2]),
            }
        )


def find_valid_until(competency: str, day: date) -> date | None:
    """Return the last day of an assessment by the competency's own months (same day of the month, or its last)."""
    months = next(row.get("validity_months") for row in COMPETENCIES if row["id"] == competency)
    if months is None:
        return None
    return add_months(day, months)


def get_held(rows: Rows, person: str, competency: str, day: date) -> tuple[int, int]:
    """Return the level held on a day by its own assessments, and the highest that a refresher keeps or brings back.

    What is suspended, or held because another competency counts as this one, is kept too.
    """
    held = find_own(rows, person, competency, day).level or 0
    ways = list_ways(rows, person, competency, day, find_standing(rows, person, day))
    known = [
        row
        for row in rows["assessments"]
        if (row["person"], row["competency"]) == (person, competency) and row["date"] <= day
        if row.get("withdrawn_on") is None
    ]
    about = next(row for row in COMPETENCIES if row["id"] == competency)
    if known and competency not in CERTIFICATES:
        known = [max(known, key=lambda row: row["date"])]
    grace = about.get("refresher_months")
    lost = [
        row["level"]
        for row in known
        if row.get("valid_until") and grace is not None and add_months(row["valid_until"], grace) >= day
    ]
    return held, max([*(way.level or 0 for way in ways), *lost])


def apply_courses(rows: Rows, done: Iterable[tuple[str, str, date]], usable_on: date | None = None) -> Rows:
    """Return the rows with what courses bring, assessed on the day each is done.

    A refresher brings nothing to who does not hold its level, nor lost it lately enough (on `usable_on`, where it is
    given: then for all courses at once); a level that the latest assessment decides is never lowered.
    """
    after = {**rows, "assessments": list(rows["assessments"])}
    for person, course, day in sorted(done, key=lambda row: row[2]):
        added = []
        for outcome in rows["outcomes"]:
            competency, level = outcome["competency"], outcome["level"]
            if outcome["course"] != course:
                continue
            held, renewable = get_held(after, person, competency, day)
            if usable_on is not None:
                renewable = max(held, get_held(after, person, competency, usable_on)[1])
            is_lower = competency not in CERTIFICATES and held > level
            if is_lower or (outcome["renews"] and renewable < level):
                continue
            source = "certificate" if competency in CERTIFICATES else "assessor"
            row = {"person": person, "competency": competency, "level": level, "date": day, "source": source}
            added.append(row | {"valid_until": find_valid_until(competency, day)})
        for row in added:
            same = [
                known
                for known in after["assessments"]
                if all(known[k] == row[k] for k in ("person", "competency", "date"))
            ]
            if row["competency"] not in CERTIFICATES:
                # of one day the course's own word counts
                after["assessments"] = [known for known in after["assessments"] if known not in same]
            if row not in after["assessments"]:
                after["assessments"].append(row)
    return after


def add_months(day: date, months: int) -> date:
    """Return the same day some months later, or the last of that month."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    following = date(year + (month + 1) // 12, (month + 1) % 12 + 1, 1)
    return min(date(year, month + 1, 1) + timedelta(days=day.day - 1), following - timedelta(days=1))
