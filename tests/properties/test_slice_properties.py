"""Slices of random companies: unchanged they change nothing at any later revision; an edit is the edit, and no more."""

from __future__ import annotations

import tempfile
from pathlib import Path

from drafted_companies import DraftedCompany
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sliced import cut_to

from loaders.slice_load import load_slice_onto, plan_slice_load
from loaders.slices import SLICED_TABLES
from loaders.tables.slice_book import SliceNote, read_slice, write_slice


@settings(max_examples=3, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.integers(0, 10_000))
def test_unchanged_it_is_no_change_at_any_later_revision(seed: int) -> None:
    company = DraftedCompany(seed)
    changes, graph = company.draw(3), company.make()
    with tempfile.TemporaryDirectory() as folder:
        read = read_slice(cut_to(Path(folder) / "s.xlsx", graph.get_snapshot()))
    for change in (None, *changes):
        if change is not None:
            graph.apply(change, who="t", why="w")
        plan = plan_slice_load(graph, "d", read)
        assert (plan.rows, plan.held_back, plan.missing) == ((), (), {})
        assert (plan.change.put, plan.change.remove) == ((), ())


@settings(max_examples=3, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.integers(0, 10_000))
def test_an_edited_slice_leads_where_the_edits_themselves_lead(seed: int) -> None:
    company = DraftedCompany(seed)
    edits, graph = company.draw(3), company.make()
    start = graph.get_snapshot()
    for change in edits:
        graph.apply(change, who="t", why="w")
    wanted = graph.get_snapshot()
    # the workbook as it would be after the edits, told as one of the first state
    rows = {name: wanted.get_all(name) for name in SLICED_TABLES}
    note = SliceNote(start.store_id, start.revision, {})
    with tempfile.TemporaryDirectory() as folder:
        read = read_slice(write_slice(wanted, note, rows, Path(folder) / "s.xlsx"))
    fresh = company.make()
    read.note = SliceNote(fresh.get_snapshot().store_id, 1, {})
    plan, _ = load_slice_onto(fresh, "d", read, who="t", why="w", may_begin=True)
    seen = fresh.drafts.get_state("d").snapshot
    for name in SLICED_TABLES:
        old, new = start.get_all(name), wanted.get_all(name)
        assert set(plan.missing.get(name, ())) == {"~".join(map(str, key)) for key in old if key not in new}
        expected = {**{key: one for key, one in old.items() if key not in new}, **new}
        assert dict(seen.get_all(name)) == expected, name
