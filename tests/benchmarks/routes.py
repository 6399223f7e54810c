"""Upskilling routes: times and shares proved on generated companies, and the plain alternatives beside them.

Run: ``python -m tests.benchmarks routes``, or ``python tests/benchmarks/routes.py PART ...`` for some of its parts:
company, four-moves, peers, occupations. Times are of the processor (and of the clock), in seconds. The occupations
need the official O*NET files (CC BY 4.0, https://www.onetcenter.org/database.html) and are skipped without them.
"""

from __future__ import annotations

import itertools
import math
import random
import resource
import statistics
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parents[1] / "support")]

import networkx as nx
from ordering_milp import solve_ordering_milp
from route_companies import Asker, build_askers, build_company
from small_company import NO_REFERENCE, REFERENCE

from loaders.open_data.onet import load_onet
from ontology.analysis.engine.solver import Deadline
from ontology.analysis.paths.catalogue import build_staged_problem
from ontology.analysis.profiles.profile import build_role_profile
from ontology.analysis.routes.moves import MoveCosts
from ontology.analysis.routes.role_graph import build_role_graph
from ontology.analysis.routes.route_bounds import RouteCosts
from ontology.analysis.routes.routes import RoutesResult, find_routes
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

LIMIT_H = 200.0


@dataclass(frozen=True)
class Timed:
    """An answer and what it took."""

    result: RoutesResult
    processor_s: float
    clock_s: float


def ask(snapshot: Snapshot, asker: Asker, **limits: Any) -> Timed:
    """Return the routes of a person, timed."""
    clock, processor = time.perf_counter(), time.process_time()
    result = find_routes(snapshot, asker.profile, asker.target, preparation_limit=LIMIT_H, **limits)
    return Timed(result, time.process_time() - processor, time.perf_counter() - clock)


def print_row(number: int, asker: Asker, timed: Timed) -> None:
    """Print one answer: status, hours and moves of the best, lower bound, direct move."""
    result = timed.result
    best = result.best.study_hours
    hours = f"{best.study_hours:7.1f} h {len(best.moves)} moves" if best else "              -"
    bound = "-" if result.lower_bound is None else f"{result.lower_bound:.1f}"
    direct = "none" if result.direct.study_hours is None else f"{result.direct.study_hours:.1f}"
    count = len({r.roles for r in (*result.trade_off, *result.other_routes)})
    print(
        f"{number:3} {asker.profile.role}>{asker.target} {timed.processor_s:7.2f} {timed.clock_s:7.2f}  "
        f"{result.status:14} {hours}  bound {bound:>6}  direct {direct:>6}{'' if result.direct.within_reach else '*'}"
        f"  listed {count}",
        flush=True,
    )


def print_summary(answers: list[Timed], time_limit_s: float | None) -> None:
    """Print share proved, medians and maxima, and the peak memory of the process."""
    proved = sum(timed.result.status != "feasible" for timed in answers)
    with_routes = [timed for timed in answers if timed.result.best.study_hours]
    for name, group in (("all", answers), ("with routes", with_routes)):
        times = [timed.processor_s for timed in group] or [math.nan]
        print(f"{name:12} {len(group):3}: median {statistics.median(times):.2f} s, max {max(times):.2f} s (processor)")
    limit = "no time limit" if time_limit_s is None else f"time limit {time_limit_s:g} s"
    print(f"proved {proved} of {len(answers)} ({limit}); first person {answers[0].processor_s:.2f} s")
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB (* breaks a limit)")


def show_company() -> None:
    """300 roles, 1,500 competencies, 2,000 courses, at most 3 moves."""
    snapshot = build_company(1)
    answers = []
    for number, asker in enumerate(build_askers(snapshot, 20, 1)):
        answers.append(ask(snapshot, asker, time_limit_s=60))
        print_row(number, asker, answers[-1])
    print_summary(answers, 60)
    fresh = build_company(1)  # nothing is remembered of it
    start = time.process_time()
    graph = build_role_graph(fresh)
    print(f"role graph: {len(graph)} roles, {graph.size():,} moves, {time.process_time() - start:.1f} s to build")


def show_four_moves() -> None:
    """The same company, at most 4 moves, as far as 10 seconds go."""
    snapshot = build_company(1)
    answers = []
    for number, asker in enumerate(build_askers(snapshot, 6, 1)):
        answers.append(ask(snapshot, asker, max_moves=4, time_limit_s=10))
        print_row(number, asker, answers[-1])
    print_summary(answers, 10)


# ---- plain alternatives ----


def find_path_in_graph(snapshot: Snapshot, graph: nx.DiGraph[str], asker: Asker) -> tuple[float, int] | None:
    """Return hours and moves of the shortest simple path of at most 3 moves in the role graph, from the person."""
    own = graph.copy()
    costs = MoveCosts(snapshot, asker.profile, Deadline(None))
    held = asker.profile.levels
    own.remove_nodes_from([asker.profile.role])
    for role_id in [*own]:
        plan = costs.find_plan(held, role_id)
        entries = costs.get_entry_levels(role_id)
        is_near = all(
            level - held.get(i, 0) <= 2 or snapshot.competencies[i].is_certificate for i, level in entries.items()
        )
        if is_near and plan is not None and plan.value is not None and plan.value <= LIMIT_H * 60:
            own.add_edge("the person", role_id, study_hours=plan.value / 60)
    if "the person" not in own or not nx.has_path(own, "the person", asker.target):
        return None
    paths = nx.shortest_simple_paths(own, "the person", asker.target, weight="study_hours")
    for path in itertools.islice(paths, 2000):
        if len(path) <= 4:
            return nx.path_weight(own, path, "study_hours"), len(path) - 1
    return None


