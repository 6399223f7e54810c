"""A round of 400 rows and 40 assessors: the plan against first come, first served; what it proves in ten seconds.

Run: ``python -m tests.benchmarks assessment-round``. Twelve random companies: in six each assessor sees one team, in
six some see two, so that much of the company hangs together. Seconds are of the clock, reading the Snapshot included;
both keep the same rules, and both are counted by the same function.
"""

from __future__ import annotations

import random
import sys
import time
from datetime import date, timedelta
from pathlib import Path
from statistics import median
from typing import Any, Final

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parents[1] / "support")]

from small_company import build_scale, build_snapshot

from ontology.analysis.assessing.assessment_round import plan_assessment_round
from ontology.analysis.assessing.round_problem import Assignment, RoundProblem, RoundValue, measure, split
from ontology.analysis.assessing.round_rows import RoundAsked, build_rows, find_assessors
from ontology.snapshot.snapshot import Snapshot

ON: Final = date(2026, 11, 24)
LIMIT_S: Final = 10.0
LINE: Final = "{:11} {:>5} {:>20} {:>20} {:12} {:>20} {:>6} {:>5}"
TEAMS, PEOPLE, ASSESSORS, COMPETENCIES, ROWS = 10, 160, 40, 30, 400


def build_company(seed: int, *, most_teams: int) -> Snapshot:
    """Return a company in which 400 competencies of people are to be seen again; the same for the same seed."""
    rng = random.Random(f"round {seed} {most_teams}")
    teams = [f"t{n}" for n in range(TEAMS)]
    families = {team: rng.randrange(4) for team in teams}
    asked = {f: rng.sample(range(COMPETENCIES), 10) for f in range(4)}
    roles = {f"r{n}": (n % 4, rng.sample(asked[n % 4], rng.randint(4, 6))) for n in range(12)}
    people = []
    for n in range(PEOPLE):
        team = teams[n % TEAMS]
        role = rng.choice([role for role, (family, _) in roles.items() if family == families[team]])
        people.append({"id": f"p{n:03d}", "name": f"p{n:03d}", "team": team, "role": role})
    wanted = [(row["id"], c) for row in people for c in sorted(roles[row["role"]][1])]
    old = set(rng.sample(wanted, ROWS))
    assessors: list[dict[str, Any]] = []
    held = [(person, c) for person, c in wanted if (person, c) not in old]
    for n in range(ASSESSORS):
        others = rng.sample(teams, rng.randint(0, most_teams - 1))
        names = {f"c{c:02d}" for c in range(COMPETENCIES) if rng.random() < 0.75}
        row = {"person": f"p{n:03d}", "teams": tuple(sorted({teams[n % TEAMS], *others})), "competencies": tuple(names)}
        assessors.append(row | {"hours_per_round": float(rng.choice([8, 8, 16, 16, 24]))})
    return build_snapshot(
        scales=build_scale("s", 3),
        competencies=[
            {"id": f"c{c:02d}", "label": f"C{c}", "scale": "s", "safety": rng.random() < 0.25}
            | {"assessment_hours": rng.choice([0.5, 1.0, 1.0, 1.5, 2.0])}
            for c in range(COMPETENCIES)
        ],
        roles=[{"id": role, "label": role} for role in roles],
        requirements=[
            {"role": role, "competency": f"c{c:02d}", "level": 2} for role, (_, names) in roles.items() for c in names
        ],
        teams=[{"id": team, "label": team} for team in teams],
        people=people,
        assessments=[
            {"person": person, "competency": f"c{c:02d}", "level": 2, "date": ON - timedelta(days=days)}
            | {"source": "assessor"}
            for days, group in ((900, sorted(old)), (30, held))
            for person, c in group
        ],
        assessors=assessors,
    )


def assign_first_come(problem: RoundProblem) -> Assignment:
    """Return what first come, first served gives: row by row the first by id who may and has the time."""
    left = dict(problem.capacity)
    pairs: set[tuple[str, str]] = set()
    found = []
    for row in problem.rows:
        free = [i for i in row.able if left[i] >= row.minutes and (i, row.person) not in pairs][: row.wanted]
        for assessor in free:
            left[assessor] -= row.minutes
            pairs.add((row.person, assessor))
        found.append(tuple(free))
    return tuple(found)


def show(value: RoundValue) -> str:
    """Return the aims in one cell."""
    return f"{value.unserved:3d} {value.missing:3d} {value.largest_load_minutes / 60:5.1f} h {value.pairs:4d}"


def main() -> None:
    """Print the table."""
    print("aims: rows without an assessor, assessors missing, largest load, interviews")
    heads = ("company", "parts", "plan", "first come", "status", "not proved", "bound", "s")
    print(LINE.format(*heads))
    proved, times = 0, []
    for most_teams in (1, 2):
        for seed in range(6):
            snapshot = build_company(seed, most_teams=most_teams)
            problem = RoundProblem(tuple(build_rows(snapshot, RoundAsked(ON, ON))), find_assessors(snapshot, ON))
            begin = time.perf_counter()
            plan = plan_assessment_round(snapshot, ON, time_limit_s=LIMIT_S)
            times.append(time.perf_counter() - begin)
            value = RoundValue(plan.unserved, plan.missing, plan.largest_load_minutes, plan.pairs)
            proved += plan.status == "optimal"
            mark = " *" if any("comes first" in remark for remark in plan.remarks) else ""
            cells = (f"{most_teams} team{'s' * (most_teams > 1)}, {seed}", len(split(problem)), show(value))
            cells += (show(measure(problem, assign_first_come(problem))), plan.status + mark, plan.unproved_aim or "-")
            print(LINE.format(*cells, str(plan.lower_bound or "-"), f"{times[-1]:.1f}"))
    print(f"proved {proved} of {len(times)}; median {median(times):.1f} s, most {max(times):.1f} s of {LIMIT_S:g} s")
    print("*: the aims are proved, which of equal rounds comes first was not settled in time")


if __name__ == "__main__":
    main()
