"""Drafts: published they are the edits made directly; two sides merge in either order; an undo leads back."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from drafted_companies import DraftedCompany, list_framework, read_quads
from edited_companies import bulk_from
from hypothesis import given, settings
from hypothesis import strategies as st
from working_companies import build_working_company

from ontology.live.draft_state import DraftState
from ontology.live.live_graph import Change, LiveGraph
from ontology.live.publishing import publish_draft
from ontology.model.tables import TABLES
from ontology.store.backups import backup_store, restore_store

SEEDS = st.integers(0, 10_000)


def draft(graph: LiveGraph, changes: list[Change]) -> None:
    graph.drafts.start("d", "Draft", who="t")
    for change in changes:
        graph.drafts.edit("d", change, who="t", why="w")


def apply(graph: LiveGraph, changes: list[Change]) -> None:
    for change in changes:
        graph.apply(change, who="t", why="w")


def name_conflicts(state: DraftState) -> set[tuple[str, str, str | None]]:
    return {(one.table, one.id, one.column) for one in state.conflicts}


@settings(max_examples=3, deadline=None)
@given(SEEDS, st.sampled_from([4, 20_000]))
def test_a_published_draft_is_its_edits_made_directly(seed: int, limit: int) -> None:
    company = DraftedCompany(seed)
    changes = company.draw(5)
    drafted, direct = company.make(), company.make()
    before, present = read_quads(drafted), drafted.get_snapshot()
    with bulk_from(limit):
        draft(drafted, changes)
        assert (read_quads(drafted), drafted.get_snapshot()) == (before, present)
        shown = drafted.drafts.get_state("d")
        assert not [one for one in drafted.drafts.find_findings("d") if one.severity == "error"]
        apply(direct, changes)
        if shown.net.added or shown.net.removed:
            publish_draft(drafted, "d", "v1", who="t", reason="w")
    assert shown.snapshot == drafted.get_snapshot() == direct.get_snapshot()
    assert read_quads(drafted) == read_quads(direct)


@settings(max_examples=3, deadline=None)
@given(SEEDS)
def test_two_sides_merge_to_the_same_in_either_order(seed: int) -> None:
    company = DraftedCompany(seed)
    one, other = company.draw(3), company.draw(3)
    states = []
    for mine, theirs in ((one, other), (other, one)):
        graph = company.make()
        draft(graph, mine)
        apply(graph, theirs)
        states.append(graph.drafts.get_state("d"))
    assert name_conflicts(states[0]) == name_conflicts(states[1])
    if not states[0].conflicts:
        assert states[0].snapshot == states[1].snapshot


@settings(max_examples=3, deadline=None)
@given(SEEDS, st.sampled_from(["draft", "published"]), st.booleans())
def test_deciding_all_for_one_side_gives_the_values_of_that_side(seed: int, side: Any, is_one_by_one: bool) -> None:
    company = DraftedCompany(seed)
    graph = company.make()
    names = [name for name in ("competencies", "requirements", "courses") if graph.get_snapshot().get_table(name)]
    pairs = [(name, record) for name in names for record in graph.get_snapshot().get_table(name).values()]
    mine, theirs = ([company._alter(*pair, None) for pair in pairs] for _ in range(2))
    draft(graph, [Change(put=tuple(mine))])
    directly = [pair for pair in theirs if is_sound(graph, pair)]
    apply(graph, [Change(put=(pair,)) for pair in directly])
    state = graph.drafts.get_state("d")
    if is_one_by_one:
        for conflict in state.conflicts:
            graph.drafts.rebase("d", {(conflict.table, conflict.id, conflict.column): side}, who="t")
    after = graph.drafts.rebase("d", side, who="t")
    assert not after.conflicts
    assert after.draft.base == graph.store.revision
    for conflict in state.conflicts:
        found = after.snapshot.get_all(conflict.table).get(conflict.key)
        value = found if conflict.column is None else getattr(found, get_attribute(conflict.table, conflict.column))
        assert value == (conflict.draft if side == "draft" else conflict.published)
    if side == "draft":
        assert after.snapshot == state.snapshot


def is_sound(graph: LiveGraph, pair: tuple[str, Any]) -> bool:
    """Whether a record can be put by itself."""
    try:
        graph.apply(Change(put=(pair,)), who="t", why="w", is_trial=True)
    except Exception:  # whatever refuses it
        return False
    return True


def get_attribute(table: str, column: str) -> str:
    return TABLES[table].get_column(column).attribute


@settings(max_examples=2, deadline=None)
@given(SEEDS, st.sampled_from([4, 20_000]))
def test_an_undo_leads_back_but_for_people(seed: int, limit: int) -> None:
    company = DraftedCompany(seed)
    graph = company.make()
    with bulk_from(limit):
        for change in company.draw(2):
            before = graph.get_snapshot()
            graph.apply(change, who="t", why="w")
            after = graph.get_snapshot()
            person = next(iter(after.people.values()))
            renamed = TABLES["people"].build(id=person.id, name="Renamed", team=person.team)
            graph.apply(Change(put=(("people", renamed),)), who="t", why="w")
            undone = f"u{after.revision}"
            graph.drafts.start(undone, "Back", who="t", undo_of=str(after.revision))
            publish_draft(graph, undone, f"{undone}-v", who="t", reason="back")
            assert list_framework(graph.get_snapshot()) == list_framework(before)
            assert graph.get_snapshot().people[person.id].name == "Renamed"
            graph.drafts.start(f"{undone}-again", "Again", who="t", undo_of=f"{undone}-v")
            publish_draft(graph, f"{undone}-again", f"{undone}-w", who="t", reason="again")
            assert list_framework(graph.get_snapshot()) == list_framework(after)


@settings(max_examples=1, deadline=None)
@given(SEEDS)
def test_drafts_hold_over_restarts_and_restores(seed: int) -> None:
    company = DraftedCompany(seed)
    mine, theirs = company.draw(3), company.draw(2)
    with tempfile.TemporaryDirectory() as name:
        path, copy = Path(name) / "store", Path(name) / "copy"
        graph = LiveGraph.open(path, create=True)
        graph.load(build_working_company(seed), who="t", why="all")
        draft(graph, mine)
        apply(graph, theirs)
        state = graph.drafts.get_state("d")
        kept = (state.draft, state.pair, name_conflicts(state), list(state.snapshot.iterate_records()))
        graph.close()
        backup_store(path, copy)
        graph = LiveGraph.open(path)
        assert tell(graph) == kept
        graph.drafts.withdraw("d", who="t")
        graph.drafts.delete("d")
        graph.close()
        restore_store(copy, path)
        graph = LiveGraph.open(path)
        assert tell(graph) == kept
        graph.close()


def tell(graph: LiveGraph) -> tuple[Any, ...]:
    state = graph.drafts.get_state("d")
    return state.draft, state.pair, name_conflicts(state), list(state.snapshot.iterate_records())
