"""Coverage, single points, staffing and tolerance against literal enumeration on random small teams."""

from __future__ import annotations

from itertools import combinations

import networkx as nx
import pytest
from brute_cover import (
    breaks,
    count_filled,
    get_chance,
    get_smallest_breaking,
    get_sometimes_empty,
    iterate_subsets,
    without,
)
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from small_company import ON
from small_team import PlainTeam, Rows, assess, build_team, team_rows

from ontology.analysis.cover.chance import compute_chance_of_cover, compute_chance_of_cover_at_rates
from ontology.analysis.cover.coverage import STATES, compute_coverage
from ontology.analysis.places.bottleneck import find_essential_people, find_matching, find_over_demanded
from ontology.analysis.places.cover_graph import build_cover_graph
from ontology.analysis.places.single_points import find_single_points_of_failure
from ontology.analysis.places.staffing import StaffingResult, compute_staffing
from ontology.analysis.places.tolerance import compute_surplus

MANY = settings(max_examples=draws(150), deadline=None)
ABLE = st.lists(st.frozensets(st.sampled_from("pqrst")), max_size=4)


@MANY
@given(team_rows(), st.data())
def test_coverage_is_what_counting_gives(rows: Rows, data: st.DataObject) -> None:
    away = data.draw(st.frozensets(st.sampled_from([r["id"] for r in rows["people"]] or ["p0"]), max_size=2))
    away &= {r["id"] for r in rows["people"]}
    plain = PlainTeam(rows, away)
    result = compute_coverage(build_team(rows), "t", ON, away)
    assert result.away == tuple(sorted(away))
    for row in result.needs:
        scopes = [
            scope
            for scope in plain.scopes
            if (scope[0]["competency"], scope[0]["level"], scope[0]["applies"])
            == (row.competency, row.level, row.applies)
        ]
        states = []
        for need, shift, qualified, present in scopes:
            depth = len(present)
            if depth < need["minimum"]:
                state = "short"
            elif depth == need["minimum"] == 1:
                state = "sole-holder"
            elif depth == need["minimum"]:
                state = "no-reserve"
            else:
                state = "below-target" if len(qualified) < need["target"] else "covered"
            states.append((depth, STATES.index(state), shift or "", tuple(sorted(qualified)), tuple(sorted(present))))
        worst = min(states)
        assert (row.depth, STATES.index(row.state), row.shift or "", row.qualified, row.present) == worst
        if row.shifts:
            assert [(s.depth, STATES.index(s.state), s.shift, s.qualified, s.present) for s in row.shifts] == states
        else:
            assert len(states) == 1


@MANY
@given(team_rows())
def test_single_points_are_those_whose_removal_breaks_something(rows: Rows) -> None:
    plain = PlainTeam(rows)
    result = find_single_points_of_failure(build_team(rows), "t", ON)
    expected = [p for p in sorted(plain.present) if breaks(plain.needs, plain.able, frozenset({p}))]
    assert [person.id for person in result.people] == expected
    for person in result.people:
        gone = frozenset({person.id})
        fallen = {
            (need["competency"], need["level"], need["applies"], shift)
            for need, shift, _, present in plain.scopes
            if len(present) >= need["minimum"] > len(present - gone)
        }
        assert {(n.competency, n.level, n.applies, n.shift) for n in person.needs} == fallen
        lost = count_filled(plain.able) - count_filled(without(plain.able, gone))
        assert len(person.places) + sum(need.slots for need in person.together) == lost


def check_staffing(result: StaffingResult, plain: PlainTeam) -> None:
    assert result.places == sum(bool(place) for place, _ in plain.slots)
    assert result.together_slots == len(plain.slots) - result.places
    assert result.filled + result.together_filled == count_filled(plain.able)
    assert result.filled == count_filled([able for place, able in plain.slots if place])
    used = [a.person for a in result.assignment] + [a.person for a in result.together_assignment]
    assert len(used) == len(set(used)) == result.filled + result.together_filled
    for manned in result.assignment:
        assert any(place == manned.place and manned.person in able for place, able in plain.slots)
    for met in result.together_assignment:
        assert any(
            (need["competency"], need["level"], shift) == (met.competency, met.level, met.shift)
            and met.person in present
            for need, shift, _, present in plain.scopes
        )
    named = sorted([a.place for a in result.assignment] + list(result.unfilled))
    assert named == sorted(place for place, _ in plain.slots if place)


@MANY
@given(team_rows())
def test_staffing_fills_as_much_as_any_assignment_and_names_the_bottleneck(rows: Rows) -> None:
    plain = PlainTeam(rows)
    result = compute_staffing(build_team(rows), "t", ON)
    check_staffing(result, plain)
    empty = get_sometimes_empty(plain.able)
    assert list(result.bottleneck.places) == sorted(plain.slots[slot][0] for slot in empty if plain.slots[slot][0])
    assert sum(need.slots for need in result.bottleneck.needs) == sum(not plain.slots[slot][0] for slot in empty)
    people = frozenset[str]().union(*(plain.able[slot] for slot in empty))
    assert result.bottleneck.people == tuple(sorted(people))
    assert bool(empty) == (len(people) < len(empty))


