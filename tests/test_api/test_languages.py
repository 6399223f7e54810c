"""In which language answers, pages and pictures are read: chosen at the edge, told in headers, kept by every link."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator
from dataclasses import replace
from html import unescape
from typing import Any

import pytest
from flask.testing import FlaskClient
from python_calamine import CalamineWorkbook
from rest_company import ON, build_company
from werkzeug.test import TestResponse

from api.app import create_app
from api.desk.desk import Desk
from api.errors import ParameterError
from api.settings import Settings
from api.terminal.answering import answer_call
from api.terminal.call import Call
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.keeping_records import Translation
from ontology.model.tables import TABLES

GAP = "/api/people/p1/gap?role=operator&on=" + ON
GERMAN = (
    Translation("competencies", "pump", "label", "de", "Pumpen bedienen"),
    Translation("competencies", "pump", "definition", "de", "Fährt Pumpen an und ab."),
    Translation("roles", "operator", "label", "de", "Fachkraft"),
    Translation("scales", "craft~3", "label", "de", "Selbstständig"),
    Translation("teams", "works", "label", "de", "Werk"),
    Translation("roles", "operator", "label", "fr", "Opérateur"),
)


def translate(graph: LiveGraph, *rows: Translation) -> None:
    """Put translations."""
    graph.apply(Change(put=tuple(("translations", row) for row in rows)), who="test", why="translated")


@pytest.fixture(scope="module")
def spoken() -> Iterator[LiveGraph]:
    """The company with texts in German and a few in French."""
    graph = build_company()
    translate(graph, *GERMAN)
    yield graph
    graph.close()


@pytest.fixture(scope="module")
def reader(spoken: LiveGraph) -> FlaskClient:
    """Who reads it."""
    return create_app(spoken).test_client()


def accept(client: FlaskClient, address: str, languages: str) -> TestResponse:
    """Ask with Accept-Language."""
    return client.get(address, headers={"Accept-Language": languages})


@pytest.mark.parametrize(
    ("address", "languages", "found", "label"),
    [
        (GAP, "", "en", "Operator"),
        (GAP, "de", "de", "Fachkraft"),
        (GAP, "de-AT, en;q=0.5", "de", "Fachkraft"),
        (GAP, "it, fr;q=0.3, de;q=0.2", "fr", "Opérateur"),
        (GAP, "it, pt;q=0.3", "en", "Operator"),
        (GAP, "en-GB, de;q=0.9", "en", "Operator"),
        (GAP + "&language=de-CH-1996", "fr", "de", "Fachkraft"),
        (GAP + "&language=DE", "", "de", "Fachkraft"),
        (GAP + "&language=it", "de", "en", "Operator"),
    ],
)
def test_an_answer_is_read_in_the_language_asked(
    reader: FlaskClient, address: str, languages: str, found: str, label: str
) -> None:
    """`language` goes before what is accepted; what is unknown leads to the main language."""
    page = accept(reader, address.removeprefix("/api"), languages)
    answer = accept(reader, address, languages)
    assert page.status_code == answer.status_code == 200
    assert page.headers["Content-Language"] == answer.headers["Content-Language"] == found
    assert label in re.sub("<[^>]+>", "", page.text)
    for response in (page, answer):
        assert ("Accept-Language" in response.headers["Vary"]) == ("language=" not in address)


def test_a_language_changes_texts_and_nothing_else(reader: FlaskClient) -> None:
    """Ids, numbers and their order are the same; tags are not."""
    main, german = reader.get(GAP), accept(reader, GAP, "de")
    assert main.json == german.json
    assert main.headers["ETag"] != german.headers["ETag"]
    again = reader.get(GAP, headers={"Accept-Language": "de", "If-None-Match": german.headers["ETag"]})
    assert again.status_code == 304
    assert "Accept-Language" in again.headers["Vary"]
    assert reader.get(GAP, headers={"If-None-Match": german.headers["ETag"]}).status_code == 200


@pytest.mark.parametrize("text", ["", "d", "de_AT", "deutsch!", "*", "de-"])
@pytest.mark.parametrize("address", [GAP, "/api/competencies/pump?", "/api/roles/operator/diagram?"])
def test_what_is_no_tag_is_one_addressed_error(reader: FlaskClient, address: str, text: str) -> None:
    problem = reader.get(f"{address}&language={text}")
    assert problem.status_code == 422
    assert [one["parameter"] for one in problem.json["errors"]] == ["language"]  # type: ignore[index]
    twice = reader.get(f"{address}&language=de&language=fr")
    assert (twice.status_code, twice.json["errors"][0]["reason"]) == (422, "is given twice")  # type: ignore[index]


@pytest.mark.parametrize("address", ["/api/competencies/pump?", "/api/roles?q=operator", "/api/scales/craft?"])
def test_records_never_vary(reader: FlaskClient, address: str) -> None:
    """Who sends back what was read must not overwrite the main language."""
    main = reader.get(address)
    for other in (accept(reader, address, "de"), reader.get(f"{address}&language=de")):
        assert (other.status_code, other.json) == (200, main.json)
        assert "Content-Language" not in other.headers
        assert "Accept-Language" not in other.headers["Vary"]
    assert accept(reader, address, "de").headers["ETag"] == main.headers["ETag"]


def test_nothing_is_changed_in_a_language(reader: FlaskClient) -> None:
    """A PUT that names one is refused before anything is read."""
    tag = reader.get("/api/roles/operator").headers["ETag"]
    body = {"label": "Fachkraft"}
    refused = reader.put("/api/roles/operator?language=de", json=body, headers={"If-Match": tag})
    assert refused.status_code == 422
    assert refused.json["errors"][0]["parameter"] == "language"  # type: ignore[index]


def test_pictures_are_drawn_in_the_language(reader: FlaskClient) -> None:
    """Each language has its picture and its tag; pages keep them apart."""
    address = "/api/roles/operator/diagram?format=dot"
    main, german = reader.get(address), accept(reader, address, "de")
    assert "Fachkraft" in german.text
    assert "Fachkraft" not in main.text
    assert main.headers["ETag"] != german.headers["ETag"]
    assert "Pumpen" in accept(reader, "/roles/operator", "de").text
    assert "Pumpen" not in reader.get("/roles/operator").text


def test_a_page_keeps_the_language_of_its_address(reader: FlaskClient) -> None:
    """Links, forms, pictures; with Accept-Language alone no link needs it."""
    page = reader.get("/roles/operator?language=de").text
    links = set(re.findall(r'(?:href|src|action)="(/[^"#]*)', page)) - {None}
    bare = {one for one in links if "language=" not in one and not one.startswith("/static/")}
    gets = {one for one in re.findall(r'<form[^>]*action="([^"]*)"[^>]*method="get"', page) if "language" not in one}
    assert bare <= gets
    assert '<input type="hidden" name="language" value="de">' in page
    assert "language=de" not in accept(reader, "/roles/operator", "de").text.partition("<footer")[0]


def test_a_page_offers_the_languages_there_are(reader: FlaskClient) -> None:
    """In the footer, each by its own name; the page says that it stays in English itself."""
    page = accept(reader, "/roles/operator", "fr").text
    offered = re.findall(r'<a href="([^"]+)" hreflang="(\w+)" lang="\w+">([^<]+)', page)
    assert [one[1:] for one in offered] == [("en", "English"), ("de", "Deutsch")]
    assert '<b lang="fr">français</b>' in page
    assert offered[1][0] == "/roles/operator?language=de"
    assert "the pages themselves are in English" in page
    assert '<html lang="en">' in page


def test_each_text_says_in_which_language_it_is(reader: FlaskClient) -> None:
    """What is translated, and what fell back."""
    page = accept(reader, "/roles/operator", "de").text
    assert '<span lang="de">Fachkraft</span>' in page
    assert '<span lang="de">Pumpen bedienen</span>' in page
    assert '<span lang="en">Valve work</span>' in page
    assert "<span lang" not in reader.get("/roles/operator").text
    assert not re.search(r"<(title|option)[^>]*>[^<]*<span", page)


def test_where_nothing_is_translated_nothing_is_told() -> None:
    """No header, no choice, the same tag whatever is accepted."""
    graph = LiveGraph.in_memory()
    graph.apply(Change(put=(("roles", TABLES["roles"].build(id="aide", label="Aide")),)), who="t", why="w")
    client = create_app(graph).test_client()
    for address in ("/api/roles/aide/similar", "/roles/aide"):
        main, german = client.get(address), accept(client, address, "de")
        assert main.headers["ETag"] == german.headers["ETag"]
        assert "Content-Language" not in german.headers
        assert "Accept-Language" not in german.headers["Vary"]
        assert "hreflang" not in german.text
    graph.close()


def test_forms_hold_the_main_language(reader: FlaskClient) -> None:
    """A form that is sent back as it was shown changes nothing."""
    form = accept(reader, "/edit/competencies/pump?language=de", "de").text
    assert 'value="Pump operation"' in form


def test_who_is_sent_on_keeps_the_language(reader: FlaskClient) -> None:
    """Whether a page is led on to its own shorter address, or to what was stored."""
    assert reader.get("/roles?q=&language=de").headers["Location"] == "/roles?language=de"
    stored = reader.post("/new/sites?language=de", data={"id": "north", "label": "North"})
    assert (stored.status_code, stored.headers["Location"]) == (303, "/sites/north?language=de#stored")


def test_a_command_prints_in_a_language(spoken: LiveGraph) -> None:
    """As text, as JSON, as a workbook; what is no tag is refused as over HTTP."""
    desk = Desk(spoken, Settings())
    call = Call(question="gap", table="people", subject="p1", asked={"role": "operator"}, language="de")
    assert "Fachkraft" in answer_call(desk, call).decode()
    assert "Fachkraft" not in answer_call(desk, replace(call, language="")).decode()
    book = answer_call(desk, replace(call, form="xlsx", language="de-AT"))
    texts = [text for sheet in load_cells(book) for row in sheet for text in row]
    assert "Pumpen bedienen" in texts
    with pytest.raises(ParameterError, match="'language' must be a language tag"):
        answer_call(desk, replace(call, language="de_AT"))


def load_cells(book: bytes) -> list[list[list[Any]]]:
    """Return the cells of a workbook's sheets."""
    read = CalamineWorkbook.from_filelike(io.BytesIO(book))
    return [read.get_sheet_by_name(name).to_python() for name in read.sheet_names]


