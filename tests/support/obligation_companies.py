"""Random companies of a few people with obligations of every rule, and what these hang on; all within two years."""

from __future__ import annotations

import random
from datetime import date, timedelta
from typing import Any

from small_company import build_scale, build_snapshot

from ontology.model.work_records import BOOKING_STATES, SESSION_STATES
from ontology.snapshot.snapshot import Snapshot

__all__ = ["ON", "build_company"]

ON = date(2026, 11, 16)

_Rows = dict[str, list[dict[str, Any]]]


def build_company(seed: int) -> Snapshot:
    """Return a company, the same for the same seed."""
    rng = random.Random(seed)
    rows: _Rows = {"scales": build_scale("s", 3)}
    _add_framework(rng, rows)
    _add_company(rng, rows)
    _add_people(rng, rows)
    _add_obligations(rng, rows)
    _add_sessions(rng, rows)
    return build_snapshot(**rows)


def _day(rng: random.Random, low: int = -400, high: int = 400) -> date:
    return ON + timedelta(days=rng.randint(low, high))


def _span(rng: random.Random, longest: int, low: int = -400, high: int = 300) -> dict[str, date]:
    first = _day(rng, low, high)
    return {"from_date": first, "to_date": first + timedelta(days=rng.randint(0, longest))}


def _maybe(rng: random.Random, chance: float, **values: Any) -> dict[str, Any]:
    return values if rng.random() < chance else {}


def _add_framework(rng: random.Random, rows: _Rows) -> None:
    rows["competencies"] = []
    for i in range(5):
        kind = rng.choice(["certificate", "certificate", "skill", "knowledge"])
        row: dict[str, Any] = {"id": f"c{i}", "label": f"C {i}", "scale": "s", "kind": kind}
        row |= {"expiry": "hard" if kind == "certificate" else rng.choice(["hard", "review", "review"])}
        row |= _maybe(rng, 0.5, refresher_months=rng.choice([0, 1, 6, 12]))
        row |= _maybe(rng, 0.3, safety=True) | _maybe(rng, 0.2, appointment=True)
        if i and rng.random() < 0.35:
            row["holds_while"] = tuple(f"c{j}" for j in rng.sample(range(i), rng.randint(1, min(2, i))))
        rows["competencies"].append(row)
    pairs = rng.sample([(a, b) for a in range(5) for b in range(5) if a != b], rng.choice([0, 0, 1, 2]))
    rows["equivalences"] = [
        {"competency": f"c{a}", "counts_as": f"c{b}", "level": rng.randint(1, 3), "as_level": rng.randint(1, 3)}
        | _maybe(rng, 0.4, from_date=_day(rng))
        for a, b in pairs
    ]
    for row in rows["equivalences"]:
        if "from_date" in row and rng.random() < 0.5:
            row["to_date"] = row["from_date"] + timedelta(days=rng.randint(0, 100))
    rows["courses"], rows["outcomes"], rows["entry_conditions"] = [], [], []
    for i in range(6):
        row = {"id": f"k{i}", "label": f"K {i}", "hours": rng.choice([0.0, 4.0, 8.0, 44.5, 90.0])}
        row |= {"cost": rng.choice([0.0, 10.0, 10.01]), "lead_weeks": rng.choice([0.0, 1.0, 1.1, 2.5])}
        row |= _maybe(rng, 0.3, weeks=rng.choice([0.5, 1.3])) | _maybe(rng, 0.6, seats=rng.randint(1, 2))
        rows["courses"].append(row)
        for j in rng.sample(range(5), rng.randint(1, 3)):
            is_renewal = rng.random() < 0.4
            outcome = {"course": f"k{i}", "competency": f"c{j}", "level": rng.randint(1, 3), "renews": is_renewal}
            rows["outcomes"].append(outcome)
        if rng.random() < 0.3:
            asked = {"course": f"k{i}", "competency": f"c{rng.randrange(5)}", "level": rng.randint(1, 2)}
            rows["entry_conditions"].append(asked)


def _add_company(rng: random.Random, rows: _Rows) -> None:
    rows["sites"] = [{"id": i, "label": i} for i in ("north", "south")]
    rows["roles"] = [{"id": f"r{i}", "label": f"R {i}"} for i in range(2)]
    rows["teams"] = [
        {"id": "t0", "label": "T 0"} | _maybe(rng, 0.7, site="north"),
        {"id": "t1", "label": "T 1", "part_of": "t0"} | _maybe(rng, 0.4, site="south"),
        {"id": "t2", "label": "T 2"},
    ]
    rows["places"] = [{"id": f"x{i}", "team": "t0", "role": "r0"} for i in range(2)]


