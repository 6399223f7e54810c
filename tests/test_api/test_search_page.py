"""The search page and the suggestions: what is found, in which order, marked how, shown to whom."""

from __future__ import annotations

import re

import pytest
from flask.testing import FlaskClient
from html_forms import list_links
from small_company import build_competencies, build_scale, build_snapshot

from api.access import recent
from api.access.access import Access
from api.access.actor import Actor
from api.app import create_app
from api.http import actors
from api.pages.search import KINDS, PAGE_SIZE, build_suggestions, build_view, mark_words
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES
from ontology.snapshot.name_index import NameIndex
from ontology.snapshot.snapshot import Snapshot

PART = {"Newel-Part": "suggestions"}


def build(roles: int = 3) -> Snapshot:
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("pump", label="Pump operation", alt_labels=("Förderpumpen",)),
        roles=[{"id": f"r{n:03}", "label": f"Pump role {n:03}", "family": "Plant"} for n in range(roles)],
        courses=[{"id": "k1", "label": "Pumps", "hours": 8.0}],
        teams=[{"id": "t", "label": "Pump crew"}],
        people=[{"id": "p1", "name": "Pia Pump", "team": "t"}],
    )


@pytest.mark.parametrize(
    ("name", "wanted", "marked"),
    [
        ("Pump operation", ["pu", "op"], ["Pump", "operation"]),
        ("Pump-operation, pumps", ["pump"], ["Pump", "pumps"]),
        ("José Łuka", ["jose", "lu"], ["José", "Łuka"]),
        ("Pump", ["ump"], []),
        ("", ["a"], []),
    ],
)
def test_the_words_found_are_marked_and_nothing_is_lost(name: str, wanted: list[str], marked: list[str]) -> None:
    written = mark_words(name, wanted)
    assert re.findall("<b>(.*?)</b>", written) == marked
    assert written.striptags() == name
    assert mark_words("<b> & c", ["c"]) == "&lt;b&gt; &amp; <b>c</b>"


def test_hits_stand_by_kind_and_the_first_sentence_counts_them() -> None:
    view = build_view(build(), "pump", tuple(KINDS))
    assert view.lead == "1 competency, 3 roles, 1 course, 1 team and 1 person have the words “pump”."
    assert [section.title for section in view.sections] == ["Competencies", "Roles", "Courses", "Teams", "People"]
    assert [(hit.note) for section in view.sections for hit in section.hits][-1] == "Pump crew"


def test_another_name_that_was_found_is_said() -> None:
    (hit,) = build_suggestions(build(), "forder", tuple(KINDS))
    assert (hit.name, hit.also) == ("Pump operation", "<b>Förderpumpen</b>")


def test_one_kind_alone_goes_on_page_by_page() -> None:
    snapshot = build(roles=PAGE_SIZE + 5)
    first = build_view(snapshot, "pump", tuple(KINDS))
    rest = first.sections[1].rest
    assert rest is not None
    assert (rest.words, rest.address) == (f"All {PAGE_SIZE + 5} roles", "/search?q=pump&in=roles")
    pages = [build_view(snapshot, "pump", tuple(KINDS), "roles", page) for page in (1, 2, 9)]
    assert [len(view.sections[0].hits) for view in pages] == [PAGE_SIZE, 5, 5]
    assert [link.words for link in pages[0].pages] == ["Next", "All kinds"]
    assert [link.words for link in pages[1].pages] == ["Before", "All kinds"]


def test_nothing_found_offers_what_is_spelt_nearly_so() -> None:
    view = build_view(build(), "pomp", tuple(KINDS))
    assert view.lead == "Nothing has the words “pomp”."
    assert 1 <= len(view.near) <= 3
    assert build_view(build(), "xyzzy", tuple(KINDS)).near == ()
    assert build_view(build(), " ", tuple(KINDS)).lead == "Type the beginning of a word of a name, or an id."


def test_the_page_answers_and_marks_in_bold(client: FlaskClient) -> None:
    page = client.get("/search?q=operat")
    assert page.status_code == 200
    assert "<b>Operator</b>" in page.text
    assert '<a href="/roles/operator">' in page.text
    assert 'type="search" value="operat"' in page.text
    assert client.get("/api/find?text=operat").status_code == 200
    assert 'href="/api/find?text=operat"' in page.text
    assert "no-store" in page.headers["Cache-Control"]


