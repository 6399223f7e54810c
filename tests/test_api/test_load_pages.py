"""Tables loaded in a browser: checked first, told by cell, stored when one says so, against the state one looked at."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from loading import find_title, open_client, read, send

from api.app import create_app
from api.http.actors import COOKIE
from api.http.load_desk import get_load_desk
from api.settings import Settings
from loaders.tables.template import export_template
from ontology.live.live_graph import Change, LiveGraph
from ontology.store.history import read_commits

ROLES = "id,label,family\nhelper,Helper,plant\noperator,Machine operator,plant\nnew-role,New role,plant\n"
FAULTY = "role,competency,level\nhelper,valve,9\nhelper,juggling,1\noperator,pump,2\n"


@pytest.fixture(scope="module")
def app(shared_graph: LiveGraph) -> Flask:
    """An application with small uploads; each test gives it a graph and kept loads of its own."""
    return create_app(shared_graph, Settings(max_upload_bytes=200_000))


@pytest.fixture
def client(app: Flask, graph: LiveGraph) -> FlaskClient:
    return open_client(app, graph)


def press(client: FlaskClient, address: str, purpose: str = "", revision: int | None = None) -> str:
    """Press the button that stores, and return where it leads."""
    page = read(client, address)
    shown = {name: re.search(f'name="{name}" value="([^"]*)"', page) for name in ("revision", "what")}
    data = {name: match[1] for name, match in shown.items() if match} | {"purpose": purpose}
    response = client.post(f"{address}/store", data=data)
    assert response.status_code == 303, response.text
    return response.location


def test_checking_stores_nothing_and_tells_what_would_be(client: FlaskClient, graph: LiveGraph) -> None:
    page = read(client, send(client, ("roles.csv", ROLES)))
    assert find_title(page) == "Nothing is stored yet: 3 rows can be stored"
    assert "1 is new, 1 changes what is stored, 1 says what is stored already." in page
    assert "<title>Nothing is stored yet" in page
    assert "<summary>1 role changed</summary>" in page
    assert graph.get_snapshot().revision == 1


def test_what_was_checked_is_stored_when_one_says_so(client: FlaskClient, graph: LiveGraph) -> None:
    address = send(client, ("roles.csv", ROLES))
    page = read(client, press(client, address, "New plant"))
    assert find_title(page) == "Stored: 1 new row, 1 changed"
    snapshot = graph.get_snapshot()
    assert (snapshot.revision, snapshot.roles["operator"].label) == (2, "Machine operator")
    (commit,) = read_commits(graph.store, 1)
    assert (commit.who, commit.why) == ("local owner", "load roles.csv: New plant")
    # pressed twice, from a page still open: nothing more happens
    assert client.post(f"{address}/store", data={"revision": "1", "what": "all"}).location == address
    assert graph.get_snapshot().revision == 2


def test_findings_stand_by_cell_with_the_rows_as_written(client: FlaskClient) -> None:
    page = read(client, send(client, ("requirements.csv", FAULTY)))
    assert find_title(page) == "Nothing is stored: 2 cells are wrong"
    for cell, row, says in (("C2", 2, "9"), ("B3", 3, "juggling")):
        link = re.search(f'<a href="#(row-[0-9-]+)">requirements {cell}</a>', page)
        assert link is not None
        assert f'<tr id="{link[1]}" tabindex="-1"><th scope="row">{row}</th>' in page
        assert page.count(f'<b class="boxed">{says}</b>') == 2
    assert "requirements helper~" not in page.lower()


def test_the_rest_is_stored_without_the_faulty_rows(client: FlaskClient, graph: LiveGraph) -> None:
    address = send(client, ("requirements.csv", FAULTY))
    assert "Store the rest without these 2 rows" in read(client, address)
    page = read(client, press(client, address))
    assert "2 rows were left out" in page
    assert graph.get_snapshot().get_requirements("operator")[1].level == 2
    assert len(graph.get_snapshot().get_requirements("helper")) == 1


def test_what_goes_with_the_faulty_rows_is_said_before(client: FlaskClient) -> None:
    people = "id,name,team\np8,Dora Example,works\np9,Emil Example,works,too much\n"
    absences = "person,from,to\np9,2026-12-01,2026-12-02\np9,2027-01-01,2027-01-02\n"
    page = read(client, send(client, ("people.csv", people), ("absences.csv", absences)))
    assert find_title(page) == "Nothing is stored: 1 row is wrong"
    assert "With them go 2 absences, which name them." in page
    assert "2 findings follow from this" in page


def test_data_about_people_ask_what_they_are_for(client: FlaskClient, graph: LiveGraph) -> None:
    address = send(client, ("people.csv", "id,name,team\np9,Emil Example,works\n"))
    response = client.post(f"{address}/store", data={"revision": "1", "what": "all", "purpose": "  "})
    assert response.status_code == 422
    assert "Say what the data about people are needed for." in response.text
    assert graph.get_snapshot().revision == 1
    press(client, address, "Holiday cover of the works")
    assert read_commits(graph.store, 1)[0].why.endswith(": Holiday cover of the works")


def test_a_newer_state_is_shown_before_anything_is_stored(client: FlaskClient, graph: LiveGraph) -> None:
    address = send(client, ("roles.csv", ROLES))
    assert "1 changes what is stored" in read(client, address)
    helper = graph.get_snapshot().roles["helper"]
    changed = type(helper)(**{**{n: getattr(helper, n) for n in helper.__slots__}, "label": "Assistant"})
    graph.apply(Change(put=(("roles", changed),)), who="Ben", why="A better word")
    response = client.post(f"{address}/store", data={"revision": "1", "what": "all"})
    assert response.location == f"{address}?seen=1"
    assert graph.get_snapshot().revision == 2
    page = read(client, response.location)
    assert "You looked at revision 1; it is 2 now" in page
    assert "A better word" in page
    assert "would now change 1 record that it did not change before" in page
    assert '<a href="/roles/helper">' in page
    press(client, address)
    assert graph.get_snapshot().roles["helper"].label == "Helper"


def test_another_actor_gets_the_page_of_an_unknown_one(client: FlaskClient) -> None:
    address = send(client, ("roles.csv", ROLES))
    client.set_cookie(COOKIE, "p1")
    foreign, unknown = client.get(address), client.get("/loads/99")
    assert (foreign.status_code, unknown.status_code) == (404, 404)
    own_words = [re.sub(r"\b(1|99)\b|[0-9a-f]{32}", "N", response.text) for response in (foreign, unknown)]
    assert own_words[0] == own_words[1]
    for path, method in (("store", "POST"), ("remove", "POST"), ("findings.csv", "GET")):
        assert client.open(f"{address}/{path}", method=method).status_code == 404
    assert "What you have sent" not in read(client, "/loads/new")
    client.delete_cookie(COOKIE)
    assert client.get(address).status_code == 200


def test_a_mended_file_takes_the_place_of_the_first(client: FlaskClient) -> None:
    first = send(client, ("requirements.csv", FAULTY))
    assert f"/loads/new?instead={first.rsplit('/')[-1]}" in read(client, first)
    second = send(client, ("requirements.csv", FAULTY.replace(",9", ",2")), instead=first.rsplit("/")[-1])
    assert client.get(first).status_code == 404
    assert find_title(read(client, second)) == "Nothing is stored: 1 cell is wrong"


def test_thrown_away_it_is_gone(client: FlaskClient) -> None:
    address = send(client, ("roles.csv", ROLES))
    assert client.post(f"{address}/remove").location == "/loads/new"
    assert client.get(address).status_code == 404


def test_many_findings_are_told_by_kind_then_the_first_and_whole_as_csv(client: FlaskClient) -> None:
    rows = "".join(f"helper,c{n},1\n" for n in range(500))
    address = send(client, ("requirements.csv", f"role,competency,level\n{rows}"))
    page = read(client, address)
    assert find_title(page) == "Nothing is stored: 500 cells are wrong"
    assert "The first 200" in page
    assert page.count('<td role="cell" data-column="Kind">') == 200
    assert "302 more findings" in page  # two remarks come on top
    listed = client.get(f"{address}/findings.csv")
    assert listed.mimetype == "text/csv"
    assert sum(line.startswith("error,") for line in listed.text.splitlines()) == 500


def test_a_cell_in_the_list_is_never_run(client: FlaskClient) -> None:
    address = send(client, ("requirements.csv", 'role,competency,level\nhelper,"=1+1",1\n'))
    assert ",'=1+1," in client.get(f"{address}/findings.csv").text


def test_a_refused_column_is_told_and_what_it_holds_is_not_shown(client: FlaskClient) -> None:
    people = "id,name,team,birth_date\np9,Emil Example,nowhere,1980-01-01\n"
    page = read(client, send(client, ("people.csv", people)))
    assert find_title(page) == "Nothing is stored: 1 cell and 1 column heading are wrong"
    assert "not shown" in page
    assert "1980" not in page
    link = re.search('<a href="#(row-[0-9]+-1)">people D1</a>', page)
    assert link is not None
    assert f'<tr id="{link[1]}"' in page
    assert '<th scope="col"><b class="boxed">birth_date</b></th>' in page


def test_the_template_loads_as_nothing(client: FlaskClient, tmp_path: Path) -> None:
    response = client.get("/loads/template.xlsx")
    assert response.headers["Content-Disposition"] == 'attachment; filename="newel-template.xlsx"'
    page = read(client, send(client, ("filled.xlsx", response.data)))
    assert find_title(page) == "Nothing to store: every row is stored already"
    assert response.data[:2] == export_template(tmp_path / "t.xlsx").read_bytes()[:2] == b"PK"


def test_what_is_kept_survives_a_restart_of_the_server(tmp_path: Path) -> None:
    graph = LiveGraph.open(tmp_path / "store", create=True)
    client = create_app(graph).test_client()
    address = send(client, ("sites.csv", "id,label\nplant,Plant\n"))
    graph.close()
    graph = LiveGraph.open(tmp_path / "store")
    client = create_app(graph).test_client()
    page = read(client, press(client, address))
    assert find_title(page) == "Stored: 1 new row"
    assert not list((tmp_path / "store" / "uploads").rglob("*.csv"))
    graph.close()


def test_a_long_check_is_told_and_goes_on(client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    with client.application.app_context():
        monkeypatch.setattr(get_load_desk(), "_wait_s", 0.0)
    address = send(client, ("roles.csv", ROLES))
    response = client.get(address)
    if response.status_code == 202:  # not done at once
        assert "Being checked for 0 seconds" in response.text
        part = client.get(address, headers={"Newel-Part": "progress"})
        assert part.status_code == 200 or part.text.startswith('<p class="lead">Being checked')
        assert f'href="{address}">Look again' in response.text
    with client.application.app_context():
        monkeypatch.setattr(get_load_desk(), "_wait_s", 30.0)
    assert find_title(read(client, address)) == "Nothing is stored yet: 3 rows can be stored"
