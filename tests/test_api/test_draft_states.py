"""Every answer, list, record, picture and page on a draft, and records changed in it; nobody's own answers change."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from drafted import record
from flask.testing import FlaskClient
from rest_company import ANSWERS, ASKED, build_company
from signed_in import House

from api.app import create_app
from api.terminal.program import program
from ontology.live.live_graph import Change, LiveGraph

RECORDS = ("/api/roles", "/api/roles/operator", "/api/people/p1/assessments", "/api/scales", "/api/requirements")
PICTURES = ("/api/roles/operator/diagram?format=dot", "/api/teams/works/coverage/diagram?format=dot")


def add(address: str, more: str = "draft=d") -> str:
    return f"{address}{'&' if '?' in address else '?'}{more}"


def begin(graph: LiveGraph, *put: tuple[str, Any], draft: str = "d") -> LiveGraph:
    graph.drafts.start(draft, "Spring: all", who="Ana")
    changed = record("requirements", role="operator", competency="pump", level=3, weight=4.5)
    new = record("roles", id="new-role", label="New role")
    graph.drafts.edit(draft, Change(put=(changed, new, *put)), who="Ana", why="w")
    return graph


@pytest.fixture(scope="module")
def graph() -> LiveGraph:
    return build_company()


@pytest.fixture(scope="module")
def client(graph: LiveGraph) -> FlaskClient:
    return create_app(graph).test_client()


@pytest.fixture(scope="module", autouse=True)
def present(graph: LiveGraph, client: FlaskClient) -> dict[str, str]:
    """What was answered before there was a draft."""
    told = {address: client.get(address).text for address in (*ANSWERS[::4], *RECORDS, *PICTURES)}
    begin(graph)
    return told


@pytest.fixture(scope="module")
def published(graph: LiveGraph) -> FlaskClient:
    """A company that is what the draft leads to."""
    direct = build_company()
    records = tuple(graph.drafts.get_state("d").snapshot.iterate_records())
    direct.apply(Change(put=records), who="t", why="w")
    return create_app(direct).test_client()


@pytest.mark.parametrize("address", ANSWERS[::4])
def test_an_answer_is_that_of_the_state_it_leads_to_and_no_other_changes(
    address: str, client: FlaskClient, published: FlaskClient, present: dict[str, str]
) -> None:
    drafted, expected = client.get(add(address)).json or {}, published.get(address).json or {}
    assert drafted.pop("state") | {"time": None} == {
        "as_of": None,
        "draft": "d",
        "number": 1,
        "revision": 1,
        "release": None,
        "time": None,
        "people_as_of": None,
    }
    first, *cautions = drafted.pop("cautions")
    assert first.startswith("Draft Spring: all, not published: ")
    assert cautions == expected.pop("cautions")
    if not address.startswith(("/api/compare", "/api/people/p1/changes", "/api/teams/works/changes")):
        assert {**drafted, "revision": 0} == {**expected, "revision": 0}
    assert client.get(address).text == present[address]


@pytest.mark.parametrize("address", [*RECORDS, *PICTURES])
def test_records_and_pictures_have_tags_of_their_own(
    address: str, client: FlaskClient, present: dict[str, str]
) -> None:
    response = client.get(add(address))
    assert response.status_code == 200
    assert json.loads(response.headers["Newel-State"])["draft"] == "d"
    assert client.get(address).text == present[address]
    assert response.headers["ETag"] != client.get(address).headers["ETag"]
    again = client.get(add(address), headers={"If-None-Match": response.headers["ETag"]})
    assert again.status_code == 304


@pytest.mark.parametrize("address", [*[*ASKED.values()][::9], "/roles", "/roles/operator", "/search?q=pump"])
def test_a_page_says_that_it_is_a_draft_and_its_links_stay_in_it(address: str, client: FlaskClient) -> None:
    page = client.get(add(address))
    assert page.status_code in (200, 202)
    assert "Draft Spring: all, not published" in page.text
    links = set(re.findall(r'<(?:a|img)\b[^>]*?(?:href|src)="(/[^"#]*)', page.text))
    present = set(re.findall(r'<a href="([^"]*)" rel="latest-version"', page.text))
    timeless = re.compile(r"/(?:words|me|my-data|(?:static|assess|loads|drafts|(?:edit|new|remove)/people)(?:/|$))")
    assert len(present) == 1
    assert all("draft=d" in link or timeless.match(link) for link in links - present)


def test_records_are_changed_in_the_draft_over_rest(graph: LiveGraph) -> None:
    graph = begin(build_company())
    client = create_app(graph).test_client()
    before = client.get("/api/roles/operator").text
    tag = client.get("/api/roles/operator?draft=d").headers["ETag"]
    body = {**(client.get("/api/roles/operator?draft=d").json or {}), "label": "Drafted"}
    body.pop("id")
    put = client.put("/api/roles/operator?draft=d", json=body, headers={"If-Match": tag})
    assert (put.status_code, (put.json or {})["label"]) == (200, "Drafted")
    assert put.headers["ETag"] == client.get("/api/roles/operator?draft=d").headers["ETag"]
    assert client.put("/api/roles/operator?draft=d", json=body, headers={"If-Match": tag}).status_code == 412
    assert client.put("/api/roles/operator?draft=d", json=body).status_code == 428
    made = client.post("/api/roles?draft=d", json={"id": "made", "label": "Made"})
    assert made.status_code == 201
    gone = client.delete("/api/roles/new-role?draft=d", headers={"If-Match": "*"})
    assert gone.status_code == 204
    assert client.get("/api/roles/new-role?draft=d").status_code == 404
    assert client.get("/api/roles/made").status_code == 404
    assert client.get("/api/roles/operator").text == before
    assert graph.store.revision == 1
    assert graph.drafts.get("d").number == 4
    for method, address in (("PUT", "/api/people/p1"), ("POST", "/api/people"), ("DELETE", "/api/people/p1")):
        refused = client.open(f"{address}?draft=d", method=method, json={}, headers={"If-Match": "*"})
        assert refused.status_code == 422
        assert (refused.json or {})["errors"][0]["parameter"] == "draft"
    graph.drafts.withdraw("d", who="Ana")
    assert client.post("/api/roles?draft=d", json={"id": "late", "label": "Late"}).status_code == 409


def test_records_are_changed_in_the_draft_by_forms(graph: LiveGraph) -> None:
    graph = begin(build_company())
    client = create_app(graph).test_client()
    page = client.get("/edit/roles/operator?draft=d")
    assert "Draft Spring: all, not published" in page.text
    (action,) = re.findall(r'<form action="([^"]*)" method="post" data-warn', page.text)
    assert action == "/edit/roles/operator?draft=d"
    fields = dict(re.findall(r'<input type="hidden" name="(state|read)" value="([^"]*)"', page.text))
    sent = client.post(action, data={"state": fields["state"], "label": "By form"})
    assert (sent.status_code, sent.headers["Location"]) == (303, "/roles/operator?draft=d#stored")
    assert "By form" in client.get("/roles/operator?draft=d").text
    assert "By form" not in client.get("/roles/operator").text
    assert client.post("/edit/people/p1?draft=d", data={}).status_code == 422


@pytest.mark.parametrize(
    ("query", "parameter", "reason"),
    [
        ("draft=none", "draft", "names no draft"),
        ("draft=~", "draft", "names no draft"),
        ("draft=", "draft", "empty"),
        ("draft=d&draft=d", "draft", "given twice"),
        ("draft=d&as_of=1", "draft", "cannot go with as_of"),
        ("draft=d&people_as_of=now", "draft", "cannot go with as_of"),
    ],
)
def test_a_draft_that_cannot_be_asked_is_one_addressed_error(
    query: str, parameter: str, reason: str, client: FlaskClient
) -> None:
    for address in ("/api/teams/works/coverage", "/api/roles", "/api/roles/operator/diagram"):
        response = client.get(f"{address}?{query}")
        assert response.status_code == 422
        (error,) = (response.json or {})["errors"]
        assert error["parameter"] == parameter
        assert reason in error["reason"]


def test_what_is_no_record_is_not_changed_on_a_draft(client: FlaskClient, graph: LiveGraph) -> None:
    for address in ("/api/sessions/licence-may/results", "/loads/new"):
        assert client.post(f"{address}?draft=d", json={}).status_code == 422
    assert graph.store.revision == 1


def test_a_draft_with_errors_answers_records_lists_compare_and_findings() -> None:
    graph = begin(build_company(), record("requirements", role="operator", competency="missing", level=1))
    client = create_app(graph).test_client()
    for address in ("/api/roles", "/api/roles/operator", "/api/requirements", "/api/compare?from=now&to=now"):
        assert client.get(add(address)).status_code == 200
    assert client.get("/api/compare?from=now&to=draft:d").status_code == 200
    found = client.get("/api/findings?draft=d").json or {}
    refused = client.get("/api/teams/works/coverage?draft=d")
    assert refused.status_code == 409
    problem = refused.json or {}
    assert [(one["table"], one["id"]) for one in problem["errors"]] == [("requirements", "operator~missing")]
    assert "operator~missing" in json.dumps(found)
    records = (
        "/roles/operator",
        "/teams/works",
        "/people/p1",
        "/sessions/licence-may",
        "/requirements/operator~missing",
    )
    for page in ("/roles", "/people", "/requirements", "/findings", "/framework", *records):
        assert client.get(add(page), follow_redirects=True).status_code == 200, page
    assert client.get("/teams/works/coverage?draft=d").status_code == 409


def test_open_conflicts_are_a_caution_and_each_edit_is_a_new_answer() -> None:
    graph = begin(build_company(), record("requirements", role="operator", competency="valve", level=4))
    client = create_app(graph).test_client()
    graph.apply(Change(put=(record("requirements", role="operator", competency="valve", level=1),)), who="x", why="w")
    address = "/api/people/p1/gap?role=operator&draft=d"
    first = client.get(address)
    assert "1 conflict" in (first.json or {})["cautions"][1]
    graph.drafts.edit(
        "d", Change(put=(record("requirements", role="operator", competency="pump", level=2),)), who="A", why="w"
    )
    second = client.get(address)
    assert first.headers["ETag"] != second.headers["ETag"]
    assert first.text != second.text


def test_two_states_are_compared_one_of_them_a_draft(client: FlaskClient) -> None:
    answer = client.get("/api/compare?from=now&to=draft:d").json or {}
    assert (answer["to"]["kind"], answer["to"]["text"]) == ("draft", "draft:d")
    assert {(row["table"], row["id"], row["change"]) for row in answer["rows"]} == {
        ("roles", "new-role", "added"),
        ("requirements", "operator~pump", "changed"),
    }
    wrong = client.get("/api/compare?from=now&to=draft:none")
    assert wrong.status_code == 422
    assert (wrong.json or {})["errors"][0]["parameter"] == "to"


def test_a_draft_is_an_unknown_one_to_all_but_the_architect() -> None:
    house = House(begin(build_company(), draft="spring"))
    asked = ("/api/roles", "/api/compare?from=now", "/roles")
    assert house.open("Architect").client.get("/api/roles/new-role?draft=spring").status_code == 200
    for name in ("Reader", "Employee", "Lead", "Admin"):
        client = house.open(name).client
        for address in asked:
            there, none = (client.get(add(address, f"draft={draft}")) for draft in ("spring", "autumn"))
            assert (there.status_code, none.status_code) == (422, 422), (name, address)
            told, expected = (re.sub(r"[0-9a-f]{8,}", "", text) for text in (there.text, none.text))
            assert told == expected.replace("autumn", "spring")
        named = client.get("/api/compare?from=now&to=draft:spring")
        assert named.status_code == 422
    assert house.open().client.get("/api/roles?draft=spring").status_code == 401


def test_commands_ask_on_a_draft(tmp_path: Path) -> None:
    store = tmp_path / "store"
    graph = LiveGraph.open(store, create=True)
    graph.apply(Change(put=tuple(build_company().get_snapshot().iterate_records())), who="t", why="all")
    graph.drafts.start("d", "Spring", who="Ana")
    graph.drafts.edit("d", Change(put=(record("teams", id="works", label="Renamed"),)), who="Ana", why="w")
    graph.close()
    asked = ("coverage", "works", "--store", str(store))
    then, now = (CliRunner().invoke(program, [*asked, *more]) for more in (("--draft", "d"), ()))
    assert (then.exit_code, now.exit_code) == (0, 0), then.output
    assert "Note: Draft Spring, not published" in then.output
    assert "Renamed" in then.output
    assert "Renamed" not in now.output
    wrong = CliRunner().invoke(program, [*asked, "--draft", "none"])
    assert wrong.exit_code == 2
    assert "names no draft" in wrong.output