def show_peers() -> None:
    """Role graph and shortest simple paths; one program with time stamps for a fixed sequence. 60 roles."""
    snapshot = build_company(5, role_count=60, competency_count=300, course_count=400)
    start = time.process_time()
    graph = build_role_graph(snapshot)
    print(f"role graph: {len(graph)} roles, {graph.size()} moves, {time.process_time() - start:.1f} s to build")
    print(" n  ours_s graph_s  ours_h  graph_h   fixed sequence: ours_s  milp_s  ratio  same")
    worse, ratios = [], []
    for number, asker in enumerate(build_askers(snapshot, 12, 5)):
        timed = ask(snapshot, asker, time_limit_s=60)
        start = time.process_time()
        peer = find_path_in_graph(snapshot, graph, asker)
        graph_s = time.process_time() - start
        best = timed.result.best.study_hours
        line = f"{number:2} {timed.processor_s:7.2f} {graph_s:7.2f} "
        line += f"{best.study_hours if best else math.nan:7.1f} {peer[0] if peer else math.nan:8.1f}"
        if best and peer:
            worse.append(peer[0] / best.study_hours if best.study_hours else 1.0)
        if best:
            ours_s, peer_s, is_same = compare_fixed_sequence(snapshot, asker, best.roles)
            ratios.append(peer_s / ours_s)
            line += f"   {ours_s:22.3f} {peer_s:7.2f} {ratios[-1]:6.0f}  {is_same}"
        print(line, flush=True)
    if worse:
        print(f"hours by the role graph against ours: median {statistics.median(worse):.2f}, max {max(worse):.2f}")
    if ratios:
        print(f"time of the program against ours, fixed sequence: median {statistics.median(ratios):.0f}")


def compare_fixed_sequence(snapshot: Snapshot, asker: Asker, roles: tuple[str, ...]) -> tuple[float, float, str]:
    """Return both times for the least hours of a fixed sequence, and whether they are the same."""
    # a Snapshot of its own: ours would remember what it solved of this sequence while it looked for routes
    snapshot = snapshot.with_changes((), revision=snapshot.revision + 1)
    costs = RouteCosts(snapshot, asker.profile, preparation_limit=LIMIT_H, level_limit=2, deadline=Deadline(None))
    start = time.process_time()
    value = costs.get_value(roles)
    middle = time.process_time()
    stages = costs.build_stages(roles)
    assert stages is not None
    staged = build_staged_problem(costs.moves.catalogue, stages, stage_limit_minutes=costs.limit_minutes)
    if not staged.problem.goals:
        return middle - start, time.process_time() - middle, "nothing to learn"
    peer = solve_ordering_milp(staged.problem, time_limit_s=60)
    same = "yes" if peer.objective == value.upper else f"{peer.status} {peer.objective / 60:.1f} h"
    return middle - start, time.process_time() - middle, same


# ---- occupations ----


def show_occupations() -> None:
    """Routes between O*NET occupations with generated courses, at most 3 moves, 20 seconds each."""
    folder = REFERENCE / "onet"
    if not folder.is_dir():
        print(f"skipped: {NO_REFERENCE}")
        return
    snapshot = add_courses(Snapshot(load_onet(folder).records), 1)
    rng = random.Random(1)
    roles = [role_id for role_id in snapshot.roles if snapshot.get_requirements(role_id)]
    answers = []
    for number in range(6):
        present, target = rng.sample(roles, 2)
        asker = Asker(build_role_profile(snapshot, present), target)
        answers.append(ask(snapshot, asker, time_limit_s=20))
        print_row(number, asker, answers[-1])
    print(f"{len(roles)} occupations with ratings, {len(snapshot.courses)} generated courses")
    print_summary(answers, 20)


def add_courses(snapshot: Snapshot, seed: int) -> Snapshot:
    """Return the framework with courses: one to each level of each competency, from two levels below, and bundles."""
    rng = random.Random(seed)
    tables: dict[str, list[Any]] = {name: [] for name in ("courses", "outcomes", "entry_conditions")}
    tables |= {
        name: list(snapshot.get_table(name).values()) for name in ("scales", "competencies", "roles", "requirements")
    }
    asked = {r.competency: 0 for role_id in snapshot.roles for r in snapshot.get_requirements(role_id)}
    for role_id in snapshot.roles:
        for requirement in snapshot.get_requirements(role_id):
            asked[requirement.competency] = max(asked[requirement.competency], requirement.level)
    names = sorted(asked)
    for competency in names:
        for level in range(1, asked[competency] + 1):
            course = f"x-{competency}-{level}"
            gives = {competency: level}
            if rng.random() < 0.4:
                other = rng.choice(names)
                gives.setdefault(other, rng.randint(1, max(1, asked[other])))
            hours = float(round(sum(gives.values()) * rng.uniform(2, 6)))
            tables["courses"].append(TABLES["courses"].build(id=course, label=course, hours=hours))
            for i, reached in gives.items():
                tables["outcomes"].append(TABLES["outcomes"].build(course=course, competency=i, level=reached))
            if level > 2:
                row = {"course": course, "competency": competency, "level": level - 2}
                tables["entry_conditions"].append(TABLES["entry_conditions"].build(**row))
    return Snapshot(tables, revision=1, store_id="occupations")


PARTS = {"company": show_company, "four-moves": show_four_moves, "peers": show_peers, "occupations": show_occupations}


def main() -> None:
    """Print the parts named on the line, or all."""
    for name in [name for name in sys.argv[1:] if name in PARTS] or PARTS:
        print(f"-- {name}: {PARTS[name].__doc__}", flush=True)
        PARTS[name]()


if __name__ == "__main__":
    main()
