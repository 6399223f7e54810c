"""How often a concept is proposed for another of its names, once that name is taken from it."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace

from ontology.analysis.likeness.proposals import find_proposals
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

_TEN = 10


@dataclass(frozen=True)
class TakenNames:
    """Of how many concepts the right one came first, and how many among the first ten."""

    of: int
    first: int
    among_ten: int


def measure_taken_names(state: Snapshot, n: int, seed: int) -> TakenNames:
    """Take another name from each of n concepts drawn, and ask for them by these names alone."""
    draw = random.Random(seed)
    known = {one.label for one in state.competencies.values()}
    several = [one for one in state.competencies.values() if one.alt_labels]
    taken = {one.id: draw.choice(one.alt_labels) for one in draw.sample(several, n)}
    taken = {i: name for i, name in taken.items() if name not in known}
    rows = [
        replace(one, alt_labels=tuple(name for name in one.alt_labels if name != taken.get(one.id)))
        for one in state.competencies.values()
    ]
    there = Snapshot({"scales": state.get_table("scales").values(), "competencies": rows}, store_id="there")
    build = TABLES["competencies"].build
    asked = Snapshot(
        {"competencies": [build(id=i, label=name, scale="s") for i, name in taken.items()]}, store_id="asked"
    )
    first = among_ten = 0
    for concept in taken:
        found = [one.concept for one in find_proposals(asked, there, "there", [concept], limit=_TEN, least=0.0)]
        first += found[:1] == [concept]
        among_ten += concept in found
    return TakenNames(len(taken), first, among_ten)
