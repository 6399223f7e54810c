"""What is retired and replaced is held as before, by the plain rule; taken back, a state is what it was."""

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

from ontology.analysis.profiles.levels import get_level
from ontology.live.patch import patch_snapshot
from ontology.live.retiring import Taker, plan_retirement
from ontology.mapping.difference import Difference
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

DAYS = [ON + timedelta(days=days) for days in (-700, -100, 0, 40, 400)]


def list_levels(state: Snapshot, competency: str) -> list[tuple[Any, ...]]:
    """Return what is known of everyone in a competency, on some days."""
    found = []
    for person in state.people:
        for day in DAYS:
            known = get_level(state, person, state.competencies[competency], day)
            basis = known.basis
            about = (basis.date, basis.source, basis.valid_until) if basis is not None else None
            found.append((person, day, known.level, known.state, known.declared, known.renewable_level, about))
    return found


def draw(seed: int) -> tuple[random.Random, Snapshot, str, str]:
    """Return a company and two competencies of it that are of one scale, certificates both or neither."""
    rng = random.Random(seed)
    state = Snapshot(build_working_company(seed))
    held = sorted({row.competency for row in state.get_table("assessments").values()})
    old = rng.choice(held)
    one = state.competencies[old]
    alike = [
        other.id
        for other in state.competencies.values()
        if other.id != old and (other.scale, other.is_certificate) == (one.scale, one.is_certificate)
    ]
    if not alike:
        fresh = replace(one, id="fresh", label="Fresh", broader=(), holds_while=())
        state, alike = state.with_changes(put=[("competencies", fresh)]), ["fresh"]
    return rng, state, old, rng.choice(alike)


def rewrite(state: Snapshot, after: Snapshot, old: str, new: str, source: str | None) -> Snapshot:
    """Return the state after, with the assessments of the old competency rewritten for the new one, one by one."""
    rows = {name: list(after.get_table(name).values()) for name in TABLES}
    taken = {TABLES["assessments"].get_key(row) for row in rows["assessments"]}
    for row in state.get_table("assessments").values():
        if row.competency == old:
            is_own = row.source in ("self", "unstated")
            row = replace(row, competency=new, source=row.source if source is None or is_own else source)
            while TABLES["assessments"].get_key(row) in taken:
                row = replace(row, assessor=f"{row.assessor} (another)")
            taken.add(TABLES["assessments"].get_key(row))
            rows["assessments"].append(row)
    return Snapshot(rows)


@settings(max_examples=draws(30), deadline=None)
@given(st.integers(0, 10_000), st.sampled_from(["same", "declared", "none"]))
def test_levels_are_read_for_what_took_the_place_as_if_they_had_been_rewritten(seed: int, carry: str) -> None:
    _, state, old, new = draw(seed)
    change = plan_retirement(state, "competencies", old, [Taker(new, carry)], "", ON)
    after = state.with_changes(change.put, change.remove)
    plain = after if carry == "none" else rewrite(state, after, old, new, None if carry == "same" else "unstated")
    assert list_levels(after, new) == list_levels(plain, new)
    if carry == "none":
        assert list_levels(after, new) == list_levels(
            after.with_changes(remove=[("assessments", key) for key in after.retired.get_table("assessments")]), new
        )
    # nobody else's level moves but by what counts as what is retired
    others = [i for i in after.competencies if i not in (old, new)]
    for other in random.Random(seed).sample(others, min(3, len(others))):
        assert list_levels(after, other) == list_levels(plain, other)


@settings(max_examples=draws(30), deadline=None)
@given(st.integers(0, 10_000))
def test_retired_and_taken_back_a_state_is_as_it_was(seed: int) -> None:
    rng, state, old, new = draw(seed)
    table = rng.choice(["competencies", "roles", "courses"])
    ids = [key[0] for key in state.get_table(table)]
    if table != "competencies":
        old, new = rng.sample(ids, 2) if len(ids) > 1 else (ids[0], "")
    takers = [Taker(new)] if new and rng.random() < 0.7 else []
    change = plan_retirement(state, table, old, takers, "No use.", ON)
    after = state.with_changes(change.put, change.remove)
    afresh = Snapshot({name: after.get_all(name).values() for name in TABLES})
    assert after == afresh
    assert all(after.get_table(name) == afresh.get_table(name) for name in TABLES)
    assert after.retired.has(table, old)
    # the inverse of the patch, as an undo holds it
    there = {quad for block in Difference(after, state, list_rows(state), ()) for quad in block}
    then = {quad for block in Difference(state, after, list_rows(after), ()) for quad in block}
    back = patch_snapshot(after, there - then, then - there)
    assert back == state
    assert not back.retired
    assert all(back.get_table(name) == state.get_table(name) for name in TABLES)


def list_rows(state: Snapshot) -> list[tuple[str, Any]]:
    return list(state.iterate_records())
