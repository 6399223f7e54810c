"""Cover and staffing against published figures and open data."""

from __future__ import annotations

import networkx as nx
import pytest
from small_company import ON, build_competencies, build_scale, build_snapshot

from ontology.analysis.cover.chance import compute_chance_of_cover, compute_chance_of_cover_at_rates
from ontology.analysis.places.single_points import find_single_points_of_failure
from ontology.analysis.places.staffing import compute_staffing
from ontology.analysis.training.cross_training import plan_cross_training
from ontology.snapshot.snapshot import Snapshot


def build_southern_women() -> tuple[Snapshot, nx.Graph[str]]:
    """Return a team of the 18 women, each of the 14 social events a place that those who came could fill.

    Davis, Gardner & Gardner 1941, Deep South; the data as networkx ships them.
    """
    graph: nx.Graph[str] = nx.davis_southern_women_graph()
    women = [node for node, side in graph.nodes(data="bipartite") if side == 0]
    events = [node for node, side in graph.nodes(data="bipartite") if side == 1]
    ids = {woman: woman.replace(" ", "-") for woman in women}
    snapshot = build_snapshot(
        scales=build_scale("s1", 1),
        competencies=build_competencies(" ".join(events), "s1"),
        roles=[{"id": event, "label": event} for event in events],
        requirements=[{"role": event, "competency": event, "level": 1} for event in events],
        teams=[{"id": "t", "label": "Old City"}],
        people=[{"id": ids[woman], "name": woman, "team": "t"} for woman in women],
        assessments=[
            {"person": ids[woman], "competency": event, "level": 1, "date": ON, "source": "assessor"}
            for woman in women
            for event in graph[woman]
        ],
        places=[{"id": event, "team": "t", "role": event} for event in events],
    )
    return snapshot, graph


def test_southern_women_fill_all_14_events() -> None:
    """18 + 14 nodes, 89 edges: maximum matching 14 = minimum vertex cover 14 (König 1931), recomputed."""
    snapshot, graph = build_southern_women()
    assert (len(graph), graph.number_of_edges()) == (32, 89)
    result = compute_staffing(snapshot, "t", ON)
    assert (result.places, result.filled, result.unfilled) == (14, 14, ())
    women = {node for node, side in graph.nodes(data="bipartite") if side == 0}
    theirs = nx.bipartite.hopcroft_karp_matching(graph, women)
    assert len(nx.bipartite.to_vertex_cover(graph, theirs, women)) == result.filled
    assert all(graph.has_edge(a.person.replace("-", " "), a.place) for a in result.assignment)


def test_southern_women_tolerance_is_the_least_surplus_of_hall() -> None:
    """Recomputed over all 2^14 - 1 sets of events."""
    snapshot, graph = build_southern_women()
    events = [node for node, side in graph.nodes(data="bipartite") if side == 1]
    women = {woman: 1 << n for n, woman in enumerate(n for n, side in graph.nodes(data="bipartite") if side == 0)}
    came = [sum(women[woman] for woman in graph[event]) for event in events]
    reach = [0] * (1 << len(events))
    least = len(women)
    for subset in range(1, len(reach)):
        low = subset & -subset
        reach[subset] = reach[subset ^ low] | came[low.bit_length() - 1]
        least = min(least, reach[subset].bit_count() - subset.bit_count())
    result = compute_staffing(snapshot, "t", ON)
    assert (result.tolerance.places, result.tolerance.overall) == (least, least)
    assert len(result.critical_absences) == least + 1
    away = frozenset(result.critical_absences)
    assert compute_staffing(snapshot, "t", ON, away).filled == 13
    assert bool(find_single_points_of_failure(snapshot, "t", ON).people) == (least == 0)


