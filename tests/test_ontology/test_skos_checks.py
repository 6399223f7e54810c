"""The six integrity conditions of SKOS, each from its own clause; and what SKOS allows stays silent."""

from __future__ import annotations

from itertools import combinations, product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rdflib import Graph

from ontology.checks.skos import (
    CHECKS,
    SkosFacts,
    check_s9,
    check_s13,
    check_s14,
    check_s27,
    check_s37,
    check_s46,
    check_skos,
)
from ontology.rdf import namespaces as ns
from ontology.rdf.entailment import BROADER_TRANSITIVE, EXACT_MATCH, entail, skos
from ontology.rdf.terms import Triple

PREFIXES = f"@base <http://ex.org/> . @prefix skos: <{ns.SKOS}> . @prefix nw: <{ns.NW}> . @prefix rdfs: <{ns.RDFS}> .\n"


def parse(text: str) -> Graph:
    return Graph().parse(data=PREFIXES + text, format="turtle")


def find_clauses(text: str) -> set[str]:
    return {finding.column for finding in check_skos(parse(text))}


@pytest.mark.parametrize(
    "text",
    [
        "<A> a skos:Concept , skos:ConceptScheme .",
        "<A> a skos:Concept . <B> skos:inScheme <A> .",
        "<A> a skos:Concept ; skos:hasTopConcept <B> .",
        "<A> skos:topConceptOf <B> . <B> skos:broader <C> .",
        "<A> a skos:ConceptScheme . <B> skos:exactMatch <A> .",
        "<A> a nw:Competency , skos:ConceptScheme .",
    ],
)
def test_s9_scheme_that_is_a_concept(text: str) -> None:
    # the Recommendation prints no counter-example: made from the condition and S4 to S8, S19
    assert find_clauses(text) == {"S9"}


@pytest.mark.parametrize(("one", "other"), list(combinations(["prefLabel", "altLabel", "hiddenLabel"], 2)))
def test_s13_one_text_as_two_kinds_of_label(one: str, other: str) -> None:
    assert find_clauses(f'<A> skos:{one} "love"@en ; skos:{other} "love"@en .') == {"S13"}
    assert find_clauses(f'<A> skos:{one} "love"@en ; skos:{other} "love"@fr .') == set()
    assert find_clauses(f'<A> skos:{one} "love"@en ; skos:{other} "love" .') == set()


def test_s13_language_tags_are_compared_without_case() -> None:
    # RFC 5646, section 2.1.1: tags are not case-sensitive
    assert find_clauses('<A> skos:prefLabel "colour"@en-GB ; skos:altLabel "colour"@en-gb .') == {"S13"}


@pytest.mark.parametrize(
    ("text", "clauses"),
    [
        ('<A> skos:prefLabel "a"@en , "b"@en .', {"S14"}),
        ('<A> skos:prefLabel "a"@en , "b"@EN .', {"S14"}),
        ('<A> skos:prefLabel "a" , "b" .', {"S14"}),
        ('<A> skos:prefLabel "a"@en , "b"@en-GB , "c" .', set()),
        ('<A> skos:prefLabel "a"@en . <B> skos:prefLabel "b"@en .', set()),
        ('<name> rdfs:subPropertyOf skos:prefLabel . <A> skos:prefLabel "a"@en ; <name> "b"@en .', {"S14"}),
    ],
)
def test_s14_one_preferred_label_per_language(text: str, clauses: set[str]) -> None:
    assert find_clauses(text) == clauses


@pytest.mark.parametrize(
    "text",
    [
        "<A> skos:broader <B> ; skos:related <B> .",
        "<A> skos:related <B> . <B> skos:broader <A> .",
        "<A> skos:narrower <B> ; skos:related <B> .",
        "<A> skos:broader <B> . <B> skos:broader <C> . <C> skos:broader <D> . <D> skos:related <A> .",
        "<A> skos:broaderTransitive <B> ; skos:relatedMatch <B> .",
        "<A> skos:broadMatch <B> . <C> skos:narrowMatch <B> ; skos:related <A> .",
        "<A> skos:broader <B> . <B> skos:broader <A> . <A> skos:related <A> .",
    ],
)
def test_s27_related_to_what_is_broader(text: str) -> None:
    assert find_clauses(text) == {"S27"}


def test_s27_names_both_concepts() -> None:
    (finding,) = check_s27(parse("<A> skos:broader <B> . <B> skos:broader <C> . <C> skos:related <A> ."))
    assert "http://ex.org/A is related to http://ex.org/C" in finding.reason


