"""The small company served, and clients that take its answers."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from flask import Flask
from flask.testing import FlaskClient
from rest_company import build_company
from signed_in import House

from api.app import create_app
from api.http.context import EXTENSION
from api.settings import Settings
from ontology.live.live_graph import LiveGraph
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.store.engine import Store


@pytest.fixture(scope="session")
def shared_graph() -> Iterator[LiveGraph]:
    """The company for tests that only read."""
    graph = build_company()
    yield graph
    graph.close()


@pytest.fixture(scope="session")
def shared_app(shared_graph: LiveGraph) -> Flask:
    """The company served with the usual settings."""
    return create_app(shared_graph)


@pytest.fixture
def client(shared_app: Flask) -> FlaskClient:
    """A client for tests that only read."""
    return shared_app.test_client()


@pytest.fixture(scope="session")
def company_quads(shared_graph: LiveGraph) -> list[Quad]:
    """What the store of the company holds; without the framework's own row, which there is but once."""
    own = ns.iri_term(ns.record_iri("framework", "this"))
    quads = (quad for name in ns.DATA_GRAPHS for quad in shared_graph.store.read_graph(name))
    return [quad for quad in quads if quad[1] != own]


@pytest.fixture
def graph(company_quads: list[Quad]) -> Iterator[LiveGraph]:
    """The company in a store of its own, without the checks of a load."""
    store = Store.in_memory()
    store.commit(company_quads, [], who="test", why="the company", expected_revision=store.revision)
    graph = LiveGraph(store)
    yield graph
    graph.close()


@pytest.fixture(scope="session")
def writable_app(shared_graph: LiveGraph) -> Flask:
    """An application with small pages and bodies; each test gives it a graph of its own."""
    return create_app(shared_graph, Settings(max_body_bytes=20_000, page_size_default=2, page_size_max=5))


@pytest.fixture
def writer(writable_app: Flask, graph: LiveGraph) -> FlaskClient:
    """A client that may change the company."""
    writable_app.extensions[EXTENSION].graph = graph
    return writable_app.test_client()


@pytest.fixture(scope="module")
def housed_graph() -> Iterator[LiveGraph]:
    """The company of the tests of one module that sign in."""
    graph = build_company()
    yield graph
    graph.close()


@pytest.fixture
def house(housed_graph: LiveGraph) -> House:
    """The company behind sign-in; its accounts are new for each test."""
    return House(housed_graph)
