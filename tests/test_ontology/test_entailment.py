"""What a SKOS graph entails: by clause, and against owlrl as an oracle that shares no code with ours."""

from __future__ import annotations

from random import Random

import owlrl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rdflib import RDF, Graph, URIRef

from ontology.rdf import namespaces as ns
from ontology.rdf.entailment import build_index, entail, get_reachable, saturate, skos, walk_list
from ontology.rdf.terms import Triple, get_term_text, iterate_triples

PREFIXES = (
    f"@base <http://ex.org/> . @prefix skos: <{ns.SKOS}> . @prefix owl: <{ns.OWL}> . @prefix rdfs: <{ns.RDFS}> .\n"
)
A, B, C, D = (f"<http://ex.org/{name}>" for name in "ABCD")

#: SKOS Reference, W3C Recommendation 18 August 2009: the axioms, written down from its clauses for the oracle.
AXIOMS = f"""{PREFIXES}
skos:inScheme rdfs:range skos:ConceptScheme .                                                        # S4
skos:hasTopConcept rdfs:domain skos:ConceptScheme ; rdfs:range skos:Concept .                        # S5, S6
skos:topConceptOf rdfs:subPropertyOf skos:inScheme ; owl:inverseOf skos:hasTopConcept .              # S7, S8
skos:semanticRelation rdfs:domain skos:Concept ; rdfs:range skos:Concept .                           # S19, S20
skos:broaderTransitive rdfs:subPropertyOf skos:semanticRelation .                                    # S21
skos:narrowerTransitive rdfs:subPropertyOf skos:semanticRelation .
skos:related rdfs:subPropertyOf skos:semanticRelation .
skos:broader rdfs:subPropertyOf skos:broaderTransitive .                                             # S22
skos:narrower rdfs:subPropertyOf skos:narrowerTransitive .
skos:related a owl:SymmetricProperty .                                                               # S23
skos:broaderTransitive a owl:TransitiveProperty .                                                    # S24
skos:narrowerTransitive a owl:TransitiveProperty .
skos:narrower owl:inverseOf skos:broader .                                                           # S25
skos:narrowerTransitive owl:inverseOf skos:broaderTransitive .                                       # S26
skos:OrderedCollection rdfs:subClassOf skos:Collection .                                             # S29
skos:member rdfs:domain skos:Collection .                                                            # S31
skos:memberList rdfs:domain skos:OrderedCollection .                                                 # S33
skos:mappingRelation rdfs:subPropertyOf skos:semanticRelation .                                      # S39
skos:closeMatch rdfs:subPropertyOf skos:mappingRelation .                                            # S40
skos:broadMatch rdfs:subPropertyOf skos:mappingRelation , skos:broader .                             # S40, S41
skos:narrowMatch rdfs:subPropertyOf skos:mappingRelation , skos:narrower .
skos:relatedMatch rdfs:subPropertyOf skos:mappingRelation , skos:related .
skos:exactMatch rdfs:subPropertyOf skos:closeMatch .                                                 # S42
skos:narrowMatch owl:inverseOf skos:broadMatch .                                                     # S43
skos:relatedMatch a owl:SymmetricProperty .                                                          # S44
skos:closeMatch a owl:SymmetricProperty .
skos:exactMatch a owl:SymmetricProperty , owl:TransitiveProperty .                                   # S44, S45
"""
RELATIONS = [
    *("broader", "narrower", "related", "broaderTransitive", "narrowerTransitive", "closeMatch", "broadMatch"),
    *("narrowMatch", "relatedMatch", "exactMatch", "topConceptOf", "hasTopConcept", "inScheme", "member"),
]


def parse(text: str) -> set[Triple]:
    return set(iterate_triples(Graph().parse(data=PREFIXES + text, format="turtle")))


