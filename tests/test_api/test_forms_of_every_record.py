"""Every record of the demonstration in its form: sent as it was read, it changes nothing."""

from __future__ import annotations

from collections.abc import Iterator
from urllib.parse import unquote

import pytest
from flask import Flask
from flask.testing import FlaskClient
from html_forms import find_form
from scenario import SCENARIO

from api.app import create_app
from api.desk.record_words import get_record_id
from api.http.collection import COLLECTIONS
from api.pages.addresses import build_record_address
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph

#: Records of a table that are tried; of larger tables every so many-th is.
MOST = 8


@pytest.fixture(scope="module")
def demonstration() -> Iterator[LiveGraph]:
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    yield graph
    graph.close()


@pytest.fixture(scope="module")
def app(demonstration: LiveGraph) -> Flask:
    return create_app(demonstration)


@pytest.mark.parametrize("name", COLLECTIONS)
def test_a_form_that_comes_back_as_it_was_changes_nothing(app: Flask, demonstration: LiveGraph, name: str) -> None:
    client, collection, snapshot = app.test_client(), COLLECTIONS[name], demonstration.get_snapshot()
    items = collection.get_items(snapshot)
    assert items, f"the demonstration has no {name}"
    for item in items[:: -(-len(items) // MOST)]:
        assert send_back(client, build_record_address(name, get_record_id(collection.table, item))) == 303
    after = demonstration.get_snapshot()
    assert after.revision == snapshot.revision
    assert after.get_table(name) == snapshot.get_table(name)


def send_back(client: FlaskClient, address: str) -> int:
    """Open the form of a record, send it as it is, and return the status."""
    page = client.get(f"/edit{address}")
    assert page.status_code == 200, page.text
    form = find_form(page.text)
    # a slash within an id may stand as it is
    assert unquote(form.action) == unquote(f"/edit{address}")
    response = client.post(form.action, data=form.fields)
    assert response.status_code != 303 or response.headers["Location"] == f"{address}#stored", response.headers
    return response.status_code
