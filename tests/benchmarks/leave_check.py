"""Leave checks in a company of five teams of 40, beside asking every day by itself.

The peer asks, for each day of the leave and of the eight weeks around it, what falls without the person, as single
points of failure do. Made-up company; common practice, no source.
"""

from __future__ import annotations

import random
import time
from datetime import date, timedelta
from typing import Any

from small_company import build_scale

from ontology.analysis.cover.presence import get_presence
from ontology.analysis.outlook.leave_check import check_leave
from ontology.analysis.places.holding import find_broken
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

ON = date(2026, 11, 24)
DAY = timedelta(days=1)


def build_company() -> dict[str, list[Any]]:
    """Return the records: 25 competencies, 15 needs and 6 places a team, levels that lapse, an absence for everyone."""
    rng = random.Random("leave")
    rows: dict[str, list[dict[str, Any]]] = {name: [] for name in TABLES}
    rows["scales"] = build_scale("s3", 3)
    kinds = [f"c{n:02}" for n in range(25)]
    rows["competencies"] = [{"id": i, "label": i, "scale": "s3", "validity_months": 12} for i in kinds]
    rows["roles"] = [{"id": f"r{n}", "label": f"R{n}"} for n in range(6)]
    rows["requirements"] = [
        {"role": f"r{n}", "competency": i, "level": rng.randint(1, 2)} for n in range(6) for i in rng.sample(kinds, 6)
    ]
    for team in (f"t{n}" for n in range(5)):
        rows["teams"].append({"id": team, "label": team})
        rows["shifts"] += [{"id": f"{team}s{n}", "team": team, "label": f"{team}s{n}"} for n in range(4)]
        for i in rng.sample(kinds, 15):
            need = {"team": team, "competency": i, "level": rng.randint(1, 2), "minimum": rng.randint(1, 3)}
            applies, together = rng.choice(["team", "each-shift"]), rng.choice(["", "g"])
            rows["cover_needs"].append(need | {"applies": applies, "together": together})
        rows["places"] += [
            {"id": f"{team}x{n}", "team": team, "role": f"r{n}", "shift": f"{team}s{n % 4}"} for n in range(6)
        ]
        for n in range(40):
            _add_person(rng, rows, team, f"{team}p{n:02}", f"{team}s{n % 4}", kinds)
    return {name: [TABLES[name].build(**row) for row in some] for name, some in rows.items()}


def _add_person(
    rng: random.Random, rows: dict[str, list[dict[str, Any]]], team: str, person: str, shift: str, kinds: list[str]
) -> None:
    rows["people"].append({"id": person, "name": person, "team": team, "shift": shift})
    first = ON + rng.randint(-30, 90) * DAY
    rows["absences"].append({"person": person, "from_date": first, "to_date": first + rng.randint(1, 14) * DAY})
    for i in rng.sample(kinds, 10):
        done = ON - rng.randint(1, 500) * DAY
        row = {"person": person, "competency": i, "level": rng.randint(1, 3), "date": done, "source": "assessor"}
        rows["assessments"].append(row | {"valid_until": done + 365 * DAY})


def main() -> None:
    """Print the table; each leave is asked of a Snapshot that keeps nothing yet."""
    records = build_company()
    print("days away  rows  stand-ins  leave check, cpu s  every day by itself, cpu s   ratio")
    for length in (1, 5, 14, 56):
        first = ON + 20 * DAY
        last = first + (length - 1) * DAY
        snapshot = Snapshot(records)
        begin = time.process_time()
        result = check_leave(snapshot, "t0", ON, person_id="t0p10", from_date=first, to_date=last)
        took = time.process_time() - begin
        fresh = Snapshot(records)
        begin = time.process_time()
        days = [first + n * DAY for n in range(-20, length + 56)]
        breaking = [day for day in days if find_broken(get_presence(fresh, "t0", day), {"t0p10"})]
        peer = time.process_time() - begin
        assert sum(first <= day <= last for day in breaking) == result.days_breaking
        stand_ins = sum(len(row.stand_ins) for row in result.breaks)
        print(f"{length:9} {len(result.breaks):5} {stand_ins:10} {took:19.3f} {peer:27.3f} {peer / took:7.1f}")


if __name__ == "__main__":
    main()
