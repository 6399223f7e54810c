"""Stages solved part by part against the whole problem put to the engine, on random small companies."""

from __future__ import annotations

import math
import random

from company_strategies import build_route_company
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st

from ontology.analysis.engine.bits import iterate_bits
from ontology.analysis.engine.solver import Deadline
from ontology.analysis.paths.catalogue import build_staged_problem
from ontology.analysis.paths.planner import PartSolver, solve_staged
from ontology.analysis.routes.joint_solver import ROUTE_AIMS, JointBound
from ontology.analysis.routes.route_bounds import RouteCosts
from ontology.analysis.routes.route_parts import find_parts

SEEDS = st.integers(0, 10**6)


def build_costs(seed: int, level_limit: int) -> RouteCosts:
    snapshot, profile = build_route_company(seed)
    return RouteCosts(snapshot, profile, preparation_limit=math.inf, level_limit=level_limit, deadline=Deadline(None))


def draw_sequences(costs: RouteCosts, seed: int) -> list[tuple[str, ...]]:
    """Return some sequences of the company, those that begin against the level limit left out."""
    rng = random.Random(seed)
    roles = [r for r in costs.snapshot.roles if costs.snapshot.get_requirements(r) and r != costs.profile.role]
    drawn = [tuple(rng.sample(roles, min(len(roles), rng.choice((1, 2, 3, 3, 4))))) for _ in range(6)]
    return [sequence for sequence in drawn if sequence and costs.keeps_first_gate(sequence)]


@given(SEEDS, st.integers(0, 3))
@settings(max_examples=draws(80), deadline=None)
def test_parts_cost_as_much_as_the_whole_and_bounds_rise_to_it(seed: int, level_limit: int) -> None:
    costs = build_costs(seed, level_limit)
    for sequence in draw_sequences(costs, seed):
        stages = costs.build_stages(sequence)
        assert stages is not None
        whole = solve_staged(build_staged_problem(costs.moves.catalogue, stages), settles_ties=False)
        least = math.inf if whole is None else whole.value
        joint = JointBound(costs.moves.joint, stages)
        lower = joint.lower
        while not joint.is_done:
            assert lower <= joint.lower <= least
            lower = joint.lower
            joint.advance()
        assert joint.lower == least
        if whole is not None:
            assert joint.value == sum(offer.minutes for offer, _ in joint.placement) == least
            levels = [dict(stage.held) for stage in stages]
            for offer, k in sorted(joint.placement, key=lambda pair: pair[1]):
                for i, level in offer.effects:
                    for at in levels[k:]:
                        at[i] = max(level, at.get(i, 0))
            assert all(
                at.get(i, 0) >= level for at, stage in zip(levels, stages, strict=True) for i, level in stage.goals
            )


@given(SEEDS, st.integers(0, 3))
@settings(max_examples=draws(60), deadline=None)
def test_parts_settle_ties_and_tell_courses_in_the_order_of_the_whole(seed: int, level_limit: int) -> None:
    costs = build_costs(seed, level_limit)
    for sequence in draw_sequences(costs, seed):
        stages = costs.build_stages(sequence)
        assert stages is not None
        whole = PartSolver(Deadline(None)).solve(build_staged_problem(costs.moves.catalogue, stages, aims=ROUTE_AIMS))
        plan = costs.moves.joint.solve(stages, ROUTE_AIMS)
        assert (whole is None) == (plan is None)
        if whole is not None and plan is not None:
            assert costs.moves.joint.arrange(stages, plan.order) == whole.order
            assert plan.value == whole.value


@given(SEEDS, st.integers(0, 3))
@settings(max_examples=draws(60), deadline=None)
def test_courses_that_landmarks_prove_cheapest_are_and_parts_share_none(seed: int, level_limit: int) -> None:
    costs = build_costs(seed, level_limit)
    moves = costs.moves
    for sequence in draw_sequences(costs, seed):
        stages = costs.build_stages(sequence)
        assert stages is not None
        taken: set[str] = set()
        for part in moves.joint.find_parts(stages, is_merged=True):
            plan = moves.joint.solve_part(part, stages, ROUTE_AIMS)
            courses = {offer.id for offer, _ in plan.order} if plan else set()
            assert not courses & taken
            taken |= courses
            if len(part.stages) > 1:
                continue
            cheapest = moves.landmarks.find_cheapest(part.goals[0], part.open_facts[0])
            if cheapest is not None:
                assert plan is not None
                assert sum(offer.minutes for offer in cheapest) == plan.value
                levels = dict(stages[part.stages[0]].held)
                for offer in cheapest:
                    assert all(levels.get(i, 0) >= level for i, level in offer.conditions)
                    for i, level in offer.effects:
                        levels[i] = max(level, levels.get(i, 0))


def test_a_part_waits_for_its_first_goals_and_merges_stages_only_where_nothing_that_matters_is_held_between() -> None:
    snapshot, profile = build_route_company(6)
    costs = RouteCosts(snapshot, profile, preparation_limit=math.inf, level_limit=3, deadline=Deadline(None))
    facts = costs.moves.facts
    number = next(n for n in range(len(facts)) if facts.spread(n, 0)[1] and facts.get_fact(n)[1] > 1)
    goal, below = 1 << number, 1 << number - 1
    (part,) = find_parts(facts, [0, 0, goal], [0, 0, 0], is_merged=True)
    assert (part.stages, part.goals) == ((2,), (goal,))
    (merged,) = find_parts(facts, [below, 0, goal], [0, 0, 0], is_merged=True)
    assert (merged.stages, merged.goals) == ((0,), (goal | below,))
    (apart,) = find_parts(facts, [below, 0, goal], [0, 0, 0], is_merged=False)
    assert (apart.stages, apart.goals) == ((0, 2), (below, goal))
    assert list(iterate_bits(goal | below)) == [number - 1, number]
