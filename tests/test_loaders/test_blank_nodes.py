"""Blank nodes get IRIs from their content: labels and order do not matter, and no two unlike nodes fall together."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rdflib import BNode, Graph
from rdflib.compare import isomorphic

from loaders.linked_data.blank_nodes import NODE, is_blank, name_blank_nodes
from ontology.errors import LimitError
from ontology.rdf.terms import Triple, build_graph

P, Q = "<urn:p>", "<urn:q>"
terms = st.sampled_from(["_:a", "_:b", "_:c", "_:d", "<urn:x>", "<urn:y>"])
graphs = st.lists(st.tuples(terms, st.sampled_from([P, Q]), terms), min_size=1, max_size=8, unique=True)


def name_all(triples: list[Triple]) -> set[Triple]:
    names = name_blank_nodes(triples)
    return {(names.get(s, s), p, names.get(o, o)) for s, p, o in triples}


def relabel(triples: list[Triple], random: Random) -> list[Triple]:
    blanks = sorted({term for s, _, o in triples for term in (s, o) if is_blank(term)})
    labels = [f"_:n{number}" for number in range(len(blanks))]
    random.shuffle(labels)
    new = dict(zip(blanks, labels, strict=True))
    renamed = [(new.get(s, s), p, new.get(o, o)) for s, p, o in triples]
    random.shuffle(renamed)
    return renamed


@given(graphs, st.randoms(use_true_random=False))
@settings(deadline=None)
def test_names_do_not_depend_on_labels_or_order(triples: list[Triple], random: Random) -> None:
    assert name_all(triples) == name_all(relabel(triples, random))


def count_blanks(triples: set[Triple]) -> int:
    return len({term for s, _, o in triples for term in (s, o) if is_blank(term)})


@given(graphs)
@settings(deadline=None)
def test_named_graph_says_the_same(triples: list[Triple]) -> None:
    # turning the names back into blank nodes gives an isomorphic graph, once components that say the same are one
    named = name_all(triples)
    back = Graph()
    for s, p, o in build_graph(named):
        back.add(tuple(BNode(str(t)[-32:]) if str(t).startswith(NODE) else t for t in (s, p, o)))  # type: ignore[arg-type]
    names = name_blank_nodes(triples)
    first: dict[str, str] = {}
    for blank in sorted(names):
        first.setdefault(names[blank], blank)
    kept = set(first.values())
    lean = [t for t in triples if all(not is_blank(term) or term in kept for term in (t[0], t[2]))]
    if len(set(names.values())) == len(names):
        assert isomorphic(back, build_graph(triples))
    else:
        assert len(named) <= len(triples)
        assert name_all(lean) <= named


def test_names_lie_below_the_node_address() -> None:
    (name,) = name_blank_nodes([("_:b", P, "<urn:x>")]).values()
    assert name.startswith(f"<{NODE}")
    assert len(name) == len(NODE) + 2 + 32


def test_name_does_not_depend_on_unrelated_statements() -> None:
    alone = name_blank_nodes([("_:b", P, "<urn:x>")])
    beside = name_blank_nodes([("_:b", P, "<urn:x>"), ("_:c", P, "<urn:y>"), ("<urn:x>", P, "<urn:z>")])
    assert alone["_:b"] == beside["_:b"]


def test_nodes_that_differ_only_far_away_stay_apart() -> None:
    one = [("_:a", P, "_:b"), ("_:b", P, "_:c"), ("_:c", P, "<urn:x>")]
    two = [("_:d", P, "_:e"), ("_:e", P, "_:f"), ("_:f", P, "<urn:y>")]
    names = name_blank_nodes([*one, *two])
    assert len(set(names.values())) == 6


def test_two_that_point_at_each_other_do_not_become_one() -> None:
    named = name_all([("_:a", P, "_:b"), ("_:b", P, "_:a")])
    assert len(named) == 2
    assert all(s != o for s, _, o in named)


def test_components_that_say_the_same_share_their_names() -> None:
    assert len(name_all([("_:a", P, "<urn:x>"), ("_:b", P, "<urn:x>")])) == 1


def test_file_made_to_be_undecidable_is_refused() -> None:
    # ten disjoint triangles tied to one node: refinement tells none apart
    triples: list[Triple] = []
    for number in range(10):
        corners = [f"_:t{number}{corner}" for corner in "abc"]
        triples += [(corners[i], P, corners[j]) for i in range(3) for j in range(3) if i != j]
        triples += [("_:hub", Q, corner) for corner in corners]
    with pytest.raises(LimitError, match="give them IRIs"):
        name_blank_nodes(triples)
