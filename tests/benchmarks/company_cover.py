"""Cover of every team of a large company at once, against asking team by team, and against counting with networkx.

The company is invented: 20,000 people in 1,000 teams, 300 competencies, ten or eleven assessments a person, eight needs
a team, some of them of a group, and six slots of places. Ratios are those of CPU time in one process. Each row has a
Snapshot of its own, so that nothing worked out for one row helps another; indexes of records, which every answer
shares, are built before the clock starts.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any, TypeVar

import networkx as nx

from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.cover.presence import is_absent, is_employed
from ontology.analysis.outlook.company_cover import build_company_day, compute_company_cover
from ontology.analysis.profiles.levels import get_level
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

ON = date(2026, 11, 24)
TEAMS = 1_000
PEOPLE_PER_TEAM = 20
COMPETENCIES = 300

_T = TypeVar("_T")


def build_large_company(
    seed: int = 1, *, teams: int = TEAMS, per_team: int = PEOPLE_PER_TEAM, competencies: int = COMPETENCIES
) -> Snapshot:
    """Return an invented company: teams of a trade share most of what they can do, a third of it are certificates."""
    rng = random.Random(seed)
    rows: dict[str, list[dict[str, Any]]] = {name: [] for name in TABLES}
    rows["scales"] = [{"scale": "craft", "rank": rank, "label": f"Level {rank}"} for rank in range(1, 5)]
    for n in range(competencies):
        more = {"kind": "certificate", "refresher_months": 12} if n % 3 == 0 else {"safety": n % 5 == 0}
        rows["competencies"].append({"id": f"c{n}", "label": f"Competency {n}", "scale": "craft"} | more)
        for level in range(1, 4):
            course = f"k{n}-{level}"
            rows["courses"].append({"id": course, "label": course, "hours": float(rng.choice([8, 16, 24, 40, 60]))})
            rows["outcomes"].append({"course": course, "competency": f"c{n}", "level": level})
            if level > 1:
                rows["entry_conditions"].append({"course": course, "competency": f"c{n}", "level": level - 1})
    rows["competencies"] += [{"id": f"rare{n}", "label": f"Rare {n}", "scale": "craft"} for n in range(competencies)]
    for t in range(teams):
        _add_team(rng, rows, t, per_team, competencies)
    return Snapshot(
        {name: [TABLES[name].build(**row) for row in table] for name, table in rows.items()},
        revision=1,
        store_id="benchmark",
    )


def _draw_rare(rng: random.Random, n: int) -> list[str]:
    """Return something held by few: one person in thirty, any of n."""
    return [f"rare{rng.randrange(n)}"] if rng.random() < 1 / 30 else []


def _add_team(rng: random.Random, rows: dict[str, list[dict[str, Any]]], t: int, per_team: int, n: int) -> None:
    team, trade = f"t{t:04d}", rng.randrange(n // 15) * 15
    skills = [f"c{(trade + i) % n}" for i in range(15)]
    rows["teams"].append({"id": team, "label": team, "absence_rate": rng.choice([0.05, 0.08, 0.1])})
    shifts = [f"{team}-{name}" for name in "abc"]
    rows["shifts"] += [{"id": shift, "team": team, "label": shift} for shift in shifts]
    for p in range(per_team):
        person = f"p{t:04d}-{p:02d}"
        rows["people"].append({"id": person, "name": person, "team": team, "shift": rng.choice(shifts)})
        if rng.random() < 0.15:
            first = ON + timedelta(days=rng.randint(-10, 60))
            rows["absences"].append({"person": person, "from_date": first, "to_date": first + timedelta(days=14)})
        for competency in [*rng.sample(skills, 9), *_draw_rare(rng, n)]:
            day = ON - timedelta(days=rng.randint(1, 900))
            source, end = rng.choice(["assessor", "assessor", "manager", "self"]), None
            if competency[0] == "c" and int(competency[1:]) % 3 == 0:
                source, end = "certificate", day + timedelta(days=1000)
            rows["assessments"].append(
                {
                    "person": person,
                    "competency": competency,
                    "level": rng.randint(1, 4),
                    "date": day,
                    "source": source,
                    "valid_until": end,
                }
            )
    for competency in [*rng.sample(skills, 7), f"rare{rng.randrange(n)}"]:
        minimum = rng.choice([1, 1, 2])
        rows["cover_needs"].append(
            {
                "team": team,
                "competency": competency,
                "level": rng.randint(1, 3),
                "minimum": minimum,
                "target": minimum + 2,
                "criticality": rng.randint(1, 5),
                "applies": rng.choice(["team", "team", "each-shift"]),
                "together": rng.choice(["", "", "pair"]),
            }
        )
    for number in range(3):
        role, asked = f"{team}-{number}", rng.sample(skills, 2)
        rows["roles"].append({"id": role, "label": role})
        rows["requirements"] += [{"role": role, "competency": c, "level": rng.randint(1, 2)} for c in asked]
        rows["places"].append({"id": role, "team": team, "role": role, "shift": rng.choice(["", *shifts]), "count": 2})


def count_with_networkx(snapshot: Snapshot) -> dict[tuple[str, ...], int]:
    """Return the depth of every need as the degree of its node in one graph of people and needs."""
    graph: nx.Graph[tuple[str, ...]] = nx.Graph()
    for team_id in snapshot.teams:
        members = [p for p in snapshot.get_members(team_id) if is_employed(p, ON) and not is_absent(snapshot, p.id, ON)]
        for need in snapshot.get_cover_needs(team_id):
            competency = snapshot.competencies[need.competency]
            shifts = ["", *(s.id for s in snapshot.get_shifts(team_id))]
            for shift in shifts[:1] if need.applies == "team" else shifts[1:]:
                node = (team_id, need.competency, str(need.level), need.applies, shift)
                graph.add_node(node)
                for person in members:
                    if shift in ("", person.shift):
                        level = get_level(snapshot, person.id, competency, ON).level or 0
                        if level >= need.level:
                            graph.add_edge(node, ("person", person.id))
    return {node: degree for node, degree in graph.degree() if node[0] != "person"}


def copy_snapshot(snapshot: Snapshot) -> Snapshot:
    """Return the same company with nothing worked out but the indexes of its records."""
    copy = snapshot.with_changes()
    for index in ("x",):
        copy.get_assessments(index, index)
        copy.get_members(index)
        copy.get_absences(index)
        copy.get_cover_needs(index)
        copy.get_shifts(index)
        copy.get_places(index)
        copy.get_requirements(index)
        copy.get_outcomes_of_competency(index)
        copy.get_entry_conditions(index)
    assert copy.competencies
    assert copy.people
    assert copy.teams
    return copy


def measure(work: Callable[[], _T]) -> tuple[_T, float]:
    """Return what a piece of work gives, and its CPU seconds."""
    start = time.process_time()
    found = work()
    return found, time.process_time() - start


def main() -> int:
    """Print the table, and check that all ways give the same depths."""
    snapshot = build_large_company()
    count = len(snapshot.get_table("assessments"))
    print(f"{len(snapshot.people):,} people, {len(snapshot.teams):,} teams, {count:,} assessments")
    copies = [copy_snapshot(snapshot) for _ in range(4)]
    looped, loop_s = measure(lambda: [compute_coverage(copies[0], team_id, ON) for team_id in copies[0].teams])
    degrees, networkx_s = measure(lambda: count_with_networkx(copies[1]))
    day, scopes_s = measure(lambda: build_company_day(copies[2], ON))
    view, view_s = measure(lambda: compute_company_cover(copies[3], ON))
    again, again_s = measure(lambda: compute_company_cover(copies[3], ON))
    assert view == again
    depths = {
        (s.need.team, s.need.competency, str(s.need.level), s.need.applies, s.shift or ""): s.depth for s in day.scopes
    }
    assert depths == degrees
    told = {
        (result.team, row.competency, str(row.level), row.applies, shift.shift if shift else row.shift or ""): (
            shift or row
        ).depth
        for result in looped
        for row in result.needs
        for shift in row.shifts or (None,)
    }
    assert told == depths
    states = ", ".join(f"{row.needs:,} {row.state}" for row in view.states)
    print(f"{view.needs_found:,} needs where they count: {states}; {view.holding_found} people cover several teams")
    lenders = [lender for need in view.needs for lender in need.lenders]
    print(f"{sum(row.spare for row in lenders)} of {sum(row.qualified for row in lenders)} who qualify could be lent")
    print(f"{'what':64} {'CPU s':>7} {'ratio':>6}")
    for name, seconds in (
        ("cover of all teams at once", scopes_s),
        ("the same team by team", loop_s),
        ("the same as degrees of a networkx graph", networkx_s),
        ("company view: cover, order, who covers several, who could lend", view_s),
        ("company view asked again", again_s),
    ):
        print(f"{name:64} {seconds:7.2f} {seconds / scopes_s:6.2f}")
    return 0