def read_form(page: str) -> dict[str, str]:
    """Return what the form of a record would send."""
    form = page.partition('<form action="/edit')[2].partition("</form>")[0]
    inputs = re.findall(r'<input(?![^>]*type="radio")[^>]* name="([^"]+)"[^>]*? value="([^"]*)"', form)
    areas = re.findall(r'<textarea[^>]* name="([^"]+)"[^>]*>\n?([^<]*)</textarea>', form)
    picked = re.findall(r'<input type="radio" name="([^"]+)" value="([^"]*)" checked', form)
    chosen = re.findall(r'<select[^>]* name="([^"]+)".*?<option value="([^"]*)" selected', form)
    return {name: unescape(text) for name, text in (*inputs, *areas, *picked, *chosen)}


def test_a_form_changes_texts_in_other_languages_with_its_record() -> None:
    """In one commit: a text changed, one taken away, a language begun; what was not changed stays."""
    graph = build_company()
    translate(graph, *GERMAN)
    client, address = create_app(graph).test_client(), "/edit/competencies/pump"
    form = read_form(client.get(address).text)
    assert form["label@de"] == "Pumpen bedienen"
    assert form["label@fr"] == ""
    revision = graph.get_snapshot().revision
    assert client.post(address, data=form).status_code == 303
    assert graph.get_snapshot().revision == revision, "what is sent as it was shown changes nothing"
    sent = {**form, "label@de": "Pumpen fahren", "definition@de": "", "label@+": "Ucpání", "@language": "CS"}
    assert client.post(address, data=sent).status_code == 303
    rows = graph.get_snapshot().get_translations(("competencies", "pump"))
    assert [(row.column, row.language, row.text) for row in rows] == [
        ("label", "cs", "Ucpání"),
        ("label", "de", "Pumpen fahren"),
    ]
    assert graph.get_snapshot().revision == revision + 1
    page = accept(client, "/competencies/pump", "de").text
    assert '<dd lang="cs">Ucpání</dd>' in page
    assert '<dd lang="en">Pump operation</dd>' in page
    graph.close()


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ({"label@+": "Pompe"}, "Must name the language of the texts below"),
        ({"label@+": "Pompe", "@language": "fr_"}, "Must be a language tag (RFC 5646), like de or pt-br"),
        ({"label@de": "Pumpe"}, "Was changed meanwhile to &#39;Pumpen bedienen&#39;: open the form again"),
    ],
)
def test_a_wrong_text_in_a_language_is_refused_at_its_field(
    reader: FlaskClient, typed: dict[str, str], reason: str
) -> None:
    """Nothing is stored, and what was typed stands there still."""
    form = read_form(reader.get("/edit/competencies/pump").text)
    read = json.loads(form["read"])
    read.pop("said", None)  # as a form that showed none
    own = {name: text for name, text in form.items() if "@" not in name}
    refused = reader.post("/edit/competencies/pump", data={**own, "read": json.dumps(read), **typed})
    assert refused.status_code == 422
    assert reason in refused.text
    assert all(text in refused.text for text in typed.values())


def test_what_is_about_a_language_is_not_read_in_it(reader: FlaskClient) -> None:
    """Of what is missing in German the form asks once, and no other link of the page is led to German by it."""
    page = reader.get("/translations/missing?language=de")
    assert page.headers["Content-Language"] == "en"
    assert 'type="hidden" name="language"' not in page.text
    assert 'href="/framework?language' not in page.text
    assert accept(reader, "/translations/missing?language=de", "de").headers["Content-Language"] == "de"
