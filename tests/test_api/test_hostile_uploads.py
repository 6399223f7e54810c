"""Hostile and broken files sent to be loaded: one clear sentence, nothing stored, nothing told of this machine."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from loading import find_title, open_client, read, send
from workbook_parts import SHEET, build_sheet, replace_parts, write_sheet

from api.app import create_app
from api.settings import Settings
from ontology.live.live_graph import LiveGraph


@pytest.fixture(scope="module")
def app(shared_graph: LiveGraph) -> Flask:
    """An application with small uploads; each test gives it a graph and kept loads of its own."""
    return create_app(shared_graph, Settings(max_upload_bytes=200_000))


@pytest.fixture
def client(app: Flask, graph: LiveGraph) -> FlaskClient:
    return open_client(app, graph)


def build_bomb() -> bytes:
    """Return a workbook of 40 kB that would unpack to 40 MB."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b"0" * 40_000_000)
    return buffer.getvalue()


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("bomb.xlsx", build_bomb(), "would unpack to 40,000,000 bytes"),
        ("empty.xlsx", b"", "damaged or not a workbook"),
        ("text.xlsx", b"id,label\n", "damaged or not a workbook"),
        ("old.xlsx", bytes.fromhex("D0CF11E0A1B11AE1") + b"0" * 600, "has a password or is of the old kind"),
        ("other.zip.xlsx", b"PK\x05\x06" + b"\0" * 18, "not a workbook"),
    ],
)
def test_a_hostile_or_broken_workbook_gives_one_sentence(
    name: str, content: bytes, words: str, client: FlaskClient, graph: LiveGraph
) -> None:
    page = read(client, send(client, (name, content)))
    assert find_title(page) == "Nothing is stored: the file cannot be read"
    lead = re.search('<p class="lead">(.*?)</p>', page)
    assert lead is not None
    assert words in lead[1]
    assert name in lead[1]
    assert "/tmp" not in page
    assert "uploads" not in page
    assert "Store it" not in page
    assert graph.get_snapshot().revision == 1


def test_a_sheet_that_asks_for_a_huge_grid_is_refused(client: FlaskClient, tmp_path: Path) -> None:
    cells = '<row r="1048999"><c r="A1048999"><v>1</v></c></row>'
    path = replace_parts(write_sheet(tmp_path / "teams.xlsx", [["id", "label"]]), {SHEET: build_sheet(cells)})
    page = read(client, send(client, ("teams.xlsx", path.read_bytes())))
    assert "has more than 1,048,576 rows" in page


def test_a_csv_that_is_no_text_is_a_finding(client: FlaskClient) -> None:
    page = read(client, send(client, ("roles.csv", b"id,label\nr,\xff\xfe\n")))
    assert "Is not UTF-8 at byte 12" in page


def test_an_upload_above_the_limit_is_refused_and_others_may_be_larger_than_a_body(client: FlaskClient) -> None:
    response = client.post("/loads/new", data={"files": [(io.BytesIO(b"x" * 300_000), "roles.csv")]})
    assert response.status_code == 413
    assert "more than 0 MB together" in response.text
    small = create_app(LiveGraph.in_memory(), Settings(max_body_bytes=1_000)).test_client()
    assert send(small, ("roles.csv", "id,label\n" + "r,R\n" * 1_000)) == "/loads/1"
    assert small.post("/api/roles", data=b"x" * 2_000, content_type="application/json").status_code == 413


@pytest.mark.parametrize(("name", "status"), [("a.exe", 422), ("a.xls", 422), ("", 422)])
def test_a_file_of_another_kind_gives_the_form_back(name: str, status: int, client: FlaskClient) -> None:
    response = client.post("/loads/new", data={"files": [(io.BytesIO(b"x"), name)]})
    assert response.status_code == status
    assert "Nothing was kept" in response.text
    assert 'role="alert"' in response.text


def test_a_page_of_another_site_may_send_nothing(client: FlaskClient) -> None:
    data = {"files": [(io.BytesIO(b"x"), "roles.csv")]}
    assert client.post("/loads/new", data=data, headers={"Origin": "https://example.org"}).status_code == 403


def test_markup_in_a_file_stays_text(client: FlaskClient) -> None:
    text = "id,label\n<script>alert(1)</script>,<b>x</b>\n"
    page = read(client, send(client, ("<img src=x>.csv", text), ("roles.csv", text)))
    assert "<script>alert" not in page
    assert "<img src=x>" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
