"""The page of a team's cover: the numbers of the answer, boxes for who is away, what changes with them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape

import pytest
from flask.testing import FlaskClient
from scenario import SCENARIO

from api.app import create_app
from api.pages import cover_table
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph

COVER = "/teams/treatment/coverage?on=2026-11-24"
#: State, competency, people present and minimum of each row of the table, in order.
ROW = re.compile(
    r'data-column="State"><span><span class="state ([a-z-]+)".*?<a href="/competencies/([^"]*)">'
    r'.*?data-column="Present">.*?<small>(\d+) of at least (\d+)',
    re.S,
)
TEXT = re.compile(r"<[^>]+>")


@pytest.fixture(scope="module")
def served() -> Iterator[FlaskClient]:
    """The demonstration, served for reading."""
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    yield create_app(graph).test_client()
    graph.close()


def get_lead(page: str) -> str:
    lead = page.split('<p class="lead">', 1)[1].split("</p>", 1)[0]
    return unescape(TEXT.sub("", lead))


@pytest.mark.parametrize("away", ["", "p014", "p005,p006,p001"])
@pytest.mark.parametrize("team", ["treatment", "control", "laboratory", "networks", "wastewater"])
def test_the_page_says_the_numbers_of_the_answer(served: FlaskClient, team: str, away: str) -> None:
    address = f"/teams/{team}/coverage?on=2026-11-24&away={away}"
    answer = served.get(f"/api{address}").json
    assert answer is not None
    found = ROW.findall(served.get(address).text)
    rows = [(state, need, int(depth), int(least)) for state, need, depth, least in found]
    told = [(need["state"], need["competency"], need["depth"], need["minimum"]) for need in answer["needs"]]
    assert sorted(rows) == sorted(told)
    order = ["short", "sole-holder", "no-reserve", "below-target", "covered"]
    assert [order.index(row[0]) for row in rows] == sorted(order.index(row[0]) for row in rows), "the worst first"


def test_a_tick_changes_the_first_sentence_and_marks_the_rows(served: FlaskClient) -> None:
    page = served.get(f"{COVER}&away=p014").text
    assert get_lead(page).startswith("Without Leila Sorensen 3 of 8 needs are short instead of 1:")
    assert get_lead(page).endswith("2 of 7 places stand empty instead of 1.")
    assert "What changes without Leila Sorensen" in page
    # two needs were held by her alone, one was covered
    assert page.count('<tr role="row" class="changed">') == 4, "three needs and a place"
    assert "was sole holder" in page
    assert "was covered" in page


def test_a_crew_that_changes_below_a_worse_one_is_opened_and_no_change_is_not_announced(served: FlaskClient) -> None:
    # the early crew loses its second holder of a certificate that the night crew lacks anyway
    page = served.get(f"{COVER}&away=p006").text
    assert "What changes without Rafael Nyholm" in page
    (opened,) = re.findall(r'<details id="[^"]*" open>.*?</details>', page, re.DOTALL)
    assert re.search(r"Early crew: .*sole holder.*was covered", opened, re.DOTALL)
    page = served.get(f"{COVER}&away=p003").text
    assert "Needs without Lucia Brandvold" in page
    assert " open>" not in page


def test_boxes_of_one_name_are_a_list(served: FlaskClient) -> None:
    assert get_lead(served.get(f"{COVER}&away=p014&away=p016").text) == get_lead(
        served.get(f"{COVER}&away=p014,p016").text
    )


def test_who_is_recorded_away_is_ticked_and_locked_whoever_else_is_supposed_away(served: FlaskClient) -> None:
    page = served.get(f"{COVER}&away=p014").text
    boxes = {
        person: ("checked" in rest, "disabled" in rest)
        for person, rest in re.findall(r'name="away" value="(p\d+)"([^>]*)>', page)
    }
    assert boxes["p013"] == (True, True)
    assert boxes["p014"] == (True, False)
    assert boxes["p016"] == (False, False)
    assert len(boxes) == 16
    assert "recorded away until" in page


def test_a_part_is_the_answer_alone(served: FlaskClient) -> None:
    part = served.get(COVER, headers={"Newel-Part": "answer"})
    assert part.status_code == 200
    assert "<html" not in part.text
    assert part.text.strip() in served.get(COVER).text


def test_someone_unknown_is_refused_by_name(served: FlaskClient) -> None:
    response = served.get(f"{COVER}&away=nobody")
    assert response.status_code == 422
    assert "away" in response.text


def test_a_team_without_needs_is_told_what_a_need_is(client: FlaskClient) -> None:
    page = client.get("/teams/office/coverage").text
    assert "A need says what a team must be able to do" in page
    assert 'href="/new/cover-needs?team=office"' in page


def test_teams_stand_with_what_is_short_first(served: FlaskClient) -> None:
    page = served.get("/teams?on=2026-11-24").text
    assert get_lead(page) == "2 of 7 teams have something short."
    assert page.index("Wastewater and sludge") < page.index("Water treatment") < page.index("Control room")


def test_people_are_told_by_name_and_only_of_one_team_by_level(served: FlaskClient) -> None:
    asked = "competency=disinfection-control&level=3&on=2026-11-24"
    page = served.get(f"/people?team=treatment&{asked}").text
    assert get_lead(page) == (
        "11 people of Water treatment can do Disinfection control at level 3 or more on 24 November 2026. "
        "1 of them is away."
    )
    names = re.findall(r'data-column="Name"><span><a href="/people/p\d+">([^<]*)</a>', page)
    assert len(names) == 11
    assert names == sorted(names)
    across = served.get(f"/people?{asked}")
    assert across.status_code == 200
    assert "never across teams" in across.text
    assert served.get(f"/api/who-can?{asked}").status_code == 422


def test_a_wrong_day_comes_back_at_its_field_with_what_was_typed(client: FlaskClient) -> None:
    reply = client.get("/teams/works/coverage?on=2026-13-01&away=p1")
    assert reply.status_code == 422
    assert 'href="#ask-on"' in reply.text
    assert 'value="Ada Example"' in reply.text


def test_a_page_is_the_same_whatever_was_written_before(served: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    addresses = [f"/teams/{team}/coverage?away={away}&on={on}" for team in ("treatment", "networks")
                 for away in ("p014", "", "p005,p006") for on in ("2026-11-24", "2027-01-12")]  # fmt: skip
    kept = [served.get(address).text for address in (*addresses, *reversed(addresses))]
    monkeypatch.setattr(cover_table, "_keep", lambda written, row, build: build(row))
    anew = [served.get(address).text for address in addresses]
    assert kept == [*anew, *reversed(anew)]
