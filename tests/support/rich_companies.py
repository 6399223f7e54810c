"""Rows of random companies that use memberships, levels that hang on others, equivalences, appointments and the like.

The rows of `draw_rows`, and on top of them by a draw of their own: sites, memberships of every kind, competencies that
hold while others do, equivalences with and without days, appointments, trainees, assessments taken back.
"""

from __future__ import annotations

import random
from datetime import date, timedelta
from typing import Any

from drawn_companies import IDS, Rows, draw_rows
from small_company import ON

_DAY = timedelta(days=1)


def draw_rich_rows(seed: int, *, is_dated: bool = True) -> Rows:
    """Return the rows of a company, the same for the same seed; sound: no circle, no two memberships share a day."""
    rows = draw_rows(seed, is_dated=is_dated)
    rng = random.Random(f"rich {seed}")
    _draw_links(rng, rows, is_dated=is_dated)
    _draw_sites(rng, rows)
    for person in rows["people"]:
        _draw_memberships(rng, rows, person["id"], is_dated=is_dated)
        _draw_appointments(rng, rows, person["id"], is_dated=is_dated)
    for row in rows["requirements"]:
        row["entry_level"] = rng.randint(0, row["level"])
    for row in rows["places"]:
        row |= {"trainees": rng.choice([0, 1, 2, 3]), "trainees_per_able": rng.choice([0, 1, 1, 2])}
    for row in rows["assessments"]:
        if rng.random() < 0.07:
            row["withdrawn_on"] = ON + timedelta(days=rng.randint(-30, 30))
        if row["competency"] == "a" and is_dated and rng.random() < 0.4:
            row["valid_until"] = row["date"] + timedelta(days=rng.randint(100, 500))
    return rows


def _draw_links(rng: random.Random, rows: Rows, *, is_dated: bool) -> None:
    order = list(IDS)
    rng.shuffle(order)
    for row in rows["competencies"]:
        before = order[: order.index(row["id"])]
        if before and rng.random() < 0.4:
            row["holds_while"] = tuple(sorted(rng.sample(before, min(len(before), rng.choice([1, 1, 2])))))
        row["appointment"] = rng.random() < 0.3
    pairs = [(one, other) for one in IDS for other in IDS if one != other]
    chosen = set(rng.sample(pairs, rng.choice([0, 1, 2, 3])))
    if chosen and rng.random() < 0.3:
        chosen |= {(other, one) for one, other in sorted(chosen)[:1]}
    for competency, counts_as in sorted(chosen):
        row = {"competency": competency, "counts_as": counts_as}
        row |= {"level": rng.choice([1, 1, 2]), "as_level": rng.randint(1, 3)}
        if is_dated and rng.random() < 0.5:
            row |= _draw_span(rng, is_open=rng.random() < 0.4)
        rows["equivalences"].append(row)


def _draw_span(rng: random.Random, *, is_open: bool) -> dict[str, Any]:
    first = ON + timedelta(days=rng.randint(-60, 60))
    return {"from_date": first, "to_date": None if is_open else first + timedelta(days=rng.randint(0, 70))}


def _draw_sites(rng: random.Random, rows: Rows) -> None:
    rows["sites"] = [{"id": site, "label": site} for site in ("s1", "s2")]
    for row in rows["teams"]:
        row["site"] = rng.choice(["", "s1", "s2"])


def _draw_memberships(rng: random.Random, rows: Rows, person: str, *, is_dated: bool) -> None:
    if rng.random() < 0.55:
        return
    first = ON + timedelta(days=rng.randint(-50, 40) if is_dated else -30)
    for is_last in (False, True):
        team = rng.choice("tu")
        row: dict[str, Any] = {"person": person, "from_date": first, "team": team}
        last = first + timedelta(days=rng.choice([0, 6, 20, 60]))
        row["to_date"] = last if is_dated and not (is_last and rng.random() < 0.5) else None
        shifts = [shift["id"] for shift in rows["shifts"] if shift["team"] == team]
        row |= {"shift": rng.choice(["", *shifts]), "role": rng.choice(["", "r0", "r1", "r2"])}
        rows["memberships"].append(row | {"kind": rng.choice(["own", "lent", "contractor"])})
        if row["to_date"] is None or rng.random() < 0.5:
            return
        first = last + rng.choice([1, 1, 9]) * _DAY


def _draw_appointments(rng: random.Random, rows: Rows, person: str, *, is_dated: bool) -> None:
    for about in rows["competencies"]:
        if rng.random() < (0.35 if about["appointment"] else 0.9):
            continue
        first = ON + timedelta(days=rng.randint(-90, 40) if is_dated else -90)
        row = {"person": person, "competency": about["id"], "from_date": first, "level": rng.choice([None, 1, 2, 3])}
        is_ending = is_dated and rng.random() < 0.4
        rows["appointments"].append(
            row | {"to_date": first + timedelta(days=rng.randint(0, 90)) if is_ending else None}
        )


def list_days_of_change(rows: Rows) -> list[date]:
    """Return every day that a row names, the day before and the day after, near the day that tests ask about."""
    dated = ("memberships", "equivalences", "appointments", "absences", "assessments", "people")
    names = ("from_date", "to_date", "date", "valid_until", "start_date", "end_date")
    named = {row[name] for table in dated for row in rows[table] for name in names if row.get(name)}
    near = {day + step * _DAY for day in named for step in (-1, 0, 1)}
    return sorted(day for day in near if abs((day - ON).days) <= 120)
