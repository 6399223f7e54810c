"""Recording levels: one commit for a whole sheet or none, what is wrong at its row, what must be read first."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from html import unescape

import pytest
from flask.testing import FlaskClient
from html_forms import find_form, list_links
from scenario import SCENARIO

from api.app import create_app
from api.http.actors import COOKIE
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph
from ontology.model.records import Assessment

DAY = "2026-11-24"
SHEET = "/teams/treatment/assess?competency=disinfection-control"
TEXT = re.compile(r"<[^>]+>")


@pytest.fixture(scope="module")
def loaded() -> Iterator[LiveGraph]:
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    yield graph
    graph.close()


@pytest.fixture
def graph(loaded: LiveGraph) -> Iterator[LiveGraph]:
    """The demonstration; what a test stored is taken out again."""
    before = set(loaded.get_snapshot().get_table("assessments"))
    yield loaded
    gone = set(loaded.get_snapshot().get_table("assessments")) - before
    if gone:
        from ontology.live.live_graph import Change

        loaded.apply(Change(remove=tuple(("assessments", key) for key in gone)), who="test", why="as before")


@pytest.fixture
def lead(graph: LiveGraph) -> FlaskClient:
    """Who looks as Henrike Osei, the supervisor of water treatment."""
    client = create_app(graph).test_client()
    client.set_cookie(COOKIE, "p001")
    return client


def read_form(client: FlaskClient, address: str) -> dict[str, str]:
    return find_form(client.get(address).text).fields


def list_new(graph: LiveGraph, person: str, competency: str = "disinfection-control") -> list[Assessment]:
    day = dt.date.fromisoformat(DAY)
    return [row for row in graph.get_snapshot().get_assessments(person, competency) if row.date == day]


def tell(page: str) -> str:
    return " ".join(unescape(TEXT.sub(" ", page)).split())


def test_a_sheet_shows_what_counts_and_enters_nothing_by_itself(lead: FlaskClient) -> None:
    page = lead.get(SHEET).text
    form = find_form(page)
    levels = {name: text for name, text in form.fields.items() if name.startswith("level.")}
    assert len(levels) == 15, "16 members, of whom one is who looks"
    assert set(levels.values()) == {""}
    assert form.choices["level.p014"] == ["", "0", "1", "2", "3", "4", "5"]
    assert "0, below level 1" in page
    assert "not assessed" in page
    assert "12 of 16 people of Water treatment are assessed in Disinfection control." in page
    assert form.fields["source"] == "assessor", "who may assess does so unless told otherwise"


def test_several_levels_are_one_commit(lead: FlaskClient, graph: LiveGraph) -> None:
    revision = graph.get_snapshot().revision
    fields = read_form(lead, SHEET) | {"date": DAY, "level.p015": "3", "level.p016": "1", "level.p004": "0"}
    response = lead.post("/teams/treatment/assess", data=fields)
    assert (response.status_code, response.location) == (303, f"{SHEET}#stored")
    assert graph.get_snapshot().revision == revision + 1
    (row,) = list_new(graph, "p015")
    assert (row.level, row.source, row.assessor) == (3, "assessor", "p001")
    assert row.valid_until == dt.date(2028, 11, 24), "24 months by its rule"
    assert [list_new(graph, person)[0].level for person in ("p016", "p004")] == [1, 0]


def test_one_wrong_row_stores_none_and_is_marked_with_all_that_was_typed(lead: FlaskClient, graph: LiveGraph) -> None:
    fields = read_form(lead, SHEET) | {"date": DAY, "level.p015": "3", "level.p016": "9"}
    response = lead.post("/teams/treatment/assess", data=fields)
    assert response.status_code == 422
    assert list_new(graph, "p015") == []
    page = response.text
    assert "Nothing is stored yet: 1 thing is wrong" in page
    assert "#level-p016" in list_links(page)
    again = find_form(page).fields
    assert (again["level.p015"], again["date"]) == ("3", DAY)
    assert page.count('<span class="field bad">') == 1


@pytest.mark.parametrize(("change", "told"), [({}, "No level is entered"), ({"date": "soon"}, "date")])
def test_what_cannot_be_stored_is_told(lead: FlaskClient, change: dict[str, str], told: str) -> None:
    entered = {"level.p015": "3"} if change else {}
    response = lead.post("/teams/treatment/assess", data=read_form(lead, SHEET) | change | entered)
    assert response.status_code == 422
    assert told in tell(response.text)


def test_the_row_of_who_looks_is_locked_even_where_it_is_sent(lead: FlaskClient, graph: LiveGraph) -> None:
    assert "level.p001" not in read_form(lead, SHEET)
    fields = read_form(lead, SHEET) | {"date": DAY, "level.p001": "5"}
    response = lead.post("/teams/treatment/assess", data=fields)
    assert response.status_code == 422
    assert "Nobody assesses themselves" in response.text
    assert list_new(graph, "p001") == []
    own = lead.get("/new/assessments?person=p001&competency=disinfection-control").text
    assert 'method="post"' not in own


def test_a_managers_level_above_the_assessors_is_told_before_it_is_stored(lead: FlaskClient, graph: LiveGraph) -> None:
    # an assessor saw level 2 of Mateus Wolanski; an error here can hurt someone
    fields = read_form(lead, SHEET) | {"date": DAY, "source": "manager", "level.p015": "4"}
    first = lead.post("/teams/treatment/assess", data=fields)
    assert first.status_code == 200
    assert "A manager's level 4 stands above the assessor's 2" in tell(first.text)
    assert list_new(graph, "p015") == []
    second = lead.post("/teams/treatment/assess", data=find_form(first.text).fields)
    assert second.status_code == 303
    assert [row.level for row in list_new(graph, "p015")] == [4]
    # and it does not count, as was said
    answer = lead.get(f"/api/who-can?team=treatment&competency=disinfection-control&on={DAY}").json
    assert answer is not None
    assert next(row["have"] for row in answer["people"] if row["person"] == "p015") == 2


def test_a_person_is_gone_through_in_all_that_is_asked_of_them(lead: FlaskClient, graph: LiveGraph) -> None:
    address = "/teams/treatment/assess?person=p015"
    fields = read_form(lead, address)
    assert {"level.disinfection-control", "level.cert-chlorine"} <= fields.keys()
    fields |= {"date": DAY, "level.disinfection-control": "3", "level.cert-chlorine": "1"}
    assert lead.post("/teams/treatment/assess", data=fields).location == f"{address}#stored"
    (paper,) = list_new(graph, "p015", "cert-chlorine")
    assert (paper.source, paper.assessor) == ("certificate", ""), "of a certificate nobody is the assessor"


def test_one_assessment_is_stored_and_shown(lead: FlaskClient, graph: LiveGraph) -> None:
    address = "/new/assessments?person=p015&competency=disinfection-control"
    page = lead.get(address).text
    assert find_form(page).choices["level"] == ["", "0", "1", "2", "3", "4", "5"]
    assert "0, below level 1" in page
    assert "24 months" in page
    fields = read_form(lead, address) | {"date": DAY, "level": "3", "valid_until": "2027-05-01"}
    response = lead.post("/new/assessments", data=fields)
    assert response.status_code == 303
    assert lead.get((response.location or "").partition("#")[0]).status_code == 200
    (row,) = list_new(graph, "p015")
    assert row.valid_until == dt.date(2027, 5, 1), "a day that is given stays"
    twice = lead.post("/new/assessments", data=fields)
    assert twice.status_code == 409
    assert response.location.partition("#")[0] in list_links(twice.text), "what is there already is linked"
    assert find_form(twice.text).fields["level"] == "3"


def test_the_levels_are_told_in_words_once_the_competency_is_known(lead: FlaskClient) -> None:
    assert "level" not in find_form(lead.get("/new/assessments?person=p015").text).choices
    named = find_form(lead.get("/new/assessments?person=Mateus+Wolanski&competency=Disinfection+control").text)
    assert named.choices["level"][1] == "0"
    assert (named.fields["person"], named.fields["source"]) == ("p015", "assessor")
    paper = find_form(lead.get("/new/assessments?person=p015&competency=cert-chlorine").text)
    assert paper.choices["source"] == ["certificate"]
    assert lead.get("/teams/treatment/assess?person=nobody").status_code in (404, 422)


def test_what_a_manager_says_above_the_assessor_is_told_before_one_is_stored(lead: FlaskClient) -> None:
    address = "/new/assessments?person=p015&competency=disinfection-control"
    first = lead.post("/new/assessments", data=read_form(lead, address) | {"level": "4", "source": "manager"})
    assert first.status_code == 200
    assert "stands above the assessor's 2" in tell(first.text)
    assert lead.post("/new/assessments", data=find_form(first.text).fields).status_code == 303


def test_the_leads_day(lead: FlaskClient) -> None:
    today = lead.get(f"/?on={DAY}").text
    assert "<h1>Water treatment today</h1>" in today
    cover = next(link for link in list_links(today) if link == "/teams/treatment/coverage")
    assert "rest on Leila Sorensen alone" in lead.get(f"{cover}?on={DAY}").text
    away = lead.get(f"{cover}?on={DAY}&away=p014").text
    assert "Without Leila Sorensen 3 of 8 needs are short instead of 1" in away
    stand_in = next(link for link in list_links(away) if "stand-ins" in link)
    assert lead.get(stand_in).status_code == 200
    # someone learned it meanwhile: what was seen is recorded, and the cover is another one
    fields = read_form(lead, SHEET) | {"date": DAY, "level.p015": "3"}
    assert lead.post("/teams/treatment/assess", data=fields).status_code == 303
    after = tell(lead.get(f"{cover}?on={DAY}").text)
    assert "Coagulation control on the night crew rests on Leila Sorensen alone" in after
    assert "Without Leila Sorensen 2 of 8 needs are short" in lead.get(f"{cover}?on={DAY}&away=p014").text
