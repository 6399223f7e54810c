"""Betweenness of roles, on published networks told as role graphs.

Krackhardt (1990), Administrative Science Quarterly 35, 342-369 (the kite). Padgett & Ansell (1993), American Journal
of Sociology 98, 1259-1319 (marriages of Florentine families).
"""

from __future__ import annotations

from typing import Any

import networkx as nx
import pytest
from small_company import ON, build_competencies, build_scale, build_snapshot

from ontology.analysis.routes.framework_review import review_framework
from ontology.analysis.routes.role_graph import build_role_graph
from ontology.snapshot.snapshot import Snapshot


def build_company(links: nx.Graph[Any]) -> Snapshot:
    """Return a company in which two roles are within reach of each other just where the network has a link.

    A role asks its own competency on the first day; time in it brings those of its neighbours, which none asks there.
    """
    names = {node: f"n{number}" for number, node in enumerate(links)}
    requirements: list[dict[str, Any]] = []
    for node, name in names.items():
        requirements.append({"role": name, "competency": f"k-{name}", "level": 1})
        requirements += [
            {"role": name, "competency": f"k-{names[other]}", "level": 1, "entry_level": 0, "unsupervised_level": 0}
            for other in links[node]
        ]
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies(" ".join(f"k-{name}" for name in names.values())),
        roles=[{"id": name, "label": str(node)} for node, name in names.items()],
        requirements=requirements,
    )


PUBLISHED = [
    (nx.krackhardt_kite_graph(), {"7": 0.389, "5": 0.231, "6": 0.231, "3": 0.102}),
    (nx.florentine_families_graph(), {"Medici": 0.522, "Guadagni": 0.255, "Albizzi": 0.212}),
]


@pytest.mark.parametrize(("links", "published"), PUBLISHED)
def test_betweenness_of_roles_is_the_published_one(links: nx.Graph[Any], published: dict[str, float]) -> None:
    company = build_company(links)
    graph = build_role_graph(company)
    label = dict(graph.nodes(data="label"))
    assert {(label[a], label[b]) for a, b in graph.edges} == {
        (str(a), str(b)) for a, b in [*links.edges, *((b, a) for a, b in links.edges)]
    }
    told = {row.label: row.betweenness for row in review_framework(company, ON).central_roles}
    assert {name: round(told[name], 3) for name in published} == published
    assert next(iter(told)) == next(iter(published))
