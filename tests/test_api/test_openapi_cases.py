"""The OpenAPI document against the program: cases made from it by Schemathesis find no fault and nothing undocumented.

Fixed cases (derandomized), good and bad ones; half of them about records that are there. What is checked: no 5xx but
503 where the program dot is missing, and status, media type, headers and body as documented; a body or parameter the
document forbids is never taken.
"""

from __future__ import annotations

from typing import Any, Final

import pytest
import schemathesis
from effort import draws
from flask import Flask
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.checks import CHECKS, load_all_checks

from api.app import create_app
from api.http.collection import COLLECTIONS
from api.http.context import EXTENSION
from api.http.negotiation import WORKBOOK
from api.pictures.render import is_available
from ontology.live.live_graph import LiveGraph
from ontology.rdf.namespaces import Quad
from ontology.store.engine import Store

#: Cases of an operation: fewer where they only read, since those of all answers are made by the same few parts.
READING: Final = draws(3, least=2)
CHANGING: Final = draws(5, least=3)

load_all_checks()
# a workbook is sent as the bytes it is
schemathesis.serializer.alias(WORKBOOK, "application/octet-stream")
DOCUMENTED: Final = [
    CHECKS.get_one(name)
    for name in (
        "status_code_conformance",
        "content_type_conformance",
        "response_headers_conformance",
        "response_schema_conformance",
    )
]
REFUSES: Final = CHECKS.get_one("negative_data_rejection")
#: An id of each kind a body or an address may name.
KNOWN: Final = {
    "role": "operator",
    "to": "chief",
    "from": "helper",
    "competency": "pump",
    "person": "p1",
    "team": "works",
    "course": "pump-3",
    "scale": "craft",
    "shift": "day",
    "away": "p1,p3",
    "level": 2,
}


def build_app() -> Flask:
    """Return an application whose document is read before there is a company in it."""
    return create_app(LiveGraph.in_memory())


APP: Final = build_app()
OPERATIONS: Final = {
    operation.label: operation
    for operation in (
        found.ok() for found in schemathesis.openapi.from_wsgi("/api/openapi.json", APP).get_all_operations()
    )
}


#: The company as it was, as long as nothing but reading was asked of it.
UNTOUCHED: Final[list[LiveGraph]] = []


def serve_unchanged(quads: list[Quad], label: str) -> LiveGraph:
    """Give the application the company as it was: the one that others have only read, where there is one."""
    graph = UNTOUCHED.pop() if UNTOUCHED else serve_afresh(quads)
    if label.startswith("GET "):  # it changes nothing (RFC 9110, section 9.2.1)
        UNTOUCHED.append(graph)
    return graph


def serve_afresh(quads: list[Quad]) -> LiveGraph:
    """Give the application the company as it was and return it."""
    store = Store.in_memory()
    store.commit(quads, [], who="test", why="the company", expected_revision=store.revision)
    graph = APP.extensions[EXTENSION].graph = LiveGraph(store)
    return graph


def name_known(case: Any, item_id: str) -> None:
    """Let a case name records that are there: in its path, its parameters and its body."""
    if "id" in (case.path_parameters or {}):
        case.path_parameters["id"] = item_id
    for part in (case.query, case.body):
        if isinstance(part, dict):
            part.update({name: value for name, value in KNOWN.items() if name in part})
    if case.method in ("PUT", "DELETE"):
        case.headers = {**(case.headers or {}), "If-Match": "*"}


@pytest.mark.parametrize("mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE], ids=["good", "bad"])
@pytest.mark.parametrize("label", OPERATIONS)
def test_every_response_is_documented(
    label: str, mode: GenerationMode, shared_graph: LiveGraph, company_quads: list[Quad]
) -> None:
    operation = OPERATIONS[label]
    collection = next((c for c in COLLECTIONS.values() if c.name == operation.path.split("/")[2]), None)
    items = collection.get_items(shared_graph.get_snapshot()) if collection else []
    ids = [collection.get_path_id(item) for item in items] if collection else []
    graph = serve_unchanged(company_quads, label)

    @settings(
        max_examples=READING if operation.method.upper() == "GET" else CHANGING,
        derandomize=True,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(operation.as_strategy(generation_mode=mode), st.sampled_from(["", *ids]))
    def ask(case: Any, item_id: str) -> None:
        nonlocal graph
        if item_id:
            name_known(case, item_id)
        response = case.call()
        if graph.get_snapshot().revision != 1:
            graph = serve_afresh(company_quads)
        is_picture = label.endswith("/diagram")
        assert response.status_code < 500 or (response.status_code == 503 and is_picture and not is_available())
        # a value put right by name_known is no longer one to refuse
        is_taken = response.status_code < 300 and not item_id
        case.validate_response(response, checks=[*DOCUMENTED, *([REFUSES] if is_taken else [])])

    ask()


def test_the_cases_cover_every_operation() -> None:
    document = APP.test_client().get("/api/openapi.json").json or {}
    described = {
        f"{method.upper()} {path}"
        for path, operations in document["paths"].items()
        for method in operations
        if method in ("get", "post", "put", "delete")
    }
    assert set(OPERATIONS) == described
    assert len(described) > 100
