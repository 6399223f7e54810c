"""Levels read on another scale: the same carried, rewritten or drafted; taken back as they were; never crossed."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta
from typing import Any

from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from small_company import ON
from working_companies import build_working_company

from ontology.analysis.profiles.gap import compute_gap
from ontology.analysis.profiles.levels import get_level
from ontology.errors import InputError
from ontology.live.live_graph import Change, LiveGraph
from ontology.live.publishing import publish_draft
from ontology.live.retiring import Taker, plan_retirement
from ontology.live.scale_changes import plan_move, plan_ranks
from ontology.model.records import ScaleLevel
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

DAYS = [ON + timedelta(days=days) for days in (-700, -100, 0, 40, 400)]


def draw(seed: int) -> tuple[Snapshot, str, list[int]]:
    """Return a company with a scale more, a competency that is assessed, and a map of its scale that never falls."""
    rng = random.Random(f"scales {seed}")
    state = Snapshot(build_working_company(seed, size=3))
    top = rng.randint(1, 5)
    rows = [("scales", ScaleLevel("other", rank, f"Other {rank}", "")) for rank in range(1, top + 1)]
    state = state.with_changes(put=rows)
    old = rng.choice(sorted({row.competency for row in state.get_table("assessments").values()}))
    ranks = state.scales[state.competencies[old].scale]
    return state, old, sorted(rng.randint(0, top) for _ in ranks)


def make_map(one: str, other: str, ranks: list[int]) -> list[tuple[str, Any]]:
    build = TABLES["level_maps"].build
    return [
        ("level_maps", build(from_scale=one, from_rank=rank, to_scale=other, to_rank=to))
        for rank, to in enumerate(ranks, start=1)
    ]


def list_held(state: Snapshot, competency: str) -> list[tuple[Any, ...]]:
    """Return what everyone holds of a competency on some days, and what each role still misses of it, by the gap."""
    found: list[tuple[Any, ...]] = []
    for person in state.people:
        for day in DAYS:
            known = get_level(state, person, state.competencies[competency], day)
            found.append((person, day, known.level, known.state, known.declared, known.renewable_level))
            for role in state.roles:
                gaps = compute_gap(state, role, person_id=person, on=day).gaps
                found += [(role, r.level, r.have, r.gap, r.state) for r in gaps if r.competency == competency]
    return found


@settings(max_examples=draws(10), deadline=None)
@given(st.integers(0, 10_000))
def test_what_is_carried_by_a_map_is_held_as_if_it_had_been_rewritten(seed: int) -> None:
    state, old, ranks = draw(seed)
    one = state.competencies[old]
    state = state.with_changes(put=make_map(one.scale, "other", ranks))
    # what hangs on it, or counts for it, is about its own scale in both
    loose = [("equivalences", key) for key in state.get_table("equivalences") if old in key[:2]]
    state = state.with_changes(remove=loose)
    fresh = replace(one, id="fresh", scale="other", broader=())
    carrying = state.with_changes(put=[("competencies", fresh)])
    graph = LiveGraph.in_memory()
    graph.load({name: list(state.get_all(name).values()) for name in TABLES}, who="t", why="w")
    try:
        change = plan_retirement(carrying, "competencies", old, [Taker("fresh", "same")], "", ON)
        graph.apply(Change((("competencies", replace(one, scale="other")),)), who="t", why="w")
    except InputError:  # two cover needs of different groups would be one
        return
    carried = carrying.with_changes(change.put, change.remove)
    rewritten = graph.get_snapshot()
    assert list_held(carried, "fresh") == list_held(rewritten, old)
    # nobody who was at least as high as another is below them by the map
    for day in DAYS:
        levels = [[get_level(s, p, s.competencies[old], day).level or 0 for p in s.people] for s in (state, rewritten)]
        if not one.safety:  # there a manager does not raise what an assessor found, by levels as they are read
            assert all(b <= d for a, b in zip(*levels, strict=True) for c, d in zip(*levels, strict=True) if a <= c), (
                old,
                day,
            )


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10_000), st.booleans())
def test_published_with_a_map_and_undone_a_state_is_as_it_was(seed: int, is_move: bool) -> None:
    state, old, ranks = draw(seed)
    graph = LiveGraph.in_memory()
    graph.load({name: list(state.get_all(name).values()) for name in TABLES}, who="t", why="w")
    before = graph.get_snapshot()
    scale = before.competencies[old].scale
    numbered = dict(enumerate(ranks, start=1))
    try:
        if is_move:
            change = plan_move(before, before, old, "other", numbered)
        else:
            levels = [replace(level, scale=scale, label=f"New {level.rank}") for level in before.scales["other"]]
            change = plan_ranks(before, before, scale, levels, numbered)
    except InputError:  # two cover needs of different groups would be one
        return
    graph.drafts.start("d", "d", who="t")
    graph.drafts.edit("d", change, who="t", why="w")
    view = graph.drafts.get_state("d").snapshot
    assert graph.get_snapshot() is before
    errors = graph.drafts.find_errors("d")
    if errors:  # other rules may forbid what comes of it; nothing of a level is left unread
        assert not [error for error in errors if "recorded levels keep their meaning" in error.source]
        return
    publish_draft(graph, "d", "one", who="t", reason="r")
    after = graph.get_snapshot()
    kept = {key for key in view.get_table("level_maps") if key[0] != key[1]}
    assert set(after.get_table("level_maps")) == kept
    assert all(after.get_all(name) == view.get_all(name) for name in TABLES if name != "level_maps")
    graph.drafts.start("back", "back", who="t", undo_of="one")
    publish_draft(graph, "back", "two", who="t", reason="r")
    assert graph.get_snapshot() == before
