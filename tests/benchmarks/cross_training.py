"""The plan for a team: time until proved, gap at a time limit, and its hours against the nearest person for each need.

Seeded teams and catalogues of our own (tests/support/large_team.py). "ladders": mostly single courses; "bundles": two
in five teach several competencies at once; sharing pays, so the nearest person is a worse answer.
"""

from __future__ import annotations

import argparse
import time

from large_team import build_large_team
from nearest_people import plan_nearest_people
from small_company import ON

from ontology.analysis.training.cross_training import TrainingAsked, plan_cross_training
from ontology.snapshot.snapshot import Snapshot

TIME_LIMIT_S = 60.0
PLACES = 12


def _print_row(name: str, snapshot: Snapshot, rules: TrainingAsked, time_limit_s: float) -> None:
    began, worked = time.perf_counter(), time.process_time()
    plan = plan_cross_training(snapshot, "t", ON, asked=rules, time_limit_s=time_limit_s)
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
                snapshot = build_large_team(seed, is_bundled=is_bundled, more=more)
                limit = "" if hours is None else f", {hours:g} h each"
                name = f"{kind} {seed}, {25 * more} missing{limit}"
                _print_row(name, snapshot, TrainingAsked(hours_limit=hours), TIME_LIMIT_S)
    snapshot = build_large_team(0, is_bundled=True, more=3)
    for is_bundled in (False, True):
        for seed in seeds:
            snapshot = build_large_team(seed, is_bundled=is_bundled, places=PLACES)
            kind = "bundles" if is_bundled else "ladders"
            _print_row(f"{kind} {seed}, 25 missing, {PLACES} places", snapshot, TrainingAsked(), TIME_LIMIT_S)
    for time_limit_s in (0.2, 1.0, 3.0):
        _print_row("bundles 0, 75 missing", snapshot, TrainingAsked(), time_limit_s)
    _print_row("bundles 0, 75 missing, fair", snapshot, TrainingAsked(is_fair=True), TIME_LIMIT_S)


if __name__ == "__main__":
    main()
