"""Absences that break something, counted by classes, against open data with an independent library."""

from __future__ import annotations

from itertools import combinations

import networkx as nx

from ontology.analysis.places.absence_counts import count_breaking
from ontology.analysis.places.bottleneck import find_essential_people, find_matching


def count_by_removal(graph: nx.Graph[str], women: list[str], events: list[str], size: int) -> int:
    """Return after how many sets of women's absences networkx can fill fewer events."""
    whole = len(nx.bipartite.hopcroft_karp_matching(graph, events))
    count = 0
    for away in combinations(women, size):
        rest = graph.subgraph(set(graph).difference(away))
        count += len(nx.bipartite.hopcroft_karp_matching(rest, events)) < whole
    return count


def test_southern_women_pairs_and_triples_are_those_of_removing_them() -> None:
    """Davis, Gardner & Gardner 1941, Deep South; the data as networkx ships them: 18 women, 14 events to fill."""
    graph: nx.Graph[str] = nx.davis_southern_women_graph()
    women = sorted(node for node, side in graph.nodes(data="bipartite") if side == 0)
    events = sorted(node for node, side in graph.nodes(data="bipartite") if side == 1)
    matching = find_matching([sorted(graph[event]) for event in events])
    pairs, triples = count_breaking([], matching, women)
    assert (pairs.pairs, triples.triples) == (153, 816)
    assert pairs.breaking == count_by_removal(graph, women, events, 2)
    assert triples.breaking == count_by_removal(graph, women, events, 3)
    assert len(find_essential_people(matching)) == count_by_removal(graph, women, events, 1)


def test_a_place_more_than_the_women_can_fill_makes_everyone_of_them_needed() -> None:
    """The same data the other way round: 18 women to be met at 14 events, each by one: no event can be spared."""
    graph: nx.Graph[str] = nx.davis_southern_women_graph()
    women = sorted(node for node, side in graph.nodes(data="bipartite") if side == 0)
    events = sorted(node for node, side in graph.nodes(data="bipartite") if side == 1)
    matching = find_matching([sorted(graph[woman]) for woman in women])
    pairs, triples = count_breaking([], matching, events)
    assert (matching.size, find_essential_people(matching)) == (14, set(events))
    assert (pairs.breaking, triples.breaking) == (91, 364), "all pairs and triples of 14"
