"""Every diagram as SVG, PNG or DOT text, by Accept or by format; DOT text even where the program is missing."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import pytest
from flask.testing import FlaskClient

from api.pictures.render import is_available

DIAGRAMS = [
    "/api/roles/operator/diagram",
    "/api/competencies/pump/diagram",
    "/api/people/p1/learning-path/diagram?role=operator",
    "/api/roles/senior/learning-path/diagram?from=helper",
    "/api/people/p1/routes/diagram?to=chief",
    "/api/roles/helper/routes/diagram?to=senior",
    "/api/teams/works/coverage/diagram?away=p3",
    "/api/teams/works/staffing/diagram?away=p3",
    "/api/teams/works/cross-training/diagram?hours_limit=40",
]
every_diagram = pytest.mark.parametrize("address", DIAGRAMS)


@every_diagram
def test_a_diagram_can_be_had_as_dot_text_without_the_program(
    client: FlaskClient, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", "")
    response = client.get(address, headers={"Accept": "text/vnd.graphviz"})
    assert (response.status_code, response.mimetype) == (200, "text/vnd.graphviz")
    assert "digraph" in response.text
    mark = "&" if "?" in address else "?"
    assert client.get(f"{address}{mark}format=dot").text == response.text
    missing = client.get(address)
    assert (missing.status_code, missing.mimetype) == (503, "application/problem+json")
    assert "Graphviz" in missing.text
    assert client.get(f"{address}{mark}format=gif").status_code == 406
    assert client.get(address, headers={"Accept": "application/json"}).status_code == 406


@pytest.mark.needs_dot
@pytest.mark.skipif(not is_available(), reason="needs the Graphviz program dot")
@every_diagram
def test_a_diagram_can_be_had_as_a_picture(client: FlaskClient, address: str) -> None:
    svg = client.get(address)
    assert (svg.status_code, svg.mimetype) == (200, "image/svg+xml")
    assert ET.fromstring(svg.data).tag.endswith("svg")
    policy = svg.headers["Content-Security-Policy"].split("; ")
    assert {"default-src 'none'", "sandbox"} <= set(policy)
    assert "script-src" not in svg.headers["Content-Security-Policy"]
    png = client.get(address, headers={"Accept": "image/png"})
    assert (png.mimetype, png.data[:8]) == ("image/png", b"\x89PNG\r\n\x1a\n")
    assert png.headers["ETag"] != svg.headers["ETag"]
    again = client.get(address, headers={"If-None-Match": svg.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")
    assert client.get(address).data == svg.data
