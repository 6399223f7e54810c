"""Which sequences of moves are shown: legal ones that lose by leaving out any single intermediate role. Pure.

Sequences are tried by length. Most are settled by bounds; the exact placement is worked out only where a bound does
not tell. A cut never loses a route that would be listed: a sequence is dropped only when its beginning is illegal, when
a shorter one is proved legal and no dearer, or when its bounds place it behind all that will be listed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ontology.analysis.route_bounds import RouteCosts, Sequenced
from ontology.analysis.route_ranking import Ranking, build_candidate

__all__ = ["ShownRoutes", "find_shown_routes", "get_intermediate_roles"]


@dataclass(frozen=True, slots=True)
class ShownRoutes:
    """The shown routes, ranked.

    `is_complete` is False when the deadline struck: then some are missing, or not proved. `is_cut` says that routes
    were left out that could not have come to be listed. `lower_bound` (minutes) holds for every legal sequence;
    infinite where there is none.
    """

    ranking: Ranking
    is_complete: bool
    is_cut: bool
    lower_bound: float


def get_intermediate_roles(costs: RouteCosts, target: str) -> tuple[str, ...]:
    """Return the roles that may stand in between: with requirements, neither the present role nor the target."""
    snapshot = costs.snapshot
    present = costs.profile.role
    return tuple(r for r in snapshot.roles if r not in (present, target) and snapshot.get_requirements(r))


def find_shown_routes(costs: RouteCosts, target: str, max_moves: int, rest_limit: int) -> ShownRoutes:
    """Return the shown routes of at most `max_moves` moves into the target.

    All that are best by an aim or in the trade-off, and at least the first `rest_limit` of the others.

    Notes
    -----
    At most (number of roles)^(max_moves - 1) sequences are looked at, each once; bounds are remembered by the
    levels that can matter, so most cost a few dictionary look-ups.
    """
    middle = get_intermediate_roles(costs, target)
    live = list(_iterate_live(costs, middle, target, max_moves))
    is_listed = not costs.deadline.is_over()
    ranking = Ranking(rest_limit)
    is_proved, is_cut = True, False
    for sequence in sorted(live, key=lambda s: (len(s), costs.get_bounds(s).lower, s)):
        if costs.deadline.is_over():
            is_proved = False
            break
        if not ranking.can_be_listed(build_candidate(costs, sequence, int(costs.get_bounds(sequence).lower))):
            is_cut = True
            continue
        shown = _is_shown(costs, sequence)
        is_proved = is_proved and shown is not None
        if shown is not False and costs.get_value(sequence).upper < math.inf:
            ranking.add(build_candidate(costs, sequence, int(costs.get_value(sequence).upper)))
    lower = min((costs.get_known(sequence).lower for sequence in live), default=math.inf)
    if not is_listed:
        # with the growth of every role for nothing no route can be cheaper
        everything = costs.moves.get_plan(costs.get_held(middle), target)
        lower = math.inf if everything is None else min(lower, everything.lower_bound)
    return ShownRoutes(ranking, is_listed and is_proved, is_cut, lower)


def _iterate_live(costs: RouteCosts, middle: Sequence[str], target: str, max_moves: int) -> Iterator[Sequenced]:
    """Yield the sequences that may be legal, by length, then by role ids."""
    beginnings: list[Sequenced] = [()]
    for length in range(1, max_moves + 1):
        for beginning in beginnings:
            sequence = (*beginning, target)
            if costs.get_bounds(sequence).lower < math.inf:
                yield sequence
        if length == max_moves:
            return
        longer = []
        for beginning in beginnings:
            if costs.deadline.is_over():
                break
            for role_id in middle:
                if role_id not in beginning:
                    extended = (*beginning, role_id)
                    # the exact value pays only where many sequences hang on it
                    look = costs.get_value if length + 1 < max_moves else costs.get_bounds
                    if look(extended).lower < math.inf:
                        longer.append(extended)
        beginnings = longer


def _is_shown(costs: RouteCosts, sequence: Sequenced) -> bool | None:
    """Whether a sequence is legal and strictly cheaper than each one that leaves out a role; None if not known."""
    shorter = [sequence[:k] + sequence[k + 1 :] for k in range(len(sequence) - 1)]
    bounds = costs.get_bounds(sequence)
    if any(costs.get_bounds(s).upper <= bounds.lower for s in shorter):
        return False
    value = costs.get_value(sequence)
    if value.lower == math.inf:
        return False
    is_known = value.is_exact
    for other in shorter:
        if costs.get_bounds(other).lower > value.upper:
            continue
        rival = costs.get_value(other)
        if rival.upper <= value.lower:
            return False
        if not (rival.lower > value.upper):
            is_known = False
    return True if is_known else None
