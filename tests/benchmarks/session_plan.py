"""Session plans of a company of 300 people, 40 sessions, 12 weeks and 25 needs, beside first come, first served.

First come, first served: people in the order of due day and id, each into the first session in time with a free seat
(else the first later one), whatever it does to cover, then the sessions below their group called off. Both are counted
by the same functions. Made-up companies; common practice, no source.
"""

from __future__ import annotations

import random
import statistics
import time
from datetime import date, timedelta
from typing import Any

from small_company import build_scale

from ontology.analysis.sessions.plan_check import compute_value, find_broken_rule
from ontology.analysis.sessions.plan_cover import CoverRow, build_cover_rows, get_calendars, with_booked_outcomes
from ontology.analysis.sessions.plan_model import Limits
from ontology.analysis.sessions.plan_rows import Asked, PlanRow, build_rows, find_open_sessions
from ontology.analysis.sessions.plan_solver import Choice
from ontology.analysis.sessions.session_plan import plan_sessions
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

ON = date(2026, 11, 16)
UNTIL = ON + timedelta(weeks=12)
DAY = timedelta(days=1)
CASES, TIME_LIMIT_S = 12, 20.0


def build_company(seed: int, *, people: int = 300, sessions: int = 40, needs: int = 25) -> Snapshot:
    """Return a company whose certificates end around the sessions that renew them."""
    rng = random.Random(f"session plan {seed}")
    kinds = [f"c{n}" for n in range(8)]
    teams = [f"t{n}" for n in range(10)]
    rows: dict[str, list[dict[str, Any]]] = {name: [] for name in TABLES}
    rows["scales"] = build_scale("s1", 1)
    rows["sites"] = [{"id": i, "label": i} for i in ("north", "south")]
    rows["competencies"] = [
        {"id": i, "label": i, "scale": "s1", "kind": "certificate", "validity_months": 12, "refresher_months": 6}
        for i in kinds
    ]
    rows["courses"] = [
        {"id": f"k{i}", "label": i, "hours": rng.choice([4, 8, 16]), "cost": 50, "lead_weeks": 1, "group_minimum": 3}
        for i in kinds
    ]
    rows["outcomes"] = [{"course": f"k{i}", "competency": i, "level": 1, "renews": True} for i in kinds]
    rows["teams"] = [{"id": i, "label": i, "site": rng.choice(["north", "south"])} for i in teams]
    rows["obligations"] = [{"id": f"o{i}", "label": i, "competency": i, "rule": "everyone"} for i in kinds]
    for n in range(people):
        person = f"p{n:03}"
        rows["people"].append({"id": person, "name": person, "team": teams[n % 10], "start_date": date(2020, 1, 1)})
        for i in kinds:
            end = ON + rng.randint(-40, 400) * DAY
            done = {"person": person, "competency": i, "level": 1, "source": "certificate"}
            rows["assessments"].append(done | {"date": end - 365 * DAY, "valid_until": end})
        if rng.random() < 0.2:
            first = ON + rng.randint(0, 80) * DAY
            rows["absences"].append({"person": person, "from_date": first, "to_date": first + rng.randint(0, 14) * DAY})
    for n in range(sessions):
        first = ON + rng.randint(8, 80) * DAY
        row = {"id": f"s{n:02}", "course": f"k{rng.choice(kinds)}", "from_date": first}
        row |= {"to_date": min(first + rng.choice([0, 0, 1]) * DAY, UNTIL), "seats": rng.randint(8, 16)}
        rows["sessions"].append(row | {"site": rng.choice(["", "north", "south"]), "fixed_cost": 300, "trip_cost": 20})
    asked = rng.sample([(t, i) for t in teams for i in kinds], needs)
    rows["cover_needs"] = [
        {"team": t, "competency": i, "level": 1, "minimum": rng.randint(12, 24), "target": 28} for t, i in asked
    ]
    return Snapshot({name: [TABLES[name].build(**row) for row in some] for name, some in rows.items()})


def serve_first_come(snapshot: Snapshot, rows: list[PlanRow]) -> Choice:
    """Return the plan of first come, first served."""
    free = {s.id: s.seats or 10**6 for s in snapshot.sessions.values()}
    busy: set[tuple[str, date]] = set()
    chosen: dict[int, int] = {}
    for number in sorted(range(len(rows)), key=lambda n: (rows[n].due, rows[n].person, rows[n].course)):
        row = rows[number]
        for index, seat in enumerate(row.seats):
            session = seat.session
            days = [
                (row.person, session.from_date + n * DAY) for n in range((session.to_date - session.from_date).days + 1)
            ]
            if free[session.id] and busy.isdisjoint(days):
                free[session.id] -= 1
                busy.update(days)
                chosen[number] = index
                break
    sizes = [rows[n].seats[i].session.id for n, i in chosen.items()]
    held = {i for i in set(sizes) if sizes.count(i) >= 3}
    return tuple(
        chosen[n] if n in chosen and rows[n].seats[chosen[n]].session.id in held else None for n in range(len(rows))
    )


def count_holes(cover: tuple[CoverRow, ...], choice: Choice) -> int:
    """Return how many needs are short on how many kinds of days, for want of people in sessions."""
    chosen = {(number, index) for number, index in enumerate(choice) if index is not None}
    holes = 0
    for line in cover:
        more = sum(
            any(s in chosen for s in gain.after) and not any(s in chosen for s in gain.unless) for gain in line.gains
        )
        holes += sum(seat in chosen for seat in line.seats) > line.room + more
    return holes


def main() -> None:
    """Print the table."""
    print("case   rows seats  status    seconds   late        unseated    days past due   sessions    days with holes")
    print("                                     plan first  plan first  plan   first    plan first  plan first")
    proved, settled, seconds = 0, 0, []
    for case in range(CASES):
        snapshot = build_company(case)
        asked = Asked(ON, UNTIL)
        sessions = find_open_sessions(snapshot, asked)
        rows = [row for row in build_rows(snapshot, asked) if row.course in sessions]
        base = with_booked_outcomes(snapshot)
        cover = build_cover_rows(base, rows, get_calendars(base, rows, UNTIL))
        first = serve_first_come(snapshot, rows)
        begin = time.perf_counter()
        plan = plan_sessions(snapshot, ON, until=UNTIL, time_limit_s=TIME_LIMIT_S)
        took = time.perf_counter() - begin
        seconds.append(took)
        proved += plan.status == "optimal"
        settled += plan.status == "optimal" and len(plan.remarks) == 1
        served = compute_value(snapshot, rows, first)
        status = plan.status if plan.unproved_aim is None else f"{plan.unproved_aim}>={plan.lower_bound}"
        print(
            f"{case:4} {len(rows):6} {len(plan.seats):5}  {status:9} {took:7.1f} "
            f"{plan.late:6} {served.late:5} {plan.unseated:6} {served.unseated:5} {plan.days_past_due:6} "
            f"{served.days_past_due:7} {plan.sessions_opened:6} {served.sessions_opened:5} "
            f"{0:6} {count_holes(cover, first):5}",
            flush=True,
        )
        assert not find_broken_rule(snapshot, ON, rows, (), Limits(), first), "first come, first served keeps the rest"
    print(f"every aim proved within {TIME_LIMIT_S:g} s: {proved} of {CASES}, of them the first of equals: {settled}")
    print(f"median {statistics.median(seconds):.1f} s on the clock")


if __name__ == "__main__":
    main()
