"""Markup and script in every text of every table stay texts: on pages, in pictures, in what programs are told.

Also quotes, which would leave an attribute of HTML, and a label of the DOT language.
"""

from __future__ import annotations

import csv
import io
import re
from functools import lru_cache
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from tempfile import TemporaryDirectory
from urllib.parse import quote
from xml.etree import ElementTree as ET

import pytest
from demonstration_pages import QUESTIONS, list_form_pages, list_pages
from flask.testing import FlaskClient
from said_beside import say_beside
from scenario import SCENARIO, add_neighbour, begin_draft

from api.app import create_app
from api.questions import load_question
from api.settings import Settings
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES

EVIL = '"\'><zqscript>alert(1)</zqscript><img src=zq onerror=alert(1)>\\"];x='
#: Texts that name something elsewhere, or are one of a list.
NAMING = {"of", "language", "family", "method", "together", "change", "owner", "appointed_by", "done_by", "where"}
#: Pages that tell what was said beside records.
SAID_BESIDE = (
    *("/history/roles/treatment-operator", "/drafts", "/drafts/marked", "/drafts/marked/effect", "/releases"),
    *("/compare?from=0&to=draft:marked", "/compare?from=outside:marked", "/mappings/proposals?framework=marked"),
    *("/roles/treatment-operator?draft=marked", "/teams/treatment/changes?since=1", "/to-mend", "/framework"),
)
TEXTS = {
    name: {
        column.name
        for column in table.columns
        if column.kind == "text"
        and not column.refers_to
        and column.attribute not in table.key
        and column.name not in NAMING
    }
    for name, table in TABLES.items()
}


@lru_cache(maxsize=1)
def open_marked() -> tuple[FlaskClient, LiveGraph]:
    """Return the demonstration with markup behind every text."""
    graph = LiveGraph.in_memory()
    with TemporaryDirectory() as folder:
        for path in SCENARIO.glob("*.csv"):
            rows = list(csv.DictReader(io.StringIO(path.read_text("utf-8"))))
            for row in rows:
                row |= {name: row[name] + EVIL for name in TEXTS[path.stem] & row.keys() if row[name]}
            written = io.StringIO()
            writer = csv.DictWriter(written, list(rows[0]))
            writer.writeheader()
            writer.writerows(rows)
            Path(folder, path.name).write_text(written.getvalue(), "utf-8")
        report = load_paths(graph, [Path(folder)])
        add_neighbour(graph)
    assert [finding.format() for finding in report.findings if finding.severity == "error"] == []
    begin_draft(graph)
    say_beside(graph, EVIL, "treatment-operator")
    return create_app(graph, Settings(time_limit_default_s=1.0)).test_client(), graph


class Reader(HTMLParser):
    """Finds the elements and attributes of a page that nobody of us wrote."""

    def __init__(self) -> None:
        super().__init__()
        self.foreign: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        if tag == "zqscript" or any(name.startswith("on") for name in names) or ("src", "zq") in attrs:
            self.foreign.append(f"<{tag} {names}>")


def test_the_texts_are_there() -> None:
    client, graph = open_marked()
    assert sum(len(names) for names in TEXTS.values()) >= 14
    assert EVIL in graph.get_snapshot().roles["treatment-operator"].label
    assert EVIL in client.get("/api/roles/treatment-operator").get_json()["label"]


def test_no_page_holds_an_element_of_a_text() -> None:
    client, graph = open_marked()
    snapshot = graph.get_snapshot()
    forms = list_form_pages(snapshot)
    pages = [page for page in list_pages(snapshot) if page not in forms[: len(forms) // 2]]
    wrong, n_marked = [], 0
    for page in [*pages, *SAID_BESIDE, f"/search?q={quote(EVIL)}", f"/sparql?query={quote(EVIL)}"]:
        text = client.get(page, follow_redirects=True).text
        n_marked += "zqscript" in text
        reader = Reader()
        reader.feed(text)
        wrong += [f"{page}: {found}" for found in reader.foreign]
    assert wrong == []
    assert n_marked > len(pages) / 2, "or it would show nothing"


@pytest.mark.parametrize("name", [name for name in QUESTIONS if load_question(name).draw is not None])
def test_no_picture_holds_an_element_of_a_text(name: str) -> None:
    client, _ = open_marked()
    path, _, query = QUESTIONS[name].partition("?")
    response = client.get(f"/api{path}/diagram?format=svg" + (f"&{query}" if query else ""))
    assert response.status_code == 200, response.text
    elements = list(ET.fromstring(response.data).iter())
    assert not [one.tag for one in elements if one.tag.endswith(("zqscript", "img", "script"))]
    assert not [name for one in elements for name in one.attrib if name.startswith("on")]


def test_what_is_said_beside_records_is_shown_as_said() -> None:
    """Or its pages would show nothing of it."""
    client, _ = open_marked()
    for page, words in (
        ("/history/roles/treatment-operator", "said"),
        ("/drafts/marked", "Marked"),
        ("/drafts", "Marked"),
        ("/releases", "agreed"),
    ):
        text = unescape(re.sub(r"<[^>]*>", "", client.get(page).text))
        assert f"{words} {EVIL[:10]}" in text, page


def split_dot(text: str) -> tuple[str, str]:
    """Return what stands in a DOT text outside of comments, quotes and labels, and what stands in labels of HTML.

    By its grammar: in quotes a backslash goes with what follows it; a label begins and ends with angle brackets in
    pairs.
    """
    outside, labels, depth = [], [], 0
    lines = "\n".join(line for line in text.splitlines() if not line.startswith("//"))
    for token in re.findall(r'"(?:\\.|[^"\\])*"|->|[<>]|[^"<>-]+|["-]', lines):
        if depth == 0 and len(token) > 1 and token[0] == '"':
            continue
        depth += (token == "<") - (token == ">")
        (labels if depth or token == ">" else outside).append(token)
    assert depth == 0
    return "".join(outside), "".join(labels)


@pytest.mark.parametrize("name", [name for name in QUESTIONS if load_question(name).draw is not None])
def test_no_text_leaves_its_quotes_in_the_language_of_pictures(name: str) -> None:
    client, _ = open_marked()
    path, _, query = QUESTIONS[name].partition("?")
    text = client.get(f"/api{path}/diagram?format=dot" + (f"&{query}" if query else "")).text
    outside, labels = split_dot(text)
    assert "digraph" in outside
    assert not re.search(r"zqscript|onerror|alert|\bx=", outside)
    assert not re.search(r"<\s*(zqscript|img)", labels)
