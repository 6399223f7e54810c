"""Placements without the preparation limit, part by part, and their packing into limited stages. Pure.

Without that limit a staged problem falls apart into parts that share no course, and the same parts come back in many
sequences. The sum of their optima is a lower bound; where the chosen courses can be packed into the stages it is the
answer, and no limited problem has to be solved.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import networkx as nx

from ontology.analysis.catalogue import Fact, Offer, Stage, StagedProblem

__all__ = ["Placement", "pack", "split_problem"]

Placement = tuple[tuple[Offer, int], ...]


def split_problem(staged: StagedProblem) -> list[StagedProblem]:
    """Return the parts of a problem that share neither facts nor courses, without side rows, by their first fact.

    O(size) but for a sort.
    """
    problem = staged.problem
    links: nx.Graph[int] = nx.Graph()
    links.add_nodes_from(range(problem.fact_count))
    touched = [
        sorted(conditions | effects) for conditions, effects in zip(problem.conditions, problem.effects, strict=True)
    ]
    for facts in touched:
        links.add_edges_from((facts[0], fact) for fact in facts[1:])
    parts = []
    home: dict[int, int] = {}
    for number, part in enumerate(sorted(nx.connected_components(links), key=min)):
        parts.append(sorted(part))
        home.update(dict.fromkeys(part, number))
    members: list[list[int]] = [[] for _ in parts]
    for operator, facts in enumerate(touched):
        members[home[facts[0]]].append(operator)
    return [_take_part(staged, facts, operators) for facts, operators in zip(parts, members, strict=True)]


def _take_part(staged: StagedProblem, facts: Sequence[int], operators: Sequence[int]) -> StagedProblem:
    problem = staged.problem
    number = {fact: place for place, fact in enumerate(facts)}
    return StagedProblem(
        problem=replace(
            problem,
            fact_count=len(facts),
            operator_ids=tuple(problem.operator_ids[o] for o in operators),
            conditions=tuple(frozenset(number[f] for f in problem.conditions[o]) for o in operators),
            effects=tuple(frozenset(number[f] for f in problem.effects[o]) for o in operators),
            aims=tuple(tuple(aim[o] for o in operators) for aim in problem.aims),
            goals=frozenset(number[f] for f in problem.goals if f in number),
            side_rows=(),
        ),
        facts=tuple(staged.facts[f] for f in facts),
        operators=tuple(staged.operators[o] for o in operators),
    )


def pack(stages: Sequence[Stage], offers: Sequence[Offer], limit_minutes: int) -> Placement | None:
    """Return a placement of all offers that keeps every goal and the limit of each stage; None if none is found.

    First what must be done by the end of the stage, then what fits, the most urgent and longest first. A packing that
    exists may be missed. O(n^2 x stages) for n offers.
    """
    due = {offer.id: _find_due_stage(stages, [o for o in offers if o is not offer]) for offer in offers}
    waiting = sorted(offers, key=lambda offer: (due[offer.id], -offer.minutes, offer.id))
    placement: list[tuple[Offer, int]] = []
    levels: dict[str, int] = {}
    for k, stage in enumerate(stages):
        _raise_levels(levels, stage.held.items())
        room = limit_minutes
        for is_due in (True, False):
            placed = True
            while placed:
                placed = False
                for offer in waiting:
                    if is_due and due[offer.id] > k:
                        break
                    if offer.minutes <= room and _is_open(levels, offer):
                        _raise_levels(levels, offer.effects)
                        placement.append((offer, k))
                        room -= offer.minutes
                        waiting.remove(offer)
                        placed = True
                        break
        if any(levels.get(i, 0) < level for i, level in stage.goals):
            return None
    return None if waiting else tuple(placement)


def _find_due_stage(stages: Sequence[Stage], others: Sequence[Offer]) -> int:
    """Return the first stage whose goals fail with the others alone, each taken as soon as it can be."""
    levels: dict[str, int] = {}
    waiting = list(others)
    for k, stage in enumerate(stages):
        _raise_levels(levels, stage.held.items())
        count = -1
        while count != len(waiting):
            count = len(waiting)
            later = []
            for offer in waiting:
                if _is_open(levels, offer):
                    _raise_levels(levels, offer.effects)
                else:
                    later.append(offer)
            waiting = later
        if any(levels.get(i, 0) < level for i, level in stage.goals):
            return k
    return len(stages) - 1


def _is_open(levels: Mapping[str, int], offer: Offer) -> bool:
    return all(levels.get(i, 0) >= level for i, level in offer.conditions)


def _raise_levels(levels: dict[str, int], facts: Iterable[Fact]) -> None:
    for i, level in facts:
        if level > levels.get(i, 0):
            levels[i] = level
