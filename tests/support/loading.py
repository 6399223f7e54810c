"""A client that loads tables as a browser does, into a graph and kept loads of its own."""

from __future__ import annotations

import io
import re

from flask import Flask
from flask.testing import FlaskClient

from api.desk.desk import Desk
from api.http.context import EXTENSION as DESK
from api.http.kept_loads import KeptLoads
from api.http.load_desk import EXTENSION as LOAD_DESK
from api.http.load_desk import LoadDesk
from ontology.live.live_graph import LiveGraph

__all__ = ["find_title", "open_client", "read", "send"]


def open_client(app: Flask, graph: LiveGraph) -> FlaskClient:
    """Return a client of an application that serves this graph from now on, and keeps no loads yet."""
    desk: Desk = app.extensions[DESK]
    desk.graph = graph
    # on a busy machine a check takes longer than a page waits
    app.extensions[LOAD_DESK] = LoadDesk(desk, KeptLoads(None, most=5, most_bytes=800_000), wait_s=60)
    return app.test_client()


def send(client: FlaskClient, *files: tuple[str, str | bytes], instead: str = "") -> str:
    """Send files and return where they lead."""
    parts = [(io.BytesIO(text.encode() if isinstance(text, str) else text), name) for name, text in files]
    response = client.post("/loads/new", data={"files": parts, "instead": instead})
    assert response.status_code == 303, response.text
    return response.location


def read(client: FlaskClient, address: str) -> str:
    response = client.get(address)
    assert response.status_code == 200
    return re.sub(r"\s+", " ", response.text)


def find_title(page: str) -> str:
    match = re.search("<h1>(.*?)</h1>", page)
    assert match is not None
    return match[1]
