"""Every answer, list, record, picture and page on another state: what was answered when that was the present one."""

from __future__ import annotations

import dataclasses
import datetime as dt
import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from edited_companies import bulk_from
from flask.testing import FlaskClient
from rest_company import ANSWERS, ASKED, build_company, fill_neighbour

from api.app import create_app
from api.questions import list_questions
from api.terminal.program import program
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.store.engine import Store

RECORDS = ("/api/roles", "/api/roles/operator", "/api/people/p1/assessments", "/api/scales", "/api/requirements")
PICTURES = (
    "/api/roles/operator/diagram?format=dot",
    "/api/teams/works/coverage/diagram?format=dot",
    "/api/people/p1/schedule/diagram?role=operator&format=dot",
)
#: What a draft would do is asked of the present alone.
PAST = [address for address in ANSWERS if not address.startswith("/api/drafts/")]
#: Links that lead to what is the same in every state, or changes the present one.
TIMELESS = re.compile(r"/(?:words|me|my-data|(?:static|edit|new|remove|assess|loads)/)")
THEN, NOW = dt.datetime(2026, 11, 24, 9, 30, tzinfo=dt.UTC), dt.datetime(2026, 11, 29, 8, 0, tzinfo=dt.UTC)


def add(address: str, more: str) -> str:
    return f"{address}{'&' if '?' in address else '?'}{more}"


@dataclass
class Times:
    """The clock of commits, and the day of the desk."""

    at: dt.datetime = THEN


@pytest.fixture(scope="module")
def times() -> Times:
    return Times()


@pytest.fixture(scope="module")
def graph(times: Times) -> LiveGraph:
    """The small company loaded on 24 November, a release of it, and edits on 29 November."""
    store = Store.in_memory()
    store._clock = lambda: times.at
    graph = LiveGraph(store)
    graph.outside.replace("neighbour", fill_neighbour)
    company = build_company().get_snapshot()
    graph.load({name: list(company.get_table(name).values()) for name in TABLES}, who="t", why="all")
    return graph


@pytest.fixture(scope="module")
def client(graph: LiveGraph, times: Times) -> Any:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("api.desk.desk.get_utc_day", lambda: times.at.date())
        yield create_app(graph).test_client()


@pytest.fixture(scope="module")
def before(client: FlaskClient) -> dict[str, Any]:
    """What was answered on 24 November, when that was the present."""
    asked = [*PAST, *RECORDS, *PICTURES]
    return {address: client.get(address) for address in asked}


@pytest.fixture(scope="module", autouse=True)
def _edits(graph: LiveGraph, before: dict[str, Any], times: Times) -> None:
    release = f"<{ns.ID}release/1.2>"
    facts = {
        ns.RDF_TYPE: f"<{ns.NW}Release>",
        f"<{ns.NW}version>": '"1.2"',
        f"<{ns.NW}revision>": ns.typed_term("1", "integer"),
        f"<{ns.DCTERMS}issued>": ns.typed_term("2026-11-24", "date"),
    }
    times.at = NOW
    quads = [(ns.GRAPH_STORE, release, p, o) for p, o in facts.items()]
    graph.store.commit(quads, [], who="t", why="a release")
    graph._snapshot = graph.get_snapshot().with_changes(revision=2)  # it was written past the graph
    build = TABLES["requirements"].build
    graph.apply(
        Change(put=(("requirements", build(role="operator", competency="pump", level=3, weight=4.5)),)),
        who="t",
        why="w",
    )
    snapshot = graph.get_snapshot()
    people = [("people", (key[0],)) for key in snapshot.get_table("people") if key[0] == "p3"]
    rows = [
        (name, key)
        for name in ("assessments", "memberships", "absences", "bookings", "practices", "duties", "appointments")
        for key, record in snapshot.get_table(name).items()
        if getattr(record, "person", "") == "p3"
    ]
    new = TABLES["roles"].build(id="new-role", label="New role")
    with bulk_from(3):
        graph.apply(Change(put=(("roles", new),), remove=(*rows, *people)), who="t", why="in bulk")


def strip(answer: Any) -> Any:
    """Return an answer without what it says of its state."""
    if isinstance(answer, dict):
        answer = dict(answer)
        if answer.pop("state", None) is not None:
            answer["cautions"] = answer["cautions"][1:]
        if isinstance(answer.get("to"), dict):
            # what names a revision may have come later
            answer["to"] = answer["to"] | {"release": None}
    return answer


