"""Packing chosen courses into the stages of a route, each with its limit of minutes. Pure.

Where the cheapest courses without the limit can be packed, no limited problem has to be solved.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from ontology.analysis.paths.catalogue import Fact, Offer, Stage
from ontology.analysis.paths.planner import Placement

__all__ = ["pack"]


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
