"""What is missing in most moves, counted over arrays, is what counting pair by pair says."""

from __future__ import annotations

import random

import pytest
from rest_company import build_company
from scenario import load_scenario

from ontology.analysis.profiles.profile import build_role_profile
from ontology.analysis.routes.missing_most import MissingMost
from ontology.analysis.routes.moves import get_entry_levels
from ontology.snapshot.snapshot import Snapshot


def count_pairs(
    snapshot: Snapshot, profiles: dict[str, dict[str, int]], moves: list[tuple[str, str]]
) -> tuple[str, ...]:
    counts: dict[str, int] = {}
    for start, target in moves:
        for i, entry in get_entry_levels(snapshot, target).items() if start != target else ():
            if entry > profiles[start].get(i, 0):
                counts[i] = counts.get(i, 0) + 1
    return tuple(sorted(counts, key=lambda i: (-counts[i], i))[:5])


@pytest.mark.parametrize("seed", [None, 1, 2, 3])
@pytest.mark.parametrize("load", [load_scenario, lambda: build_company().get_snapshot()], ids=["scenario", "company"])
def test_it_counts_as_one_would_by_hand(load: object, seed: int | None) -> None:
    snapshot: Snapshot = load()  # type: ignore[operator]
    roles = [role_id for role_id in snapshot.roles if snapshot.get_requirements(role_id)]
    profiles = {role_id: dict(build_role_profile(snapshot, role_id).levels) for role_id in roles}
    if seed is not None:  # levels that no role asks for itself, as where one hangs on another: below its own entry too
        draw = random.Random(seed)
        profiles = {r: {i: draw.randint(0, level) for i, level in held.items()} for r, held in profiles.items()}
    missing = MissingMost(snapshot, profiles)
    for role_id in roles:
        into = count_pairs(snapshot, profiles, [(start, role_id) for start in roles])
        out_of = count_pairs(snapshot, profiles, [(role_id, target) for target in roles])
        assert (missing.list_into(role_id), missing.list_out_of(role_id)) == (into, out_of)