@pytest.mark.parametrize("as_of", ["1", "1.2", "2026-11-24"])
@pytest.mark.parametrize("address", PAST)
def test_an_answer_as_of_a_state_is_the_answer_that_was_given_then(
    address: str, as_of: str, client: FlaskClient, before: dict[str, Any]
) -> None:
    response = client.get(add(address, f"as_of={as_of}"))
    assert response.status_code == before[address].status_code == 200
    answer = json.loads(response.text)
    assert strip(answer) == json.loads(before[address].text)
    assert answer["state"] == {
        "as_of": as_of,
        "draft": None,
        "number": None,
        "revision": 1,
        "release": "1.2",
        "time": "2026-11-24T09:30:00Z",
        "people_as_of": None,
    }
    assert answer["revision"] == 1
    assert answer["cautions"][0].startswith("As of 1.2, 24 November 2026: ")


@pytest.mark.parametrize("address", [*RECORDS, *PICTURES])
def test_records_lists_and_pictures_are_those_of_then(
    address: str, client: FlaskClient, before: dict[str, Any]
) -> None:
    response = client.get(add(address, "as_of=1.2"))
    assert (response.status_code, response.text) == (200, before[address].text)
    assert json.loads(response.headers["Newel-State"])["revision"] == 1
    assert response.headers["ETag"] != client.get(address).headers["ETag"]
    again = client.get(add(address, "as_of=1.2"), headers={"If-None-Match": response.headers["ETag"]})
    assert again.status_code == 304


@pytest.mark.parametrize("address", [one for one in ASKED.values() if not one.startswith("/drafts/")])
def test_a_page_says_of_which_state_it_is_and_its_links_keep_it(address: str, client: FlaskClient) -> None:
    page = client.get(add(address, "as_of=1.2"))
    assert page.status_code in (200, 202)
    assert "As of 1.2, 24 November 2026" in page.text
    present = re.findall(r'<a href="([^"]*)" rel="latest-version"', page.text)
    assert present == [address.replace("&", "&amp;").replace(",", "%2C")]
    links = set(re.findall(r'<(?:a|img)\b[^>]*?(?:href|src)="(/[^"#]*)', page.text)) - set(present)
    kept = {link for link in links if "as_of=1.2" in link}
    assert all(TIMELESS.match(link) for link in links - kept)
    assert len(kept) > 5
    asking = re.findall(r'<form[^>]*method="get"[^>]*>(<input type="hidden"[^>]*>)', page.text)
    assert len(asking) == len(re.findall(r'<form[^>]*method="get"', page.text)) > 0
    assert set(asking) == {'<input type="hidden" name="as_of" value="1.2">'}


def test_a_page_that_must_be_told_more_asks_for_it_on_that_state(client: FlaskClient) -> None:
    page = client.get("/teams/works/headcount?as_of=1.2")
    assert page.status_code == 200
    assert "As of 1.2, 24 November 2026" in page.text
    assert '<input type="hidden" name="as_of" value="1.2">' in page.text


@pytest.mark.parametrize(
    "address", ["/requirements", "/roles", "/roles/operator", "/people/p1", "/teams", "/search?q=pump"]
)
def test_lists_records_and_searches_have_pages_of_then(address: str, client: FlaskClient) -> None:
    page = client.get(add(address, "as_of=1.2"))
    assert page.status_code == 200
    assert "As of 1.2, 24 November 2026" in page.text
    assert "New role" not in page.text
    # what changes something is done to the present state
    assert not re.findall(r'href="(/(?:edit|new|remove)/[^"]*as_of[^"]*)"', page.text)


def test_no_answer_has_members_of_its_own_where_the_state_is_told() -> None:
    for question in list_questions():
        own = {field.name for field in dataclasses.fields(question.answers)}
        assert not own & {"state", "revision", "cautions"}, question.name


def test_the_day_is_that_of_the_state_unless_another_is_asked(client: FlaskClient) -> None:
    gap = "/api/people/p1/gap?role=operator"
    assert client.get(f"{gap}&as_of=1").json["on"] == "2026-11-24"  # type: ignore[index]
    assert client.get(f"{gap}&as_of=2026-11-27").json["on"] == "2026-11-27"  # type: ignore[index]
    assert client.get(f"{gap}&as_of=1&on=2026-12-24").json["on"] == "2026-12-24"  # type: ignore[index]
    assert client.get(gap).json["on"] == "2026-11-29"  # type: ignore[index]
    joined = client.get(f"{gap}&as_of=1&people_as_of=now").json
    assert joined["on"] == "2026-11-29"  # type: ignore[index]


def test_todays_people_are_asked_under_the_framework_of_then(client: FlaskClient) -> None:
    asked = client.get("/api/people/p1/gap?role=operator&as_of=1.2&people_as_of=now").json
    assert asked is not None
    assert asked["state"]["people_as_of"] == "now"
    assert asked["cautions"][0].startswith("Framework and courses as of 1.2, 24 November 2026: ")
    present = client.get("/api/people/p1/gap?role=operator").json or {}
    then, today = ({row["competency"]: row["weight"] for row in found["gaps"]} for found in (asked, present))
    assert (then["pump"], today["pump"]) == (3, 4.5)
    assert client.get("/api/people/p3?as_of=1.2").status_code == 200
    assert client.get("/api/people/p3?as_of=1.2&people_as_of=now").status_code == 404
    assert client.get("/api/roles/new-role?as_of=1.2&people_as_of=now").status_code == 404
    assert client.get("/api/roles/new-role").status_code == 200