@pytest.mark.parametrize(
    ("clause", "premise", "conclusion"),
    [
        ("S4", "<A> skos:inScheme <B> .", "<B> a skos:ConceptScheme ."),
        ("S5, S6", "<A> skos:hasTopConcept <B> .", "<A> a skos:ConceptScheme . <B> a skos:Concept ."),
        ("S7", "<A> skos:topConceptOf <B> .", "<A> skos:inScheme <B> ."),
        ("S8", "<A> skos:topConceptOf <B> .", "<B> skos:hasTopConcept <A> ."),
        ("S8", "<B> skos:hasTopConcept <A> .", "<A> skos:topConceptOf <B> ; skos:inScheme <B> ."),
        ("S19, S20", "<A> skos:closeMatch <B> .", "<A> a skos:Concept . <B> a skos:Concept ."),
        ("S22", "<A> skos:broader <B> .", "<A> skos:broaderTransitive <B> ."),
        ("S22", "<A> skos:narrower <B> .", "<A> skos:narrowerTransitive <B> ."),
        ("S23", "<A> skos:related <B> .", "<B> skos:related <A> ."),
        ("S24", "<A> skos:broader <B> . <B> skos:broader <C> .", "<A> skos:broaderTransitive <C> ."),
        ("S24", "<A> skos:narrower <B> . <B> skos:narrower <C> .", "<A> skos:narrowerTransitive <C> ."),
        ("S25", "<A> skos:narrower <B> .", "<B> skos:broader <A> ."),
        ("S26", "<A> skos:narrowerTransitive <B> .", "<B> skos:broaderTransitive <A> ."),
        ("S36", "<A> skos:memberList ( <B> <C> <D> ) .", "<A> skos:member <B> , <C> , <D> ; a skos:Collection ."),
        ("S41", "<A> skos:broadMatch <B> .", "<A> skos:broader <B> ."),
        ("S41", "<A> skos:narrowMatch <B> .", "<A> skos:narrower <B> ."),
        ("S41", "<A> skos:relatedMatch <B> .", "<B> skos:related <A> ."),
        ("S42", "<A> skos:exactMatch <B> .", "<A> skos:closeMatch <B> ."),
        ("S43", "<A> skos:narrowMatch <B> .", "<B> skos:broadMatch <A> ."),
        ("S44", "<A> skos:closeMatch <B> .", "<B> skos:closeMatch <A> ."),
        ("S45", "<A> skos:exactMatch <B> . <B> skos:exactMatch <C> .", "<C> skos:exactMatch <A> , <C> ."),
        ("own subproperty", "<up> rdfs:subPropertyOf skos:broader . <A> <up> <B> .", "<B> skos:narrower <A> ."),
        ("own subclass", "<Skill> rdfs:subClassOf skos:Concept . <A> a <Skill> .", "<A> a skos:Concept ."),
    ],
)
def test_conclusion_of_the_clause_is_drawn(clause: str, premise: str, conclusion: str) -> None:
    assert parse(conclusion) <= entail(parse(premise)), clause


@pytest.mark.parametrize("relation", ["broader", "narrower", "related", "closeMatch", "broadMatch", "relatedMatch"])
def test_relation_is_not_transitive(relation: str) -> None:
    known = entail([(A, skos(relation), B), (B, skos(relation), C)])
    assert (A, skos(relation), C) not in known


def test_exact_match_makes_no_chains_with_other_relations() -> None:
    # SKOS Reference, example 70 and its like
    known = entail([(A, skos("exactMatch"), B), (B, skos("broadMatch"), C), (B, skos("related"), D)])
    assert (A, skos("broadMatch"), C) not in known
    assert (A, skos("broaderTransitive"), C) not in known
    assert (A, skos("related"), D) not in known


def test_same_nodes_share_all_statements() -> None:
    known = entail(parse('<A> owl:sameAs <B> . <A> skos:prefLabel "love"@en . <C> skos:broader <B> .'))
    assert (B, skos("prefLabel"), '"love"@en') in known
    assert (C, skos("broader"), A) in known
    assert (B, skos("narrower"), C) in known


def test_list_that_bites_its_tail_ends() -> None:
    assert walk_list({"x": ("1", "y"), "y": ("2", "x")}, "x") == ["1", "2"]


def test_saturation_leaves_transitive_conclusions_out() -> None:
    triples = [(A, skos("broader"), B), (B, skos("broader"), C)]
    assert (A, skos("broaderTransitive"), C) not in saturate(triples)
    assert get_reachable(build_index(saturate(triples), skos("broaderTransitive")), A) == {B, C}


triples = st.lists(
    st.tuples(
        st.sampled_from([A, B, C, D]),
        st.sampled_from([skos(name) for name in RELATIONS]),
        st.sampled_from([A, B, C, D]),
    ),
    min_size=1,
    max_size=6,
    unique=True,
)


def keep_skos(graph: Graph, nodes: set[URIRef]) -> set[Triple]:
    predicates = {URIRef(ns.SKOS + name) for name in (*RELATIONS, "semanticRelation", "mappingRelation")}
    kinds = {URIRef(ns.SKOS + name) for name in ("Concept", "ConceptScheme", "Collection", "OrderedCollection")}
    return {
        (get_term_text(s), get_term_text(p), get_term_text(o))
        for s, p, o in graph
        if s in nodes and ((p in predicates and o in nodes) or (p == RDF.type and o in kinds))
    }


def test_owlrl_draws_the_same_conclusions() -> None:
    # one run over many small graphs side by side, since the oracle needs a second for its own axioms
    random = Random(2009)
    given_triples: set[Triple] = set()
    for number in range(40):
        nodes = [f"<http://ex.org/g{number}/{name}>" for name in "ABCD"]
        for _ in range(random.randint(1, 6)):
            relation = skos(random.choice(RELATIONS))
            given_triples.add((random.choice(nodes), relation, random.choice(nodes)))
    graph = Graph().parse(data=AXIOMS, format="turtle")
    for s, p, o in given_triples:
        graph.add((URIRef(s[1:-1]), URIRef(p[1:-1]), URIRef(o[1:-1])))
    owlrl.DeductiveClosure(owlrl.OWLRL_Semantics).expand(graph)
    named = {URIRef(term[1:-1]) for s, _, o in given_triples for term in (s, o)}
    assert entail(given_triples) == keep_skos(graph, named)


@given(triples)
def test_entailing_twice_adds_nothing(given_triples: list[Triple]) -> None:
    once = entail(given_triples)
    assert set(given_triples) <= once
    assert entail(once) == once