def _add_people(rng: random.Random, rows: _Rows) -> None:
    for name in ("people", "memberships", "duties", "absences", "assessments", "appointments"):
        rows[name] = []
    for i in range(3):
        person = f"p{i}"
        row = {"id": person, "name": person} | _maybe(rng, 0.9, team=rng.choice(["t0", "t1", "t2"]))
        row |= _maybe(rng, 0.8, role=rng.choice(["r0", "r1"])) | _maybe(rng, 0.5, start_date=_day(rng, -300, 200))
        row |= _maybe(rng, 0.25, end_date=_day(rng, 200, 400))
        rows["people"].append(row)
        first = _day(rng, -300, 0)
        for _ in range(rng.choice([0, 0, 1, 2])):  # one after another: no two share a day
            last = first + timedelta(days=rng.randint(0, 150))
            where = {"person": person, "from_date": first, "to_date": last, "team": rng.choice(["t0", "t1", "t2"])}
            rows["memberships"].append(where | _maybe(rng, 0.5, role=rng.choice(["r0", "r1"])))
            first = last + timedelta(days=rng.choice([1, 1, 40]))
        duties = {
            (place, span["from_date"]): {"person": person, "place": place} | span
            for place in ("x0", "x1")
            for span in [_span(rng, 120) for _ in range(rng.choice([0, 0, 1, 3]))]
        }
        rows["duties"] += duties.values()
        absences = [_span(rng, 60) for _ in range(rng.choice([0, 1, 3]))]
        unique = {(row["from_date"], row["to_date"]): row for row in absences}
        rows["absences"] += [{"person": person} | row for row in unique.values()]
        _add_assessments(rng, rows, person)


def _add_assessments(rng: random.Random, rows: _Rows, person: str) -> None:
    found = {}
    for _ in range(rng.randint(0, 20)):
        done = _day(rng, -450, 60)
        row = {"person": person, "competency": f"c{rng.randrange(5)}", "level": rng.randint(1, 3), "date": done}
        row |= {"source": rng.choice(["certificate", "certificate", "certificate", "assessor", "manager", "self"])}
        row |= _maybe(rng, 0.8, valid_until=done + timedelta(days=rng.choice([0, 30, 200, 365, 500])))
        row |= _maybe(rng, 0.1, withdrawn_on=_day(rng, -50, 0)) | _maybe(rng, 0.3, recorded_on=_day(rng, -300, 0))
        found[row["competency"], row["level"], done, row["source"]] = row
    rows["assessments"] += found.values()
    appointed = {(f"c{rng.randrange(5)}", _day(rng)): None for _ in range(2)}
    rows["appointments"] += [
        {"person": person, "competency": competency, "from_date": day} | _maybe(rng, 0.3, level=1)
        for competency, day in appointed
    ]


def _add_obligations(rng: random.Random, rows: _Rows) -> None:
    rows["obligations"] = []
    named = {"role": ["r0", "r1"], "place": ["x0", "x1"], "team": ["t0", "t1", "t2"], "site": ["north", "south"]}
    for i in range(rng.randint(1, 7)):
        rule = rng.choice(["everyone", *named])
        row: dict[str, Any] = {"id": f"o{i}", "label": f"O {i}", "competency": f"c{rng.randrange(5)}", "rule": rule}
        row |= {"level": rng.choice([1, 1, 2]), "days_after": rng.choice([0, 0, 1, 14, 90])}
        if rule != "everyone":
            row["of"] = rng.choice(named[rule])
        row |= _maybe(rng, 0.4, from_date=_day(rng, -300, 300)) | _maybe(
            rng, 0.5, legal_basis=f"law {rng.randrange(2)}"
        )
        if rng.random() < 0.3:
            row["to_date"] = row.get("from_date", _day(rng, -100, 300)) + timedelta(days=rng.randint(0, 100))
        rows["obligations"].append(row)


def _add_sessions(rng: random.Random, rows: _Rows) -> None:
    rows["sessions"], rows["bookings"] = [], []
    for i in range(rng.randint(0, 15)):
        span = _span(rng, 10, -20, 120)
        row = (
            {"id": f"s{i}", "course": f"k{rng.randrange(6)}"}
            | span
            | {"state": rng.choice([*SESSION_STATES, "confirmed", "planned"])}
        )
        row |= _maybe(rng, 0.4, seats=rng.randint(1, 2))
        row |= _maybe(rng, 0.3, book_by=span["from_date"] - timedelta(days=rng.randint(0, 30)))
        rows["sessions"].append(row)
        for j in rng.sample(range(3), rng.randint(0, 2)):
            rows["bookings"].append(
                {"session": f"s{i}", "person": f"p{j}", "state": rng.choice([*BOOKING_STATES, "booked"])}
            )