@pytest.mark.parametrize(
    "text",
    [
        "<A> a skos:Collection , skos:Concept .",
        "<A> a skos:OrderedCollection , skos:ConceptScheme .",
        "<A> skos:member <B> ; skos:broader <C> .",
        "<A> skos:memberList () ; skos:inScheme <S> ; a skos:Concept .",
        "<B> skos:inScheme <A> . <A> skos:member <B> .",
        "<A> a nw:Scale , skos:Concept .",
        "<A> a nw:Scale . <B> nw:scale <A> ; skos:related <A> .",
    ],
)
def test_s37_collection_that_is_a_concept_or_scheme(text: str) -> None:
    assert find_clauses(text) == {"S37"}


def test_scale_with_levels_is_consistent() -> None:
    text = (
        "<S> a nw:Scale , skos:OrderedCollection ; skos:memberList ( <L1> <L2> ) . <L1> a nw:Level . <L2> a nw:Level ."
    )
    assert find_clauses(text) == set()


@pytest.mark.parametrize(
    ("text", "clauses"),
    [
        ("<A> skos:exactMatch <B> ; skos:broadMatch <B> .", {"S46"}),
        ("<A> skos:exactMatch <B> ; skos:narrowMatch <B> .", {"S46"}),
        ("<A> skos:exactMatch <B> ; skos:relatedMatch <B> .", {"S46"}),
        ("<B> skos:exactMatch <A> . <A> skos:relatedMatch <B> .", {"S46"}),
        ("<A> skos:exactMatch <B> . <B> skos:exactMatch <C> . <C> skos:broadMatch <A> .", {"S46"}),
        ("<A> skos:exactMatch <B> . <A> skos:broadMatch <A> .", {"S46"}),
        ("<A> skos:exactMatch <B> . <B> skos:broadMatch <C> .", set()),
        ("<A> skos:closeMatch <B> ; skos:broadMatch <B> .", set()),
        ("<A> skos:broadMatch <A> .", set()),
    ],
)
def test_s46_exact_match_that_is_also_broad_or_related(text: str, clauses: set[str]) -> None:
    assert find_clauses(text) == clauses


@pytest.mark.parametrize(
    ("example", "text"),
    [
        (8, "<S> skos:hasTopConcept <A> . <A> skos:broader <B> . <B> skos:inScheme <S> ."),
        (33, "<A> skos:related <A> ."),
        (36, "<A> skos:broader <A> ."),
        (37, "<A> skos:broader <B> . <B> skos:broader <A> ."),
        (38, "<A> skos:broader <B> , <C> . <B> skos:broader <C> ."),
        (39, "<A> skos:broader <B> , <C> . <B> skos:broader <D> . <C> skos:broader <D> ."),
    ],
)
def test_what_skos_allows_is_no_violation(example: int, text: str) -> None:
    # numbers of the examples in the SKOS Reference
    assert find_clauses(text) == set(), example


def test_each_check_stands_under_its_clause() -> None:
    named = {"S9": check_s9, "S13": check_s13, "S14": check_s14, "S27": check_s27, "S37": check_s37, "S46": check_s46}
    assert named == CHECKS
    for clause, check in CHECKS.items():
        assert (check.__doc__ or "").startswith(f"{clause}: ")


def test_findings_are_errors_with_clause_node_and_record() -> None:
    subject = f"<{ns.ID}competency/weld>"
    (finding,) = check_skos([(subject, skos("prefLabel"), '"Weld"'), (subject, skos("altLabel"), '"Weld"')])
    assert (finding.severity, finding.column, finding.value) == ("error", "S13", "competency/weld")
    assert finding.about == ("competencies", "weld")


def test_quads_graphs_and_gathered_facts_give_the_same_findings() -> None:
    graph = parse('<A> skos:prefLabel "a"@en , "b"@en ; skos:broader <B> ; skos:related <B> .')
    quads = [("g", s.n3(), p.n3(), o.n3()) for s, p, o in graph]
    expected = check_skos(graph)
    assert [finding.column for finding in expected] == ["S14", "S27"]
    assert check_skos(quads) == expected
    assert check_skos(SkosFacts(quads)) == expected


NODES = [f"<http://ex.org/{letter}>" for letter in "ABCDE"]
links = st.lists(
    st.tuples(
        st.sampled_from(NODES),
        st.sampled_from(
            [skos(n) for n in ("broader", "related", "broadMatch", "relatedMatch", "exactMatch", "narrower")]
        ),
        st.sampled_from(NODES),
    ),
    max_size=9,
)


@given(links)
def test_s27_and_s46_agree_with_the_full_closure(triples: list[Triple]) -> None:
    known = entail(triples)
    pairs = list(product(NODES, NODES))
    overlap = [(a, b) for a, b in pairs if {(a, skos("related"), b), (a, BROADER_TRANSITIVE, b)} <= known]
    assert len(check_s27(triples)) == len(overlap)
    exact = [
        (name, a, b)
        for name in ("broadMatch", "relatedMatch")
        for a, b in pairs
        if {(a, skos(name), b), (a, EXACT_MATCH, b)} <= known
    ]
    assert len(check_s46(triples)) == len(exact)
