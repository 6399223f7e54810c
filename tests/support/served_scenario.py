"""The demonstration scenario on the day it is told, as an application and served on a loopback port."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager

from demonstration_pages import ON
from flask import Flask
from loopback import serve
from scenario import SCENARIO

from api.app import create_app
from api.desk import desk
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph

__all__ = ["open_scenario", "serve_scenario"]


@contextmanager
def open_scenario() -> Iterator[Flask]:
    """Give the application while the block runs, in a store of its own; all of this process has that day meanwhile."""
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    present, desk.get_utc_day = desk.get_utc_day, lambda: dt.date.fromisoformat(ON)
    try:
        yield create_app(graph)
    finally:
        desk.get_utc_day = present
        graph.close()


@contextmanager
def serve_scenario() -> Iterator[str]:
    """Serve it while the block runs; gives the address."""
    with open_scenario() as app, serve(app, threads=8) as port:
        yield f"http://127.0.0.1:{port}"
