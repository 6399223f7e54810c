"""The plan for a team: time until proved, gap at a time limit, and its hours against the nearest person for each need.

Seeded teams and catalogues of our own (sizes and shares: our choice, no source). "ladders": mostly single courses, one
above the other, some with a second outcome. "bundles": two courses in five teach three to six competencies at once for
less, and conditions across competencies are many; sharing pays, so the nearest person is a worse answer.
"""

from __future__ import annotations

import argparse
import random
import time
from datetime import timedelta
from typing import Any

from nearest_people import plan_nearest_people
from small_company import ON, build_scale, build_snapshot

from ontology.analysis.training.cross_training import TrainingRules, plan_cross_training
from ontology.graph.snapshot import Snapshot

TIME_LIMIT_S = 60.0


def build_team(
    seed: int,
    *,
    is_bundled: bool,
    people: int = 40,
    needs: int = 25,
    courses: int = 300,
    more: int = 1,
    competencies: int = 60,
) -> Snapshot:
    """Return a team in which every need misses `more` people."""
    rng = random.Random(seed)
    ids = [f"c{n:02d}" for n in range(competencies)]
    rows: dict[str, list[dict[str, Any]]] = {
        "scales": build_scale(),
        "competencies": [{"id": i, "label": i, "scale": "s5"} for i in ids],
        "teams": [{"id": "t", "label": "Team"}],
        "people": [
            {"id": f"p{n:02d}", "name": f"p{n:02d}", "team": "t", "study_hours_per_week": rng.choice([2.0, 3.0, 4.0])}
            for n in range(people)
        ],
        "assessments": [],
    }
    held: dict[tuple[str, str], int] = {}
    for person in rows["people"]:
        for competency in ids:
            if rng.random() < (0.35 if is_bundled else 0.45):
                held[person["id"], competency] = rng.choice([1, 1, 2, 3] if is_bundled else [1, 1, 2, 2, 3, 4])
    for (person_id, competency), level in held.items():
        day = ON - timedelta(days=30)
        rows["assessments"].append(
            {"person": person_id, "competency": competency, "level": level, "date": day, "source": "assessor"}
        )
    _add_courses(rng, rows, ids, courses, is_bundled)
    rows["cover_needs"] = []
    for competency, level in rng.sample([(c, n) for c in ids for n in (2, 3, 4)], needs):
        have = sum(held.get((person["id"], competency), 0) >= level for person in rows["people"])
        rows["cover_needs"].append({"team": "t", "competency": competency, "level": level, "target": have + more})
    return build_snapshot(**rows)


def _add_courses(
    rng: random.Random, rows: dict[str, list[dict[str, Any]]], ids: list[str], count: int, is_bundled: bool
) -> None:
    steps = [(competency, level) for competency in ids for level in (1, 2, 3, 4)]
    while len(steps) < count:
        steps.append((rng.choice(ids), rng.randint(1, 4)))
    for name in ("courses", "outcomes", "entry_conditions"):
        rows[name] = []
    for n, (competency, level) in enumerate(steps[:count]):
        outcomes = {competency: level}
        others = rng.randint(2, 5) if is_bundled and rng.random() < 0.4 else rng.choice([0, 0, 0, 1]) * (not is_bundled)
        for _ in range(others):
            outcomes.setdefault(rng.choice(ids), rng.randint(1, 4 if is_bundled else 3))
        asked = {competency: level - 1} if level > 1 and rng.random() < 0.85 else {}
        for _ in range(rng.choice([0, 1, 1, 2, 2, 3] if is_bundled else [0, 0, 1, 1, 2])):
            other = rng.choice(ids)
            if other not in outcomes:
                asked.setdefault(other, rng.randint(1, 3 if is_bundled else 2))
        share = 0.6 if len(outcomes) > 1 else 1.0
        hours = round(4 * share * sum(rng.uniform(6, 14) * rank**0.7 for rank in outcomes.values())) / 4
        rows["courses"].append(
            {
                "id": f"k{n:03d}",
                "label": f"k{n:03d}",
                "hours": hours,
                "coach_hours": rng.choice([0.0, 0.0, 1.0, 2.0]),
                "cost": rng.choice([0.0, 0.0, 100.0, 250.0, 400.0]),
            }
        )
        rows["outcomes"] += [{"course": f"k{n:03d}", "competency": i, "level": rank} for i, rank in outcomes.items()]
        rows["entry_conditions"] += [{"course": f"k{n:03d}", "competency": i, "level": k} for i, k in asked.items()]


def _print_row(name: str, snapshot: Snapshot, rules: TrainingRules, time_limit_s: float) -> None:
    began, worked = time.perf_counter(), time.process_time()
    plan = plan_cross_training(snapshot, "t", ON, rules=rules, time_limit_s=time_limit_s)
    took, cpu = time.perf_counter() - began, time.process_time() - worked
    gap = (plan.total_hours - plan.lower_bound) / plan.total_hours if plan.total_hours else 0.0
    missing, minutes = plan_nearest_people(snapshot, "t", ON)
    ratio = "  – " if plan.missing != missing or not minutes else f"{plan.total_hours * 60 / minutes:.2f}"
    proved = "proved" if plan.is_proved else f"{gap:.1%} gap"
    print(
        f"{name:<34} {time_limit_s:>6g} {took:>7.2f} {cpu:>7.2f} {proved:>10} {plan.missing:>4} "
        f"{plan.total_hours:>8.1f} {ratio:>6}",
        flush=True,
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=2)
    seeds = range(parser.parse_args().seeds)
    head = "40 people, 25 needs, 300 courses"
    print(f"{head:<34} {'limit':>6} {'s':>7} {'cpu s':>7} {'':>10} {'miss':>4} {'hours':>8}  ratio")
    print("ratio: hours of the plan / hours of the nearest person for each need, where both miss as many")
    for is_bundled in (False, True):
        kind = "bundles" if is_bundled else "ladders"
        for seed in seeds:
            for more, hours in ((1, None), (3, None), (3, 40.0)):
                snapshot = build_team(seed, is_bundled=is_bundled, more=more)
                limit = "" if hours is None else f", {hours:g} h each"
                name = f"{kind} {seed}, {25 * more} missing{limit}"
                _print_row(name, snapshot, TrainingRules(hours_limit=hours), TIME_LIMIT_S)
    snapshot = build_team(0, is_bundled=True, more=3)
    for time_limit_s in (0.2, 1.0, 3.0):
        _print_row("bundles 0, 75 missing", snapshot, TrainingRules(), time_limit_s)
    _print_row("bundles 0, 75 missing, fair", snapshot, TrainingRules(is_fair=True), TIME_LIMIT_S)


if __name__ == "__main__":
    main()