@pytest.mark.parametrize(
    ("n", "k", "p", "chance", "digits"),
    [
        (4, 3, 0.9, 0.9477, 4),  # MIL-HDBK-338B, Electronic Reliability Design Handbook: three of four displays
        (3, 2, 0.9, 0.972, 3),  # recomputed
        (4, 2, 0.9, 0.9963, 4),
        (5, 3, 0.9, 0.99144, 5),
        (1, 1, 0.95, 0.95, 6),  # attendance of 95 %, recomputed
        (2, 1, 0.95, 0.9975, 6),
        (3, 1, 0.95, 0.999875, 6),
        (2, 2, 0.95, 0.9025, 6),
        (3, 2, 0.95, 0.99275, 6),
        (4, 2, 0.95, 0.999519, 6),
    ],
)
def test_k_out_of_n_chances_are_the_printed_ones(n: int, k: int, p: float, chance: float, digits: int) -> None:
    assert round(compute_chance_of_cover(n, k, 1 - p), digits) == chance
    assert round(compute_chance_of_cover_at_rates([1 - p] * n, k), digits) == chance


@pytest.mark.parametrize(("p", "smallest"), [(0.90, [2, 4, 5, 7, 8]), (0.95, [2, 3, 5, 6, 7])])
def test_smallest_team_for_99_percent_cover(p: float, smallest: list[int]) -> None:
    """Recomputed: the least n with P(at least k present) >= .99, k = 1..5."""
    for k, expected in enumerate(smallest, start=1):
        found = next(n for n in range(k, 20) if compute_chance_of_cover(n, k, 1 - p) >= 0.99 - 1e-12)
        assert found == expected


def test_fewest_courses_for_twelve_needs_is_three_where_greedy_takes_four() -> None:
    """Set cover, Cormen, Leiserson, Rivest & Stein, 3rd edition, Fig. 35.3 (sets written down from memory, optimum
    3 recomputed): one person, twelve needs, six courses of one hour."""
    sets = ([1, 2, 3, 4, 5, 6], [5, 6, 8, 9], [1, 4, 7, 10], [2, 5, 7, 8, 11], [3, 6, 9, 12], [10, 11])
    snapshot = build_snapshot(
        scales=build_scale("s1", 1),
        competencies=build_competencies(" ".join(f"x{n}" for n in range(1, 13)), "s1"),
        teams=[{"id": "t", "label": "Team"}],
        people=[{"id": "p", "name": "p", "team": "t"}],
        cover_needs=[{"team": "t", "competency": f"x{n}", "level": 1, "target": 1} for n in range(1, 13)],
        courses=[{"id": f"S{n}", "label": "course", "hours": 1.0} for n in range(1, 7)],
        outcomes=[
            {"course": f"S{n}", "competency": f"x{x}", "level": 1} for n, group in enumerate(sets, 1) for x in group
        ],
    )
    result = plan_cross_training(snapshot, "t", ON)
    assert (result.status, result.study_hours) == ("optimal", 3.0)
    assert result.learners[0].courses == ("S3", "S4", "S5")


def test_weighted_set_cover_takes_the_full_set_where_greedy_takes_singletons() -> None:
    """Chvatal 1979, Mathematics of Operations Research 4 (from memory): singletons i at 1/i, the full set at 1 + e."""
    snapshot = build_snapshot(
        scales=build_scale("s1", 1),
        competencies=build_competencies(" ".join(f"x{n}" for n in range(1, 6)), "s1"),
        teams=[{"id": "t", "label": "Team"}],
        people=[{"id": "p", "name": "p", "team": "t"}],
        cover_needs=[{"team": "t", "competency": f"x{n}", "level": 1, "target": 1} for n in range(1, 6)],
        courses=[{"id": f"one{n}", "label": "course", "hours": 60 / n} for n in range(1, 6)]
        + [{"id": "all", "label": "course", "hours": 61.0}],
        outcomes=[{"course": f"one{n}", "competency": f"x{n}", "level": 1} for n in range(1, 6)]
        + [{"course": "all", "competency": f"x{n}", "level": 1} for n in range(1, 6)],
    )
    result = plan_cross_training(snapshot, "t", ON)
    assert (result.study_hours, result.lower_bound) == (61.0, 61.0)
    assert [row.courses for row in result.learners] == [("all",)]
