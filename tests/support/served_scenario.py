"""The demonstration scenario on the day it is told, as an application and served on a loopback port."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager

from demonstration_pages import ON
from flask import Flask
from loopback import serve
from scenario import SCENARIO, add_neighbour, begin_draft

from api.app import create_app
from api.desk.desk import Desk, State
from api.desk.draft_states import choose_draft
from api.desk.sights import Sights
from api.desk.states import NOW, StateAsked, choose_state
from api.http.context import EXTENSION
from api.settings import Settings
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph

__all__ = ["open_scenario", "serve_scenario"]


class _DeskOfTheDay(Desk):
    """A desk for which it is always the day of the scenario."""

    def __init__(self, graph: LiveGraph, settings: Settings) -> None:
        super().__init__(graph, settings)
        self.sights = Sights()

    def get_state(self, asked: StateAsked = NOW) -> State:
        """Return a state on that day."""
        today = dt.date.fromisoformat(ON)
        return choose_draft(self.graph, asked, today) if asked.draft else choose_state(self.graph, asked, today)


@contextmanager
def open_scenario() -> Iterator[Flask]:
    """Give the application while the block runs, with a store of its own."""
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    add_neighbour(graph)
    begin_draft(graph)
    app = create_app(graph)
    app.extensions[EXTENSION] = _DeskOfTheDay(graph, Settings())
    try:
        yield app
    finally:
        graph.close()


@contextmanager
def serve_scenario() -> Iterator[str]:
    """Serve it while the block runs; gives the address."""
    with open_scenario() as app, serve(app, threads=8) as port:
        yield f"http://127.0.0.1:{port}"
