"""Mappings: exact ones stand among the exact matches and go with them; what SKOS calls a contradiction is refused."""

from __future__ import annotations

import itertools
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ontology.checks.rules.mappings import RULES
from ontology.checks.skos import check_s46
from ontology.errors import FindingsError
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.snapshot.snapshot import Snapshot

THERE = "http://elsewhere.example/a"
SCALE = ("scales", TABLES["scales"].build(scale="s", rank=1, label="able"))


def build_competency(i: str, *matches: str) -> tuple[str, Any]:
    return "competencies", TABLES["competencies"].build(id=i, label=i.upper(), scale="s", exact_match=matches)


def build_mapping(competency: str, relation: str, target: str = THERE, **more: Any) -> tuple[str, Any]:
    return "mappings", TABLES["mappings"].build(competency=competency, target=target, relation=relation, **more)


@pytest.fixture
def graph() -> LiveGraph:
    graph = LiveGraph.in_memory()
    graph.apply(Change(put=(SCALE, build_competency("pump"), build_competency("gate"))), who="t", why="w")
    return graph


def get_matches(graph: LiveGraph) -> tuple[str, ...]:
    return graph.get_snapshot().competencies["pump"].exact_match


def test_an_exact_mapping_is_an_exact_match_until_it_says_something_else_or_goes(graph: LiveGraph) -> None:
    for change, matches in (
        (Change(put=(build_mapping("pump", "exact"),)), (THERE,)),
        (Change(put=(build_mapping("pump", "broad"),)), ()),
        (Change(put=(build_mapping("pump", "exact"),)), (THERE,)),
        (Change(put=(build_mapping("pump", "exact", status="refused"),)), ()),
        (Change(put=(build_mapping("pump", "exact"), build_competency("pump"))), (THERE,)),
        (Change(remove=(("mappings", ("pump", THERE)),)), ()),
    ):
        before = graph.get_snapshot().revision
        assert graph.apply(change, who="t", why="w").revision == before + 1
        assert get_matches(graph) == matches


def test_what_exact_matches_make_the_same_is_not_wider_narrower_or_related(graph: LiveGraph) -> None:
    graph.apply(Change(put=(build_competency("pump", THERE),)), who="t", why="w")
    with pytest.raises(FindingsError, match="1 error found") as refused:
        graph.apply(Change(put=(build_mapping("pump", "narrow"),)), who="t", why="w")
    assert "SKOS S46" in refused.value.findings[0].reason
    # the mapping was there first: the competency that makes it a contradiction is refused
    graph.apply(Change(put=(build_mapping("gate", "broad"),)), who="t", why="w")
    with pytest.raises(FindingsError):
        graph.apply(Change(put=(build_competency("gate", THERE),)), who="t", why="w")


def test_what_is_not_the_same_but_matched_is_a_remark(graph: LiveGraph) -> None:
    graph.apply(Change(put=(build_competency("pump", THERE),)), who="t", why="w")
    [remark] = graph.apply(Change(put=(build_mapping("pump", "different"),)), who="t", why="w").remarks
    assert "is not the same, but exact_match of pump names it" in remark.reason


@given(
    st.lists(
        st.tuples(
            st.sampled_from("abc"),
            st.sampled_from("xyz"),
            st.sampled_from(["exact", "broad", "narrow", "related", "close"]),
        ),
        max_size=6,
    ),
    st.lists(st.tuples(st.sampled_from("abc"), st.sampled_from("xyz")), max_size=4),
)
def test_the_rule_finds_what_the_integrity_condition_finds(
    rows: list[tuple[str, str, str]], matches: list[tuple[str, str]]
) -> None:
    """SKOS Reference (W3C, 18 August 2009), S46, as our check of the standard's conditions has it."""
    there = "http://elsewhere.example/"
    given_matches = {i: tuple(sorted({there + x for a, x in matches if a == i})) for i in "abc"}
    mappings = [build_mapping(a, relation, there + x) for (a, x), relation in {(a, x): r for a, x, r in rows}.items()]
    records: dict[str, list[Any]] = {"scales": [SCALE[1]], "mappings": [row for _, row in mappings]}
    records["competencies"] = [build_competency(i, *given_matches[i])[1] for i in "abc"]
    snapshot = Snapshot(records)
    found = any(list(RULES[0].check(snapshot, row)) for _, row in mappings)

    own = {i: ns.iri_term(ns.record_iri("competency", i)) for i in "abc"}
    triples = [(own[i], f"<{ns.SKOS}exactMatch>", f"<{x}>") for i in "abc" for x in given_matches[i]]
    triples += [(own[row.competency], f"<{ns.SKOS}{row.relation}Match>", f"<{row.target}>") for _, row in mappings]
    # S44 and S45, exactMatch is symmetric and transitive, by trying: few nodes
    same = {(s, o) for s, p, o in triples if p.endswith("exactMatch>")}
    while more := {(b, a) for a, b in same} | {(a, d) for (a, b), (c, d) in itertools.product(same, same) if b == c}:
        if more <= same:
            break
        same |= more
    triples += [(a, f"<{ns.SKOS}exactMatch>", b) for a, b in same]
    assert found == bool(check_s46(triples))
