"""How many absences break something, and the partition of slots and people, against definitions and other libraries."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import networkx as nx
import numpy as np
import pytest
from brute_cover import breaks
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_bipartite_matching, structural_rank
from small_company import ON
from small_team import PlainTeam, Rows, build_team, team_rows

from ontology.analysis.cover.coverage import NeedScope
from ontology.analysis.places import absence_counts
from ontology.analysis.places.absence_counts import count_breaking
from ontology.analysis.places.bottleneck import find_essential_people, find_matching, find_over_demanded
from ontology.analysis.places.staffing import compute_staffing
from ontology.model.tables import TABLES

MANY = settings(max_examples=draws(300), deadline=None)
PEOPLE = [f"p{n}" for n in range(9)]


def get_rank(able: Sequence[frozenset[str]], away: frozenset[str] = frozenset()) -> int:
    """Return how many slots can be filled, by scipy."""
    if not able:
        return 0
    table = [[person in people - away for person in PEOPLE] for people in able]
    return int(structural_rank(csr_array(np.array(table, dtype=np.int8))))


def build_scope(people: frozenset[str], minimum: int) -> NeedScope:
    need = TABLES["cover_needs"].build(team="t", competency="a", level=1, minimum=minimum)
    return NeedScope(need, None, True, tuple(sorted(people)), tuple(sorted(people)))


GROUPS = st.lists(st.frozensets(st.sampled_from(PEOPLE), min_size=2), max_size=6)
NEEDS = st.lists(st.tuples(st.frozensets(st.sampled_from(PEOPLE), min_size=1), st.integers(1, 3)), max_size=3)


@MANY
@given(GROUPS, NEEDS, st.integers(0, 9))
def test_breaking_pairs_and_triples_are_those_that_enumeration_finds(
    able: list[frozenset[str]], needs: list[tuple[frozenset[str], int]], count: int
) -> None:
    people = PEOPLE[:count]
    able = [group & frozenset(people) for group in able]
    holding = [(group & frozenset(people), minimum) for group, minimum in needs]
    holding = [(group, minimum) for group, minimum in holding if len(group) >= minimum]
    matching = find_matching([sorted(group) for group in able])
    pairs, triples = count_breaking([build_scope(*need) for need in holding], matching, people)
    rank = get_rank(able)
    for found, size, total in ((pairs, 2, pairs.pairs), (triples, 3, triples.triples)):
        sets = [frozenset(group) for group in combinations(people, size)]
        expected = sum(
            get_rank(able, away) < rank or any(len(group - away) < minimum for group, minimum in holding)
            for away in sets
        )
        assert (found.breaking, total) == (expected, len(sets))
        assert found.share == (expected / len(sets) if sets else None)


@MANY
@given(team_rows(max_people=5, max_needs=2, max_places=2), st.data())
def test_team_without_those_who_leave_is_the_team_with_them_away(rows: Rows, data: st.DataObject) -> None:
    ids = [row["id"] for row in rows["people"]]
    leaving = data.draw(st.frozensets(st.sampled_from(ids or ["p0"]), max_size=2)) & frozenset(ids)
    snapshot = build_team(rows)
    result = compute_staffing(snapshot, "t", ON, frozenset(), leaving)
    assert result.leaving == tuple(sorted(leaving))
    if not leaving:
        assert result.after_leaving is None
        return
    then = compute_staffing(snapshot, "t", ON, leaving)
    after = result.after_leaving
    assert after is not None
    for field in ("filled", "together_filled", "tolerance", "critical_absences", "pairs_breaking", "triples_breaking"):
        assert getattr(after, field) == getattr(then, field), field
    plain = PlainTeam(rows, leaving)
    triples = [frozenset(group) for group in combinations(sorted(plain.present), 3)]
    assert after.triples_breaking.breaking == sum(breaks(plain.needs, plain.able, away) for away in triples)
    now = compute_staffing(snapshot, "t", ON)
    assert (result.tolerance, result.triples_breaking) == (now.tolerance, now.triples_breaking)


@MANY
@given(team_rows(max_people=6))
def test_people_who_cannot_be_spared_and_places_of_one_person_are_told(rows: Rows) -> None:
    plain = PlainTeam(rows)
    result = compute_staffing(build_team(rows), "t", ON)
    able = plain.able
    names = sorted(plain.people)
    rank = get_rank(able)
    assert list(result.cannot_be_spared) == [p for p in names if get_rank(able, frozenset({p})) < rank]
    expected = sorted({(place, next(iter(people))) for place, people in plain.slots if place and len(people) == 1})
    assert [(row.place, row.person) for row in result.only_one_can] == expected


def partition(able: Sequence[frozenset[int]], matched: dict[int, int]) -> tuple[set[int], set[int]]:
    """Return the over-demanded slots and the people in every maximum matching, from any one of these, by definition.

    Dulmage & Mendelsohn 1958: slots reached by alternating paths from an empty slot; people who hold a slot that no
    alternating path from a person without a slot reaches. By networkx's reachability in the graph of exchanges.
    """
    graph: nx.DiGraph[object] = nx.DiGraph()
    people = {person for group in able for person in group}
    graph.add_nodes_from(("slot", slot) for slot in range(len(able)))
    graph.add_nodes_from(("person", person) for person in people)
    for slot, group in enumerate(able):
        for person in group:
            if matched.get(slot) == person:
                graph.add_edge(("person", person), ("slot", slot))
            else:
                graph.add_edge(("slot", slot), ("person", person))
    empty = [("slot", slot) for slot in range(len(able)) if slot not in matched]
    reached = set(empty).union(*(nx.descendants(graph, node) for node in empty))
    held = {person: slot for slot, person in matched.items()}
    idle = [("person", person) for person in people - held.keys()]
    back = graph.reverse()
    spared = set(idle).union(*(nx.descendants(back, node) for node in idle))
    return (
        {slot for slot in range(len(able)) if ("slot", slot) in reached},
        {person for person in held if ("person", person) not in spared},
    )


@MANY
@given(st.lists(st.frozensets(st.integers(0, 13), max_size=5), max_size=14))
def test_partition_is_the_same_from_whatever_maximum_matching(able: list[frozenset[int]]) -> None:
    """Ours against an independent partition from matchings of three other algorithms."""
    graph: nx.Graph[object] = nx.Graph()
    tops = [("slot", slot) for slot in range(len(able))]
    graph.add_nodes_from(tops)
    graph.add_edges_from((("slot", slot), ("person", person)) for slot, group in enumerate(able) for person in group)
    found = [
        {node[1]: mate[1] for node, mate in algorithm(graph, tops).items() if node[0] == "slot"}  # type: ignore[index]
        for algorithm in (nx.bipartite.hopcroft_karp_matching, nx.bipartite.eppstein_matching)
    ]
    if able:
        table = np.array([[person in group for person in range(14)] for group in able], dtype=np.int8)
        columns = maximum_bipartite_matching(csr_array(table), perm_type="column")
        found.append({slot: int(person) for slot, person in enumerate(columns) if person >= 0})
    ours = find_matching([[f"p{person:02d}" for person in sorted(group)] for group in able])
    slots, people = find_over_demanded(ours)
    expected_people = {f"p{person:02d}" for slot in slots for person in able[slot]}
    assert set(people) == expected_people
    for matched in found:
        assert ours.size == len(matched)
        crowded, essential = partition(able, matched)
        assert set(slots) == crowded
        assert find_essential_people(ours) == {f"p{person:02d}" for person in essential}


def test_triples_of_too_many_kinds_of_people_are_not_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    matching = find_matching([["p0", "p1"], ["p1", "p2"], ["p3", "p4"]])
    _, triples = count_breaking([], matching, PEOPLE)
    assert triples.breaking is not None
    monkeypatch.setattr(absence_counts, "_PAIRS_LIMIT", 3)
    pairs, triples = count_breaking([], matching, PEOPLE)
    assert (pairs.breaking, triples.breaking, triples.share, triples.triples) == (4, None, None, 84)
