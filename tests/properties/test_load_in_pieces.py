"""A large load is made, checked and written piece by piece: it leads to what the same load in one piece leads to."""

from __future__ import annotations

import random
from collections import defaultdict
from dataclasses import replace

import pytest
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from shape_faults import build_faulty_quads
from working_companies import build_working_company

from ontology.checks import shape_runs
from ontology.checks.shape_runs import check_blocks, check_quads
from ontology.errors import FindingsError
from ontology.live.live_graph import LiveGraph
from ontology.mapping import difference
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.entailment import SUBCLASS_OF
from ontology.rdf.namespaces import DATA_GRAPHS, Quad
from ontology.store import engine
from ontology.store.engine import Store

OUTCOME = tuple[object, ...]


def load_over(seed: int, other: int, extra: list[Quad]) -> OUTCOME:
    """Load a company over another one and return what the store says then, how much changed, and what was found."""
    graph = LiveGraph.in_memory()
    graph.load(build_working_company(seed), who="t", why="first")
    records = build_working_company(other)
    found: object
    try:
        found = graph.load(records, extra, who="t", why="second").remarks
    except FindingsError as error:
        found = error.findings
    said = {quad for name in DATA_GRAPHS for quad in graph.store.read_graph(name)}
    entry = {p: o for _, s, p, o in graph.store.read_graph(ns.GRAPH_HISTORY) if s.endswith("/2>")}
    counts = [entry.get(ns.iri_term(ns.NW + name)) for name in ("addedCount", "removedCount")]
    return said, counts, sorted(found), graph.store.revision  # type: ignore[call-overload]


def draw_extra(seed: int) -> list[Quad]:
    """Return what others say: of our own nodes, in the graph of their table and in another one, and of their own."""
    rng = random.Random(seed)
    quads = [(ns.GRAPH_FRAMEWORK, "<urn:theirs>", ns.RDF_TYPE, f"<{ns.SKOS}Concept>")] * rng.randrange(3)
    for name, records in build_working_company(seed).items():
        for record in rng.sample(records, min(2, len(records))):
            node = ns.iri_term(TABLES[name].get_iri(record))
            graph = rng.choice([TABLES[name].graph, ns.GRAPH_OFFERS])
            # a second label breaks a shape
            predicate = f"<{ns.SKOS}prefLabel>" if seed % 4 == 0 else "<urn:p>"
            quads.append((graph, node, predicate, '"said by others"'))
    return quads


@pytest.mark.parametrize("limit", [5, 20_000], ids=["in-bulk", "as-text"])
@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10_000), st.integers(0, 10_000), st.booleans())
def test_a_load_in_many_pieces_is_the_load_in_one(limit: int, seed: int, other: int, has_extra: bool) -> None:
    extra = draw_extra(other) if has_extra else []
    with pytest.MonkeyPatch.context() as patch:
        expected = load_over(seed, other, extra)
        patch.setattr(difference, "_RECORDS_PER_PIECE", 3)
        patch.setattr(shape_runs, "_QUADS_PER_STAGE", 30)
        patch.setattr(engine, "TEXT_LIMIT", limit)
        assert load_over(seed, other, extra) == expected


def test_a_record_that_comes_twice_is_one_fault_however_large_the_load(monkeypatch: pytest.MonkeyPatch) -> None:
    """No loader hands over a key twice; one that did would be told so by the shapes, not stored as two halves."""
    records = build_working_company(3)
    first, *_ = records["roles"]
    twice = records | {"roles": [*records["roles"], replace(first, label="another label")]}
    monkeypatch.setattr(shape_runs, "_QUADS_PER_STAGE", 1)
    for size in (4_000, 1):
        monkeypatch.setattr(difference, "_RECORDS_PER_PIECE", size)
        with pytest.raises(FindingsError) as caught:
            LiveGraph.in_memory().load(twice, who="t", why="w")
        assert [finding.about for finding in caught.value.findings if finding.severity == "error"] == [
            ("roles", first.id)
        ]


@settings(max_examples=draws(25), deadline=None)
@given(st.integers(0, 100_000))
def test_the_shapes_find_in_stages_what_they_find_at_once(seed: int) -> None:
    quads = build_faulty_quads(seed)
    blocks: defaultdict[str, list[Quad]] = defaultdict(list)
    for quad in quads:
        blocks["" if any(quad[2] == SUBCLASS_OF for quad in quads) else quad[1]].append(quad)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(shape_runs, "_QUADS_PER_STAGE", 40)
        types = [quad for quad in quads if quad[2] == ns.RDF_TYPE]
        assert check_blocks(Store.in_memory(), blocks.values(), types) == check_quads(quads)
