"""The cover graph shows who is qualified, who counts now, and who can fill which place."""

from __future__ import annotations

from small_company import ON
from small_team import build_team, build_team_rows

from ontology.analysis.places.cover_graph import build_cover_graph


def test_absent_people_keep_their_edges_to_needs_and_lose_those_to_places() -> None:
    snapshot = build_team(
        build_team_rows(p={"a": 2}, q={"a": 2}, r={"a": 1}, s={"a": 3}),
        roles=[{"id": "ra", "label": "Role"}],
        requirements=[{"role": "ra", "competency": "a", "level": 2}],
        places=[{"id": "one", "team": "t", "role": "ra"}],
        cover_needs=[{"team": "t", "competency": "a", "level": 2, "target": 3}],
        absences=[{"person": "q", "from_date": ON, "to_date": ON}],
    )
    graph = build_cover_graph(snapshot, "t", ON, frozenset({"s"}))
    need, place = ("need", "a", "2", "", "team"), ("place", "one")
    is_present = {node[1]: data["is_present"] for node, data in graph.nodes(data=True) if node[0] == "person"}
    assert is_present == {"p": True, "q": False, "r": True, "s": False}
    edges = {node[1]: graph.edges[node, need]["is_present"] for node in graph.neighbors(need)}
    assert edges == {"p": True, "q": False, "s": False}
    assert list(graph.neighbors(place)) == [("person", "p")]
    assert (graph.nodes[need]["depth"], graph.nodes[need]["state"]) == (1, "sole-holder")
