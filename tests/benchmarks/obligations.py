"""What a large company must hold by when, by spans, against judging day by day.

The company is invented: 20,000 people in 1,000 teams of 20 divisions at 4 sites, 20 roles, 60 obligations of every
rule, ten assessments a person; one in twelve is lent for a while, one in twenty stands at a place, some certificates
hold only while others do. Day by day is judged for a few people, and told for as many as the company has.
"""

from __future__ import annotations

import random
from datetime import date, timedelta
from typing import Any

from brute_obligations import DayByDay
from company_cover import measure

from ontology.analysis.obligations.company_dues import count_company_obligations
from ontology.analysis.obligations.due_lists import find_obligations, find_team_obligations
from ontology.analysis.obligations.rows import AHEAD_DAYS
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

ON = date(2026, 11, 16)
PEOPLE = 20_000
OBLIGATIONS = 60
_JUDGED_BY_DAY = 12
_RULES = ("everyone", "everyone", "role", "role", "team", "site", "place")


def build_company(seed: int = 1, *, people: int = PEOPLE, obligations: int = OBLIGATIONS) -> Snapshot:
    """Return an invented company, the same for the same seed."""
    rng = random.Random(seed)
    rows: dict[str, list[dict[str, Any]]] = {name: [] for name in TABLES}
    rows["scales"] = [{"scale": "held", "rank": 1, "label": "Held"}]
    rows["sites"] = [{"id": f"site{n}", "label": f"Site {n}"} for n in range(4)]
    rows["roles"] = [{"id": f"r{n:02d}", "label": f"Role {n}"} for n in range(20)]
    rows["teams"] = [{"id": f"d{n:02d}", "label": f"Division {n}", "site": f"site{n % 4}"} for n in range(20)]
    rows["teams"] += [{"id": f"t{n:04d}", "label": f"Team {n}", "part_of": f"d{n % 20:02d}"} for n in range(1000)]
    rows["places"] = [{"id": f"x{n}", "team": f"t{n:04d}", "role": "r00"} for n in range(40)]
    for n in range(obligations):
        more: dict[str, Any] = {"kind": "certificate", "refresher_months": 6} if n % 3 else {"kind": "skill"}
        if n % 10 == 7:
            more["holds_while"] = (f"c{n - 6:02d}",)
        rows["competencies"].append({"id": f"c{n:02d}", "label": f"Competency {n}", "scale": "held"} | more)
        rule = _RULES[n % len(_RULES)]
        of = {"everyone": "", "role": f"r{n % 20:02d}", "team": f"d{n % 20:02d}", "site": f"site{n % 4}"}
        row = {"id": f"o{n:02d}", "label": f"Obligation {n}", "competency": f"c{n:02d}", "rule": rule}
        rows["obligations"].append(row | {"of": of.get(rule, f"x{n % 40}"), "days_after": rng.choice([0, 0, 30])})
        rows["courses"].append({"id": f"k{n:02d}", "label": f"Course {n}", "hours": 8.0, "lead_weeks": 2.0})
        rows["outcomes"].append({"course": f"k{n:02d}", "competency": f"c{n:02d}", "level": 1})
    for n in range(people):
        _add_person(rng, rows, f"p{n:05d}", f"t{n % 1000:04d}", obligations)
    records = {name: [TABLES[name].build(**row) for row in table] for name, table in rows.items()}
    return Snapshot(records, revision=1, store_id="benchmark")


def _add_person(rng: random.Random, rows: dict[str, list[dict[str, Any]]], person: str, team: str, known: int) -> None:
    start = ON - timedelta(days=rng.randint(-100, 3000)) if rng.random() < 0.9 else None
    role = f"r{rng.randrange(20):02d}"
    rows["people"].append({"id": person, "name": person, "team": team, "role": role, "start_date": start})
    span = {"person": person, "from_date": ON + timedelta(days=rng.randint(-60, 60))}
    span["to_date"] = span["from_date"] + timedelta(days=rng.randint(5, 60))
    if rng.random() < 1 / 12:
        rows["memberships"].append(span | {"team": f"t{rng.randrange(1000):04d}"})
    if rng.random() < 1 / 20:
        rows["duties"].append(span | {"place": f"x{rng.randrange(40)}"})
    if rng.random() < 1 / 5:
        rows["absences"].append(span)
    for n in rng.sample(range(known), min(10, known)):
        day = ON - timedelta(days=rng.randint(1, 900))
        end = None if rng.random() < 0.1 else day + timedelta(days=rng.choice([365, 730, 1095]))
        row = {"person": person, "competency": f"c{n:02d}", "level": 1, "date": day, "valid_until": end}
        rows["assessments"].append(row | {"source": "certificate" if n % 3 else "assessor"})


def copy_snapshot(snapshot: Snapshot) -> Snapshot:
    """Return the same company with nothing worked out."""
    return Snapshot({name: list(snapshot.get_table(name).values()) for name in TABLES}, 1, "benchmark")


def main() -> int:
    """Print the table, and check that the ways say the same."""
    snapshot = build_company()
    count = len(snapshot.get_table("assessments"))
    print(f"{len(snapshot.people):,} people, {len(snapshot.obligations)} obligations, {count:,} assessments")
    fresh = copy_snapshot(snapshot)
    company, first_s = measure(lambda: count_company_obligations(fresh, on=ON))
    again, spans_s = measure(lambda: count_company_obligations(fresh, on=ON))
    assert company == again
    rows_of_team, team_s = measure(lambda: find_team_obligations(fresh, "d00", on=ON, parts=True).rows)
    few = sorted(snapshot.people)[:: len(snapshot.people) // _JUDGED_BY_DAY][:_JUDGED_BY_DAY]
    by_day, few_s = measure(lambda: [DayByDay(fresh, i, ON, reach=AHEAD_DAYS).count_bad_days() for i in few])
    day_s = few_s * len(snapshot.people) / len(few)
    assert sum(by_day)
    assert {row.person for row in find_obligations(fresh, ON, few)} <= set(few)
    counts = ", ".join(
        f"{sum(getattr(t, s) for t in company.teams):,} {s}" for s in ("overdue", "within_30", "current")
    )
    print(f"{sum(sum(_list_counts(row)) for row in company.teams):,} rows: {counts}")
    print(f"{'what':64} {'CPU s':>9} {'ratio':>8}")
    for name, seconds in (
        ("counts of the company, indexes not built yet", first_s),
        ("counts of the company", spans_s),
        (f"rows of a division, {len(rows_of_team):,} of them with what to do", team_s),
        (f"judging day by day, as {len(few)} people take", day_s),
    ):
        print(f"{name:64} {seconds:9.2f} {seconds / spans_s:8.2f}")
    return 0


def _list_counts(row: Any) -> tuple[int, ...]:
    return (row.overdue, row.within_30, row.within_60, row.within_90, row.current, row.later)
