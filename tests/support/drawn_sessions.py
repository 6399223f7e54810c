"""Small random companies in which people must hold certificates, and sessions of courses that bring them.

Nothing here computes an answer.
"""

from __future__ import annotations

import random
from datetime import date, timedelta
from typing import Any

from small_company import build_scale

from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

ON = date(2026, 11, 16)
DAY = timedelta(days=1)
Rows = dict[str, list[dict[str, Any]]]


def draw_session_rows(seed: int, *, people: int = 4, sessions: int = 4, days: int = 40) -> Rows:
    """Return the rows of a company with obligations, requests, sessions and cover needs; the same for the same seed."""
    rng = random.Random(f"sessions {seed}")
    rows: Rows = {name: [] for name in TABLES}
    rows["scales"] = build_scale("s2", 2)
    rows["sites"] = [{"id": "north", "label": "North"}, {"id": "south", "label": "South"}]
    rows["competencies"] = [
        {"id": "c", "label": "C", "scale": "s2", "kind": "certificate", "validity_months": 12, "refresher_months": 6},
        {"id": "d", "label": "D", "scale": "s2", "kind": "certificate", "validity_months": 24},
        {"id": "e", "label": "E", "scale": "s2"},
    ]
    if rng.random() < 0.3:
        rows["competencies"][0]["renewal_window_months"] = 1
    if rng.random() < 0.3:
        rows["competencies"][0]["appointment"] = True
    rows["roles"] = [{"id": "r", "label": "R"}]
    rows["requirements"] = [{"role": "r", "competency": "c", "level": 1}]
    rows["courses"] = [
        {
            "id": "kc",
            "label": "KC",
            "hours": 4,
            "cost": 10,
            "lead_weeks": 0.5,
            "seats": 3,
            "group_minimum": rng.choice([1, 1, 2, 3]),
        },
        {"id": "kd", "label": "KD", "hours": 16, "cost": 25, "seats": 2, "group_minimum": rng.choice([1, 2])},
        {"id": "ke", "label": "KE", "hours": 8, "seats": 4},
    ]
    rows["outcomes"] = [
        {"course": "kc", "competency": "c", "level": 1, "renews": rng.random() < 0.5},
        {"course": "kd", "competency": "d", "level": rng.choice([1, 2])},
        {"course": "ke", "competency": "e", "level": 1},
    ]
    if rng.random() < 0.3:
        rows["entry_conditions"] = [{"course": "ke", "competency": "c", "level": 1}]
    rows["teams"] = [
        {"id": "t", "label": "T", "site": "north"},
        {"id": "u", "label": "U", "site": rng.choice(["", "south"])},
    ]
    rows["shifts"] = [{"id": f"t{n}", "team": "t", "label": f"T{n}"} for n in range(rng.choice([0, 2]))]
    shifts = [row["id"] for row in rows["shifts"]]
    for n in range(people):
        _draw_person(rng, rows, f"p{n}", shifts)
    rows["obligations"] = [{"id": "oc", "label": "OC", "competency": "c"}]
    if rng.random() < 0.7:
        rows["obligations"].append(
            {
                "id": "od",
                "label": "OD",
                "competency": "d",
                "rule": "team",
                "of": "t",
                "from_date": ON + rng.randint(-5, 30) * DAY,
            }
        )
    for n in range(sessions):
        first = ON + rng.randint(0, days - 3) * DAY
        row = {"id": f"s{n}", "course": rng.choice(["kc", "kc", "kd", "ke"]), "from_date": first}
        row |= {
            "to_date": first + rng.choice([0, 0, 1, 2]) * DAY,
            "state": rng.choice(["planned", "planned", "confirmed", "cancelled"]),
        }
        row |= {"seats": rng.choice([None, 1, 2, 3]), "site": rng.choice(["", "north", "south"])}
        rows["sessions"].append(row | {"fixed_cost": rng.choice([0, 30]), "trip_cost": rng.choice([0, 5])})
    _draw_bookings(rng, rows)
    for competency in rng.sample("cde", 2):
        applies = rng.choice(["team", *(["each-shift"] if shifts else [])])
        need = {"team": "t", "competency": competency, "level": 1, "applies": applies}
        rows["cover_needs"].append(need | {"minimum": rng.choice([1, 1, 2]), "target": 2})
    rows["places"] = [{"id": "x", "team": "t", "role": "r", "shift": rng.choice(["", *shifts])}]
    return rows


def _draw_person(rng: random.Random, rows: Rows, person: str, shifts: list[str]) -> None:
    team = rng.choice(["t", "t", "t", "u"])
    row: dict[str, Any] = {"id": person, "name": person.upper(), "team": team, "start_date": date(2020, 1, 1)}
    row |= {"shift": rng.choice(["", *shifts]) if team == "t" else "", "study_hours_per_week": rng.choice([0, 2, 4, 8])}
    if rng.random() < 0.15:
        row["end_date"] = ON + rng.randint(0, 40) * DAY
    if rng.random() < 0.15:
        row["start_date"] = ON + rng.randint(0, 20) * DAY
    rows["people"].append(row)
    for competency in "cde":
        if rng.random() < 0.75:
            done = ON - rng.randint(1, 420) * DAY
            source = "assessor" if competency == "e" else "certificate"
            until = None if competency == "e" else done + rng.choice([365, 365, 730]) * DAY
            rows["assessments"].append(
                {
                    "person": person,
                    "competency": competency,
                    "level": 1,
                    "date": done,
                    "source": source,
                    "valid_until": until,
                }
            )
    if rng.random() < 0.3:
        first = ON + rng.randint(-5, 35) * DAY
        rows["absences"].append({"person": person, "from_date": first, "to_date": first + rng.randint(0, 9) * DAY})
    if rng.random() < 0.5:
        rows["requests"].append(
            {
                "person": person,
                "course": rng.choice(["ke", "ke", "kd"]),
                "by": rng.choice([None, ON + rng.randint(5, 60) * DAY]),
            }
        )
    if rng.random() < 0.6:
        rows["appointments"].append({"person": person, "competency": "c", "from_date": date(2026, 1, 1)})
    if team == "t" and rng.random() < 0.2:
        first = ON + rng.randint(0, 20) * DAY
        rows["memberships"].append(
            {"person": person, "team": "u", "from_date": first, "to_date": first + rng.randint(3, 30) * DAY}
        )


def _draw_bookings(rng: random.Random, rows: Rows) -> None:
    for session in rows["sessions"]:
        for person in rows["people"]:
            if rng.random() < 0.12:
                state = rng.choice(["booked", "booked", "waiting", "cancelled"])
                rows["bookings"].append({"session": session["id"], "person": person["id"], "state": state})


def build_snapshot(rows: Rows) -> Snapshot:
    """Return the company of some rows."""
    return Snapshot({name: [TABLES[name].build(**row) for row in some] for name, some in rows.items()})
