"""A tiny company with a draft "d" that is edited beside it."""

from __future__ import annotations

from typing import Any

from small_company import build_competencies, build_scale

from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES

__all__ = ["edit", "fill", "publish", "record"]


def record(table: str, **values: Any) -> tuple[str, Any]:
    return (table, TABLES[table].build(**values))


def fill(graph: LiveGraph) -> LiveGraph:
    rows = {
        "scales": build_scale(),
        "competencies": build_competencies("a b c"),
        "roles": [{"id": "r", "label": "R"}],
        "requirements": [{"role": "r", "competency": "a", "level": 2}],
        "teams": [{"id": "t", "label": "T"}],
        "people": [{"id": "p", "name": "Person", "role": "r", "team": "t"}],
    }
    graph.load({name: [TABLES[name].build(**row) for row in some] for name, some in rows.items()}, who="x", why="load")
    return graph


def publish(graph: LiveGraph, *put: tuple[str, Any], remove: tuple[tuple[str, tuple[Any, ...]], ...] = ()) -> None:
    graph.apply(Change(put=put, remove=remove), who="Other", why="directly")


def edit(graph: LiveGraph, *put: tuple[str, Any], remove: tuple[tuple[str, tuple[Any, ...]], ...] = ()) -> None:
    graph.drafts.edit("d", Change(put=put, remove=remove), who="Ana", why="in the draft")