@MANY
@given(team_rows(max_people=5, max_needs=2, max_places=2))
def test_tolerance_is_the_largest_number_of_absences_that_never_break_anything(rows: Rows) -> None:
    plain = PlainTeam(rows)
    result = compute_staffing(build_team(rows), "t", ON)
    smallest = get_smallest_breaking(plain.needs, plain.able, plain.present)
    assert result.critical_absences == tuple(sorted(smallest or ()))
    full = count_filled(plain.able) == len(plain.able)
    broken = not full or any(len(people) < minimum for people, minimum in plain.needs)
    assert bool(result.tolerance.broken) == broken
    slacks = [len(people) - minimum for people, minimum in plain.needs if len(people) >= minimum]
    assert result.tolerance.needs == min(slacks, default=None)
    surpluses = [
        len(frozenset[str]().union(*(plain.able[slot] for slot in group))) - size
        for size in range(1, len(plain.able) + 1)
        for group in combinations(range(len(plain.able)), size)
    ]
    assert result.tolerance.places == (min(surpluses, default=None) if full else None)
    if broken or smallest is None:
        assert result.tolerance.overall is None
    else:
        assert result.tolerance.overall == len(smallest) - 1
    pairs = list(combinations(sorted(plain.present), 2))
    breaking = sum(breaks(plain.needs, plain.able, frozenset(pair)) for pair in pairs)
    assert (result.pairs_breaking.breaking, result.pairs_breaking.pairs) == (breaking, len(pairs))


@MANY
@given(team_rows(), st.randoms(use_true_random=False))
def test_order_of_rows_changes_nothing(rows: Rows, random: object) -> None:
    mixed = {name: list(group) for name, group in rows.items()}
    for group in mixed.values():
        random.shuffle(group)  # type: ignore[attr-defined]
    assert compute_staffing(build_team(mixed), "t", ON) == compute_staffing(build_team(rows), "t", ON)


@MANY
@given(team_rows(), st.sampled_from(["", "s1"]))
def test_another_able_person_never_lowers_depth_or_tolerance(rows: Rows, shift: str) -> None:
    if shift not in {row["id"] for row in rows["shifts"]}:
        shift = ""
    more = {
        "people": [{"id": "z", "name": "z", "team": "t", "shift": shift}],
        "assessments": [assess("z", competency, 5) for competency in "abc"],
    }
    small, large = build_team(rows), build_team(rows, **more)
    for before, after in zip(
        compute_coverage(small, "t", ON).needs, compute_coverage(large, "t", ON).needs, strict=True
    ):
        assert after.depth >= before.depth
    before_all, after_all = compute_staffing(small, "t", ON), compute_staffing(large, "t", ON)
    assert after_all.filled >= before_all.filled
    if before_all.tolerance.overall is not None:
        assert after_all.tolerance.overall is not None
        assert after_all.tolerance.overall >= before_all.tolerance.overall


@MANY
@given(ABLE)
def test_surplus_is_the_least_over_all_sets_of_slots(able: list[frozenset[str]]) -> None:
    sets = [
        (frozenset[str]().union(*(able[slot] for slot in group)), size)
        for size in range(1, len(able) + 1)
        for group in combinations(range(len(able)), size)
    ]
    surplus = compute_surplus([sorted(people) for people in able])
    if not sets:
        assert surplus is None
        return
    assert surplus is not None
    assert surplus.value == min(len(people) - size for people, size in sets)
    tight = [tuple(sorted(people)[: surplus.value + 1]) for people, size in sets if len(people) - size == surplus.value]
    if surplus.value >= 0:
        assert surplus.people == min(tight)


@MANY
@given(st.lists(st.frozensets(st.integers(0, 11)), max_size=12))
def test_matching_has_the_size_networkx_finds_and_the_partition_fits_it(able: list[frozenset[int]]) -> None:
    graph: nx.Graph[object] = nx.Graph()
    graph.add_nodes_from(range(len(able)))
    graph.add_edges_from((slot, f"p{person}") for slot, people in enumerate(able) for person in people)
    theirs = nx.bipartite.hopcroft_karp_matching(graph, top_nodes=range(len(able)))
    ours = find_matching([sorted(f"p{person}" for person in people) for people in able])
    assert ours.size == len(theirs) // 2
    slots, people = find_over_demanded(ours)
    assert len(slots) - len(people) == len(able) - ours.size
    sometimes_empty = [
        slot
        for slot in range(len(able))
        if len(nx.bipartite.hopcroft_karp_matching(graph.subgraph(set(graph) - {slot}), set(range(len(able))) - {slot}))
        == len(theirs)
    ]
    assert slots == sometimes_empty
    essential = {
        person
        for person in {f"p{p}" for people in able for p in people}
        if len(nx.bipartite.hopcroft_karp_matching(graph.subgraph(set(graph) - {person}), range(len(able))))
        < len(theirs)
    }
    assert find_essential_people(ours) == essential


@MANY
@given(st.lists(st.floats(0, 1), max_size=8), st.integers(0, 9))
def test_chance_adds_up_all_days(rates: list[float], minimum: int) -> None:
    assert compute_chance_of_cover_at_rates(rates, minimum) == pytest.approx(get_chance(rates, minimum), abs=1e-12)
    for rate in rates[:1]:
        expected = get_chance([rate] * len(rates), minimum)
        assert compute_chance_of_cover(len(rates), minimum, rate) == pytest.approx(expected, abs=1e-12)


def test_subsets_come_smallest_first() -> None:
    assert [sorted(group) for group in iterate_subsets("ba")] == [[], ["a"], ["b"], ["a", "b"]]


@MANY
@given(team_rows())
def test_cover_graph_says_what_the_answers_say(rows: Rows) -> None:
    snapshot = build_team(rows)
    graph = build_cover_graph(snapshot, "t", ON)
    assert nx.is_bipartite(graph)
    coverage = compute_coverage(snapshot, "t", ON)
    for row in coverage.needs:
        node = ("need", row.competency, str(row.level), row.shift or "", row.applies)
        assert (graph.nodes[node]["depth"], graph.nodes[node]["state"]) == (row.depth, row.state)
        assert sum(data["is_present"] for _, _, data in graph.edges(node, data=True)) == row.depth
    for manned in compute_staffing(snapshot, "t", ON).assignment:
        assert graph.has_edge(("person", manned.person), ("place", manned.place))
