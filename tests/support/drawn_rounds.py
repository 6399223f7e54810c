"""Small random rounds of assessments, and small random companies in which some people may assess others.

Nothing here computes an answer.
"""

from __future__ import annotations

import random
from datetime import date, timedelta
from typing import Any

from small_company import build_scale

from ontology.analysis.assessing.round_problem import RoundProblem
from ontology.analysis.assessing.round_rows import RoundRow
from ontology.model.tables import TABLES

ON = date(2026, 11, 24)
Rows = dict[str, list[dict[str, Any]]]


def draw_round(seed: int, *, rows: int, assessors: int, people: int) -> RoundProblem:
    """Return a round in which hours may be short, and people may assess each other; the same for the same seed."""
    rng = random.Random(f"round {seed}")
    names = [f"p{n}" for n in range(people)]
    ids = sorted(rng.sample(names, min(people, assessors // 2)) + [f"q{n}" for n in range(assessors - assessors // 2)])
    sizes = rng.choice([(60,), (30, 60), (20, 30, 45, 60), (0, 30, 50)])
    minutes = {f"c{n}": rng.choice(sizes) for n in range(4)}
    double = {competency: rng.random() < 0.4 for competency in minutes}
    share = rng.choice([0.3, 0.6, 0.9])
    pairs = [(person, competency) for person in names for competency in minutes]
    found = []
    for person, competency in sorted(rng.sample(pairs, min(rows, len(pairs)))):
        able = tuple(i for i in ids if i != person and rng.random() < share)
        found.append(RoundRow(person, competency, "old", minutes[competency], 2 if double[competency] else 1, able))
    most = rng.choice([60, 120, 300])
    return RoundProblem(tuple(found), {i: rng.randrange(0, most + 1, 10) for i in ids})


def draw_assessed_rows(seed: int) -> Rows:
    """Return the rows of a company with roles, levels of every state, memberships and assessors."""
    rng = random.Random(f"assessed {seed}")
    rows: Rows = {name: [] for name in TABLES}
    rows["scales"] = build_scale("s3", 3)
    for n in range(5):
        row: dict[str, Any] = {"id": f"c{n}", "label": f"C{n}", "scale": "s3", "safety": rng.random() < 0.4}
        row["kind"] = rng.choice(["skill", "skill", "skill", "certificate"])
        row["assessment_hours"] = rng.choice([None, 0.5, 1.25, 2.0])
        row["validity_months"] = rng.choice([None, 6, 12])
        row["expiry"] = "hard" if row["kind"] == "certificate" else rng.choice(["hard", "review"])
        rows["competencies"].append(row)
    rows["roles"] = [{"id": f"r{n}", "label": f"R{n}"} for n in range(2)]
    for role in ("r0", "r1"):
        for n in sorted(rng.sample(range(5), 3)):
            necessity = rng.choice(["blocking", "essential", "desirable"])
            rows["requirements"].append(
                {"role": role, "competency": f"c{n}", "level": rng.randint(1, 3), "necessity": necessity}
            )
    rows["teams"] = [{"id": team, "label": team} for team in ("t", "u")]
    for n in range(7):
        person = {"id": f"p{n}", "name": f"P{n}", "team": rng.choice(["t", "u", ""]), "role": rng.choice(["r0", "r1"])}
        if rng.random() < 0.2:
            person |= {"role": ""}
        if rng.random() < 0.2:
            person |= {rng.choice(["start_date", "end_date"]): ON + timedelta(days=rng.randint(-9, 9))}
        rows["people"].append(person)
        for competency in rows["competencies"]:
            for _ in range(rng.choice([0, 0, 1, 1, 2])):
                rows["assessments"].append(_draw_assessment(rng, person["id"], competency))
        if rng.random() < 0.25:
            first = ON + timedelta(days=rng.randint(-20, 10))
            rows["memberships"].append(
                {"person": person["id"], "from_date": first, "to_date": first + timedelta(days=rng.randint(0, 30))}
                | {"team": rng.choice(["t", "u"]), "role": rng.choice(["", "r0", "r1"])}
            )
        if rng.random() < 0.6:
            rows["assessors"].append(_draw_assessor(rng, person["id"]))
    rows["assessments"] = list({_get_key(row): row for row in rows["assessments"]}.values())
    return rows


def _draw_assessment(rng: random.Random, person: str, competency: dict[str, Any]) -> dict[str, Any]:
    day = ON - timedelta(days=rng.choice([5, 100, 300, 400, 729, 730, 731, 732, 900]))
    row = {"person": person, "competency": competency["id"], "level": rng.randint(0, 3), "date": day}
    row["source"] = rng.choice(["certificate", "assessor", "manager", "self"])
    if rng.random() < 0.4:
        row["valid_until"] = day + timedelta(days=rng.randint(0, 900))
    if rng.random() < 0.1:
        row["withdrawn_on"] = ON
    return row


def _draw_assessor(rng: random.Random, person: str) -> dict[str, Any]:
    row: dict[str, Any] = {"person": person, "hours_per_round": rng.choice([0, 1.5, 2, 4, 8])}
    if rng.random() < 0.5:
        row["competencies"] = tuple(sorted(rng.sample([f"c{n}" for n in range(5)], rng.randint(1, 4))))
    if rng.random() < 0.4:
        row["teams"] = (rng.choice(["t", "u"]),)
    if rng.random() < 0.3:
        row[rng.choice(["from_date", "to_date"])] = ON + timedelta(days=rng.randint(-9, 9))
    return row


def _get_key(row: dict[str, Any]) -> tuple[Any, ...]:
    return row["person"], row["competency"], row["date"], row["source"], row["level"]
