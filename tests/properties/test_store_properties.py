"""Properties of the write path: whatever the rows and their order, the same Snapshot."""

from __future__ import annotations

import contextlib
import random
from string import ascii_lowercase, digits
from typing import Any

from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from working_companies import build_working_company

from ontology.errors import ConflictError, FindingsError
from ontology.live.compile import compile_snapshot
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES
from ontology.snapshot.indexes import list_indexes
from ontology.snapshot.name_index import NameIndex
from ontology.snapshot.snapshot import Snapshot
from ontology.snapshot.translated_names import TranslatedNames


@settings(max_examples=draws(12), deadline=None)
@given(st.integers(0, 10_000))
def test_records_written_and_read_again_are_the_same(seed: int) -> None:
    records = build_working_company(seed)
    graph = LiveGraph.in_memory()
    graph.load(records, who="t", why="w")
    assert compile_snapshot(graph.store) == Snapshot(records)


@settings(max_examples=7, deadline=None)
@given(st.integers(0, 10_000), st.integers(0, 10_000))
def test_the_order_of_rows_does_not_matter(seed: int, order: int) -> None:
    records = build_working_company(seed)
    rng = random.Random(order)
    shuffled = {name: rng.sample(rows, len(rows)) for name, rows in records.items()}
    first, second = LiveGraph.in_memory(), LiveGraph.in_memory()
    first.load(records, who="t", why="w")
    second.load(shuffled, who="t", why="w")
    assert first.get_snapshot() == second.get_snapshot()
    assert list(first.get_snapshot().iterate_records()) == list(second.get_snapshot().iterate_records())


@settings(max_examples=7, deadline=None)
@given(st.integers(0, 10_000))
def test_loading_twice_changes_nothing(seed: int) -> None:
    records = build_working_company(seed)
    graph = LiveGraph.in_memory()
    graph.load(records, who="t", why="w")
    assert graph.load(records, who="t", why="again").revision == 1


@settings(max_examples=7, deadline=None)
@given(st.integers(0, 10_000), st.integers(0, 10_000))
def test_a_snapshot_after_edits_equals_a_full_compile(seed: int, edits: int) -> None:
    """Records of another company are put over this one and some are removed; refused edits leave no trace."""
    graph = LiveGraph.in_memory()
    graph.load(build_working_company(seed), who="t", why="w")
    use_every_index(graph.get_snapshot())
    other = list(Snapshot(build_working_company(edits)).iterate_records())
    rng = random.Random(edits)
    for name, record in rng.sample(other, min(12, len(other))):
        with contextlib.suppress(FindingsError, ConflictError):
            graph.apply(Change(put=((name, record),)), who="t", why="w")
        present = list(graph.get_snapshot().iterate_records())
        table, victim = rng.choice(present)
        with contextlib.suppress(FindingsError, ConflictError):
            graph.apply(Change(remove=((table, TABLES[table].get_key(victim)),)), who="t", why="w")
        use_every_index(graph.get_snapshot())
    compiled = compile_snapshot(graph.store)
    assert compiled == graph.get_snapshot()
    assert graph.store.revision == graph.get_snapshot().revision
    assert use_every_index(graph.get_snapshot()) == use_every_index(compiled)


def use_every_index(snapshot: Snapshot) -> dict[str, object]:
    """Return every index, with its order where that is public, and so make the next Snapshot carry it over."""
    indexes = {name: getattr(snapshot, name) for name in list_indexes(Snapshot)}
    return {name: index if "get_" in name else _list(index) for name, index in indexes.items()}


def _list(index: Any) -> list[object]:
    """Return all that an index finds, in its order."""
    if isinstance(index, NameIndex):
        return [index.find((letter,)) for letter in ascii_lowercase + digits]
    if isinstance(index, TranslatedNames):
        found = ((name, letter, index.find_ids(name, (letter,), 3)) for name in TABLES for letter in ascii_lowercase)
        return [(name, letter, sorted(set().union(*ids))) for name, letter, ids in found]
    return list(index.items())
