"""Random companies with newcomers, memberships and orientation items, and their plans by looking at every day.

The twin knows nothing of the days on which something changes: it asks each day whether a level is met.
"""

from __future__ import annotations

import random
from datetime import date, timedelta
from typing import Any

from drawn_companies import CERTIFICATES, IDS, Rows, draw_rows
from small_company import ON, build_snapshot

from ontology.analysis.profiles.levels import find_ways
from ontology.snapshot.snapshot import Snapshot

DAY = timedelta(days=1)
Plan = list[tuple[str, date, date | None, str]]


def draw_newcomers(seed: int) -> Rows:
    """Return the rows of a company in which people start, change the role and are through some items."""
    rng = random.Random(f"newcomers {seed}")
    rows = draw_rows(seed)
    rows["sites"] = [{"id": i, "label": i} for i in ("n", "s")]
    rows["teams"].append({"id": "top", "label": "Top", "site": "n"})
    for team in rows["teams"][:2]:
        team |= {"part_of": rng.choice(["", "top"]), "site": rng.choice(["", "s"])}
    for person in rows["people"]:
        if rng.random() < 0.6:
            person["start_date"] = ON + timedelta(days=rng.randint(-400, 60))
            person.pop("end_date", None)
        if rng.random() < 0.5:
            first = ON + timedelta(days=rng.randint(-100, 60))
            row = {"person": person["id"], "from_date": first, "team": rng.choice(["t", "u", "top"])}
            row["to_date"] = rng.choice([None, first + timedelta(days=rng.randint(0, 90))])
            rows["memberships"].append(row | {"role": rng.choice(["", "r0", "r1", "r2"])})
    named = {"everyone": [""], "role": ["r0", "r1", "r2"], "team": ["t", "u", "top"], "site": ["n", "s"]}
    for n in range(rng.randint(3, 8)):
        rule = rng.choice([*named])
        item: dict[str, Any] = {"id": f"i{n}", "label": f"I{n}", "rule": rule, "of": rng.choice(named[rule])}
        item |= {"offset_days": rng.randint(-10, 40), "before_work": rng.random() < 0.3}
        item |= {"competency": rng.choice(["", *IDS]), "owner": rng.choice(["", "lead", "desk"])}
        item["level"] = 1 if item["competency"] in ("", *CERTIFICATES) else rng.randint(1, 3)
        rows["orientation_items"].append(item)
        for person in rng.sample(rows["people"], 2):
            row = {"person": person["id"], "item": item["id"], "date": ON + timedelta(days=rng.randint(-60, 20))}
            rows["orientation_done"].append(row)
    return rows


def build(rows: Rows) -> Snapshot:
    """Return the Snapshot of the rows."""
    return build_snapshot(**rows)


def find_plan(rows: Rows, snapshot: Snapshot, person: str, on: date, start: date, *, is_change: bool) -> Plan:
    """Return (item, day, done, state) of a plan, day by day."""
    plan = []
    for item in rows["orientation_items"]:
        if not is_meant(rows, person, start, item) or (is_change and item["rule"] == "everyone"):
            continue
        day = find_day(start, item)
        done = find_done(rows, snapshot, person, on, start, item)
        state = "later"
        if done is not None:
            state = "done"
        elif on > day:
            state = "overdue"
        elif day in [on + n * DAY for n in range(8)]:
            state = "due"
        plan.append((item["id"], day, done, state))
    return sorted(plan, key=lambda row: (row[1], row[0]))


def is_meant(rows: Rows, person: str, start: date, item: dict[str, Any]) -> bool:
    own = next(row for row in rows["people"] if row["id"] == person)
    team, role = own["team"], own.get("role", "")
    for row in rows["memberships"]:
        if row["person"] == person and row["from_date"] <= start <= (row["to_date"] or date.max):
            team, role = row["team"], row["role"] or role
    teams = {row["id"]: row for row in rows["teams"]}
    above = [team, *filter(None, [teams[team].get("part_of", "")])]
    site = next((teams[one]["site"] for one in above if teams[one].get("site")), "")
    named = {"everyone": [""], "role": [role], "team": above, "site": [site]}
    return item["of"] in named[item["rule"]]


def find_day(start: date, item: dict[str, Any]) -> date:
    """Return the day by stepping: one day at a time off the weekend, and back to the start where it is late."""
    step = -DAY if item["before_work"] or item["offset_days"] < 0 else DAY
    day = start + item["offset_days"] * DAY
    while day.isoweekday() > 5:
        day += step
    if item["before_work"] and day > start:
        day = start
        while day.isoweekday() > 5:
            day -= DAY
    return day


def find_done(rows: Rows, snapshot: Snapshot, person: str, on: date, start: date, item: dict[str, Any]) -> date | None:
    for row in rows["orientation_done"]:
        if (row["person"], row["item"]) == (person, item["id"]) and row["date"] <= on:
            return row["date"]
    day = start
    while item["competency"] and day <= on:
        if find_ways(snapshot, person, snapshot.competencies[item["competency"]], day).is_met(item["level"]):
            return day
        day += DAY
    return None
