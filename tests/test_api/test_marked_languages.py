"""Every name in another language than the page says so: in cells, in sentences and in pictures (WCAG 2.2, 3.1.2)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser

import pytest
from flask.testing import FlaskClient
from rest_company import ON, build_company

from api.app import create_app
from api.desk.text_languages import TextLanguages
from api.pages.languages import mark_texts
from api.pictures.languages import mark_picture
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.framework_itself import THIS
from ontology.model.keeping_records import Translation
from ontology.model.tables import TABLES

NAMES = ("Pumpen bedienen", "Fachkraft", "Werk")
GERMAN = (
    Translation("competencies", "pump", "label", "de", NAMES[0]),
    Translation("roles", "operator", "label", "de", NAMES[1]),
    Translation("teams", "works", "label", "de", NAMES[2]),
)
PAGES = (
    "/roles/operator",
    "/competencies/pump",
    f"/teams/works/coverage?on={ON}",
    f"/people/p1/gap?role=operator&on={ON}",
    f"/people/p1/learning-path?role=operator&on={ON}",
    f"/teams/works/single-points-of-failure?on={ON}",
    f"/teams/works/staffing?on={ON}",
    "/search?q=fachkraft",
)
#: What holds no text of which a part could say its language; the description of a picture is read out as one string.
UNMARKED = frozenset({"title", "desc", "option", "select", "script", "style", "textarea", "datalist"})
VOID = frozenset({"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "wbr"})


class Texts(HTMLParser):
    """The texts of a page or a picture, each with the language it is in."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[tuple[str, str]] = []
        self.texts: list[tuple[str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        language = told.get("lang") or told.get("xml:lang") or (self.open[-1][1] if self.open else "")
        if tag not in VOID:
            self.open.append((tag, language))

    def handle_endtag(self, tag: str) -> None:
        while self.open and self.open.pop()[0] != tag:
            pass

    def handle_data(self, data: str) -> None:
        if self.open and UNMARKED.isdisjoint(tag for tag, _ in self.open):
            self.texts.append((data, self.open[-1][1]))


def read_texts(text: str) -> list[tuple[str, str]]:
    parser = Texts()
    parser.feed(text)
    return parser.texts


@pytest.fixture(scope="module")
def german() -> Iterator[FlaskClient]:
    """Who reads a company with a few German names."""
    graph = build_company()
    graph.apply(Change(put=tuple(("translations", row) for row in GERMAN)), who="test", why="translated")
    yield create_app(graph).test_client()
    graph.close()


def list_unmarked(text: str) -> list[str]:
    """Return the texts with a German name that do not say so."""
    name = re.compile("|".join(rf"(?<!\w){name}(?!\w)" for name in NAMES))
    return [told for told, language in read_texts(text) if name.search(told) and language != "de"]


@pytest.mark.parametrize("address", PAGES)
def test_every_name_on_a_page_is_marked(german: FlaskClient, address: str) -> None:
    page = german.get(f"{address}{'&' if '?' in address else '?'}language=de", follow_redirects=True)
    assert page.status_code == 200
    assert any(language == "de" and told in NAMES for told, language in read_texts(page.text)), "nothing is in German"
    assert list_unmarked(page.text) == []


def test_names_in_sentences_are_marked_and_what_is_ours_is_not(german: FlaskClient) -> None:
    found = german.get(f"/people/p1/gap?role=operator&on={ON}&language=de").text
    lead = re.search(r'<p class="lead">(.*?)</p>', found, re.DOTALL)
    assert lead is not None
    assert {told for told, language in read_texts(found) if language == "de"} <= {*NAMES, "Deutsch"}
    sentences = [told for told, language in read_texts(found) if language == "en" and len(told.split()) > 3]
    assert sentences


def test_what_is_written_in_another_main_language_is_marked_without_any_translation() -> None:
    graph = LiveGraph.in_memory()
    scale = [TABLES["scales"].build(scale="s", rank=1, label="kann")]
    rows = {
        "scales": scale,
        "framework": [TABLES["framework"].build(id=THIS, title="Werk", language="de")],
        "competencies": [TABLES["competencies"].build(id="pump", label=NAMES[0], scale="s")],
        "roles": [TABLES["roles"].build(id="op", label=NAMES[1])],
        "requirements": [TABLES["requirements"].build(role="op", competency="pump", level=1)],
    }
    graph.load(rows, who="t", why="w")
    client = create_app(graph).test_client()
    for address in ("/roles/op", "/competencies/pump", "/roles"):
        page = client.get(address).text
        assert '<span lang="de">' in page
        assert list_unmarked(page) == []


def test_pictures_say_it_in_the_page_and_by_themselves(german: FlaskClient) -> None:
    pytest.importorskip("graphviz")
    drawn = german.get("/api/roles/operator/diagram?language=de", headers={"Accept": "image/svg+xml"})
    if drawn.status_code == 503:
        pytest.skip("the program dot is not installed")
    assert 'xml:lang="de"' in drawn.text
    assert [told for told in list_unmarked(drawn.text) if told in NAMES] == []
    assert 'xml:lang="de"' in german.get("/roles/operator?language=de").text
    assert "xml:lang" not in german.get("/api/roles/operator/diagram?language=en").text


TOLD = TextLanguages(
    {"Rohr legen": "de", "A & B": "de", "Pump": "en"}, {"Rohr": "de", "rohr": "de", "A & B": "de", "Pump": "en"}
)


@pytest.mark.parametrize(
    ("sentence", "marked"),
    [
        ("needs Rohr", 'needs <span lang="de">Rohr</span>'),
        ("Rohre and -Rohr-", 'Rohre and -<span lang="de">Rohr</span>-'),
        ("a rohr and a Pump", "a rohr and a Pump"),
        ("5 &lt; A &amp; B &gt; 3", '5 &lt; <span lang="de">A &amp; B</span> &gt; 3'),
        (" Rohr legen ", ' <span lang="de">Rohr legen</span> '),
        ("Pump", '<span lang="en">Pump</span>'),
    ],
)
def test_a_name_is_marked_where_it_is_a_word_by_itself(sentence: str, marked: str) -> None:
    assert mark_texts(f"<p>{sentence}</p>", TOLD) == f"<p>{marked}</p>"


def test_lines_of_a_picture_are_marked_together_and_names_within_them() -> None:
    one, two, other = (
        "<text y='1'>Rohr</text>",
        "\n<text y='2'>leg</text>\n<text y='3'>en</text>",
        "<text>A &amp; B (2)</text>",
    )
    assert mark_picture(one + two, TOLD).count('xml:lang="de"') == 3
    # what stands between two texts parts them
    assert mark_picture(one + "<g/>" + two, TOLD).count('xml:lang="de"') == 1
    assert mark_picture(other, TOLD) == '<text><tspan xml:lang="de">A &amp; B</tspan> (2)</text>'
    assert mark_picture("<text>none</text><path/>", TOLD) == "<text>none</text><path/>"