@pytest.mark.parametrize(
    ("query", "parameter", "reason"),
    [
        ("as_of=5", "as_of", "above the present revision, 4"),
        ("as_of=2026-11-30", "as_of", "after today"),
        ("as_of=2026-11-23", "as_of", "before the first change"),
        ("as_of=2026-02-30", "as_of", "not a valid date"),
        ("as_of=1.3", "as_of", "releases are: 1.2"),
        ("as_of=%C2%B2", "as_of", "must be a revision"),
        ("as_of=", "as_of", "empty"),
        ("as_of=1&as_of=2", "as_of", "given twice"),
        ("people_as_of=now", "people_as_of", "goes with as_of"),
        ("as_of=1&people_as_of=1", "people_as_of", "must be now"),
    ],
)
@pytest.mark.parametrize("address", ["/api/teams/works/coverage", "/api/roles", "/api/roles/operator/diagram"])
def test_a_state_that_cannot_be_asked_is_one_addressed_error(
    query: str, parameter: str, reason: str, address: str, client: FlaskClient
) -> None:
    response = client.get(f"{address}?{query}")
    assert response.status_code == 422
    (error,) = (response.json or {})["errors"]
    assert error["parameter"] == parameter
    assert reason in error["reason"]


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE"])
def test_nothing_is_changed_on_another_state(method: str, client: FlaskClient, graph: LiveGraph) -> None:
    response = client.open("/api/roles/operator?as_of=1", method=method, json={}, headers={"If-Match": "*"})
    assert response.status_code == 422
    assert (response.json or {})["errors"][0]["parameter"] == "as_of"
    assert graph.store.revision == 4


def test_now_is_the_present_state(client: FlaskClient) -> None:
    assert client.get("/api/roles?as_of=now").text == client.get("/api/roles").text
    assert "state" not in (client.get("/api/teams/works/coverage?as_of=now").json or {})


def test_a_bulk_commit_of_an_earlier_format_is_the_first_state_that_can_be_shown(tmp_path: Path) -> None:
    graph = LiveGraph.in_memory()
    role = TABLES["roles"].build
    for number in range(4):
        with bulk_from(1 if number == 1 else 20_000):
            graph.apply(Change(put=(("roles", role(id=f"r{number}", label=f"R {number}")),)), who="t", why="w")
    # as it was written before there were files
    query = f"DELETE WHERE {{ GRAPH <{ns.GRAPH_HISTORY}> {{ <{ns.HISTORY}2> <{ns.NW}patchFile> ?f }} }}"
    graph.store._engine.update(query)
    client = create_app(graph).test_client()
    assert len(client.get("/api/roles?as_of=2").json or ()) == 2
    for state in ("0", "1"):
        response = client.get(f"/api/roles?as_of={state}")
        assert response.status_code == 422
        assert (response.json or {})["first_revision"] == 2
        assert "the first that can be is 2" in (response.json or {})["detail"]


def test_commands_ask_on_another_state(tmp_path: Path) -> None:
    store = tmp_path / "store"
    graph = LiveGraph.open(store, create=True)
    graph.outside.replace("neighbour", fill_neighbour)
    company = build_company().get_snapshot()
    graph.load({name: list(company.get_table(name).values()) for name in TABLES}, who="t", why="all")
    graph.apply(Change(put=(("teams", TABLES["teams"].build(id="works", label="Renamed")),)), who="t", why="w")
    graph.close()

    def run(*words: str) -> Any:
        return CliRunner().invoke(program, [*words, "--store", str(store)])

    asked = ("coverage", "works")
    then, now = run(*asked, "--as-of", "1"), run(*asked)
    assert (then.exit_code, now.exit_code) == (0, 0), then.output
    assert "Note: As of revision 1, " in then.output
    assert "--as-of 1" in then.output
    assert "Renamed" in now.output
    assert "Renamed" not in then.output
    told = json.loads(run(*asked, "--as-of", "1", "--json").stdout)
    assert told["state"]["revision"] == 1
    wrong = run(*asked, "--as-of", "9")
    assert wrong.exit_code == 2
    assert "above the present revision, 2" in wrong.output
    acted = run("session-plan", "--until", "2027-01-31", "--book", "--as-of", "1")
    assert acted.exit_code == 2
    assert "present state" in acted.output