def test_suggestions_are_at_most_eight_plain_links_and_nothing_else(client: FlaskClient) -> None:
    part = client.get("/search?q=o", headers=PART).text
    assert 1 <= len(list_links(part)) <= 8
    assert part.startswith("<ul>")
    assert "<html" not in part
    assert "role=" not in part
    assert client.get("/search?q=zzz", headers=PART).text == "<p>Nothing has the words “zzz”.</p>"


def test_the_page_finds_what_the_question_finds(client: FlaskClient) -> None:
    for text in ("o", "operator", "works", "p1", "schieber"):
        found = client.get(f"/api/find?text={text}").json
        assert found is not None
        links = [f"/{dict(zip(*_kinds(), strict=True))[m['kind']]}/{m['id']}" for m in found["matches"]]
        assert list_links(client.get(f"/search?q={text}", headers=PART).text) == links[:8]


def _kinds() -> tuple[list[str], list[str]]:
    return [one for one, _ in KINDS.values()], list(KINDS)


def test_labels_are_text_wherever_they_stand(client: FlaskClient) -> None:
    page = client.get("/search?q=licence&in=competencies").text
    assert "<1>" not in page
    assert "&lt;1&gt;" in page
    assert "&lt;script" in client.get("/search?q=<script>").text


@pytest.mark.parametrize("query", ["in=cats", "page=0", "page=x", "text=a", "q=a&q=b"])
def test_what_cannot_be_asked_is_refused(client: FlaskClient, query: str) -> None:
    assert client.get(f"/search?{query}").status_code == 422


def test_people_are_found_only_by_who_may_see_them(client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "/people/p1" in client.get("/search?q=ada").text
    access = Access(None)
    monkeypatch.setattr(recent, "_NOBODY", Actor(account=1, name="reader"))
    monkeypatch.setattr(actors, "get_access", lambda: access)
    assert "/people/" not in client.get("/search?q=ada").text
    assert "/teams/" not in client.get("/search?q=works").text
    assert not re.search("/people/|/teams/", client.get("/search?q=o", headers=PART).text)


def test_the_first_search_finds_its_index_built(monkeypatch: pytest.MonkeyPatch) -> None:
    graph = LiveGraph.in_memory()
    client = create_app(graph).test_client()

    def refuse(*_: object) -> None:
        raise AssertionError("an index is built while someone waits")

    monkeypatch.setattr(NameIndex, "__init__", refuse)
    assert client.get("/search?q=ab").status_code == 200
    graph.close()


def test_a_name_found_in_another_language_says_in_which_wherever_it_is_shown() -> None:
    company = build()
    said = TABLES["translations"].build(table="roles", id="r001", column="label", language="de", joined="Rohrnetz & Co")
    graph = LiveGraph.in_memory()
    records = {name: list(company.get_table(name).values()) for name in ("scales", "competencies", "roles", "courses")}
    graph.load(records | {"translations": [said]}, who="t", why="w")
    client = create_app(graph).test_client()
    also = '(also: <span lang="de"><b>Rohrnetz</b> &amp; Co, Deutsch</span>)'
    page = client.get("/search?q=rohrnetz").text
    assert "1 role has the words “rohrnetz”." in page
    assert f'<a href="/roles/r001">Pump role 001</a> <span class="quiet">{also}</span>' in page
    assert also in client.get("/search?q=rohrnetz", headers=PART).text
    found = client.get("/api/find?text=rohrnetz").json or {}
    assert [(one["id"], one["name"], one["language"]) for one in found["matches"]] == [("r001", "Rohrnetz & Co", "de")]
    assert "Pump role 001 (also: Rohrnetz &amp; Co, Deutsch)" in client.get("/find?text=rohrnetz").text
    # read in German it is what the role is called, and the English name is the other one
    told = client.get("/search?q=pump+role+001&language=de").text
    also = '(also: <span lang="en"><b>Pump</b> <b>role</b> <b>001</b>, English</span>)'
    assert f'<span lang="de">Rohrnetz &amp; Co</span></a> <span class="quiet">{also}</span>' in told
    assert (client.get("/api/find?text=role+001&language=de").json or {})["matches"][0]["language"] == "en"
