"""Drafts and releases over REST: begun, told, decided, published, taken back; to others each is an unknown one."""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest
from all_accounts import Accounts, People, build_accounts
from flask.testing import FlaskClient

from api.access.actor import Scope
from api.access.rights import Kind, Verb
from ontology.live.live_graph import Change, LiveGraph

NEW = {"id": "rules", "title": "New rules"}


def edit_role(graph: LiveGraph, draft: str = "", **values: Any) -> None:
    """Change the operator on a draft, or for everybody."""
    role = graph.drafts.get_state(draft).snapshot.roles["operator"] if draft else graph.get_snapshot().roles["operator"]
    change = Change(put=(("roles", dataclasses.replace(role, **values)),))
    if draft:
        graph.drafts.edit(draft, change, who="me", why="edited")
    else:
        graph.apply(change, who="ana", why="replaced roles/operator: New plant")


def start(writer: FlaskClient, graph: LiveGraph, **values: Any) -> str:
    """Begin a draft that changes the operator, and return its tag."""
    assert writer.post("/api/drafts", json=NEW).status_code == 201
    edit_role(graph, "rules", **(values or {"label": "Plant operator"}))
    return get_tag(writer)


def get_tag(writer: FlaskClient) -> str:
    return str(writer.get("/api/drafts/rules").headers["ETag"])


def send(writer: FlaskClient, part: str, tag: str, body: dict[str, Any] | None = None) -> Any:
    return writer.post(f"/api/drafts/rules/{part}", json=body or {}, headers={"If-Match": tag})


def test_a_draft_is_told_and_changes_nobodys_answers(writer: FlaskClient, graph: LiveGraph) -> None:
    before, revision = writer.get("/api/roles/operator").data, graph.get_snapshot().revision
    made = writer.post("/api/drafts", json=NEW)
    assert (made.status_code, made.headers["Location"]) == (201, "http://localhost/api/drafts/rules")
    assert writer.post("/api/drafts", json=NEW).status_code == 409
    edit_role(graph, "rules", label="Plant operator")
    read = writer.get("/api/drafts/rules")
    told = {"id": "rules", "title": "New rules", "author": "local owner", "base": revision, "number": 1}
    assert told.items() <= read.json.items()
    assert (read.json["state"], read.json["conflicts"], read.json["errors"]) == ("open", 0, 0)
    assert read.json["counts"] == [{"table": "roles", "added": 0, "removed": 0, "changed": 1}]
    assert writer.get("/api/drafts").json == [read.json]
    changes = writer.get("/api/drafts/rules/changes").json
    assert (changes["draft"], changes["number"], changes["rows_total"]) == ("rules", 1, 1)
    assert changes["rows"][0]["words"] == "renamed from Operator to Plant operator"
    assert writer.get("/api/drafts/rules/conflicts").json["conflicts"] == []
    assert writer.get("/api/roles/operator").data == before
    assert graph.get_snapshot().revision == revision
    unchanged = writer.get("/api/drafts/rules", headers={"If-None-Match": read.headers["ETag"]})
    assert unchanged.status_code == 304


@pytest.mark.parametrize(
    ("body", "pointer"),
    [({"id": "a b", "title": "x"}, "/id"), ({"id": "a"}, "/title"), ({"id": "a", "title": "x", "who": "me"}, "/who")],
)
def test_a_wrong_draft_is_refused_by_its_member(writer: FlaskClient, body: dict[str, Any], pointer: str) -> None:
    refused = writer.post("/api/drafts", json=body)
    assert (refused.status_code, refused.json["errors"][0]["pointer"]) == (422, pointer)
    base = writer.post("/api/drafts", json=NEW | {"base": 99})
    assert (base.status_code, base.json["parameter"]) == (422, "base")
    assert writer.get("/api/drafts").json == []


def test_a_change_of_a_draft_wants_its_tag(writer: FlaskClient, graph: LiveGraph) -> None:
    tag = start(writer, graph)
    assert writer.post("/api/drafts/rules/withdrawal", json={}).status_code == 428
    edit_role(graph, "rules", definition="Runs the plant.")
    assert send(writer, "withdrawal", tag).status_code == 412
    # someone else's change of the framework is no change of the draft
    tag = get_tag(writer)
    edit_role(graph, months_to_full=30)
    assert get_tag(writer) != tag
    assert send(writer, "withdrawal", tag).json["state"] == "withdrawn"
    assert send(writer, "publication", tag, {"version": "1.0", "reason": "x"}).status_code == 409
    assert send(writer, "opening", tag).json["state"] == "open"
    assert writer.delete("/api/drafts/rules", headers={"If-Match": tag}).status_code == 409, "only a withdrawn one"
    send(writer, "withdrawal", tag)
    assert writer.delete("/api/drafts/rules", headers={"If-Match": tag}).status_code == 204
    assert writer.get("/api/drafts/rules").status_code == 404


def test_a_conflict_has_three_values_and_is_decided_one_by_one(writer: FlaskClient, graph: LiveGraph) -> None:
    tag = start(writer, graph, label="Mine", definition="Mine too.")
    edit_role(graph, label="Theirs", definition="Theirs too.")
    conflicts = writer.get("/api/drafts/rules/conflicts").json["conflicts"]
    assert [(one["column"], one["base"], one["draft"], one["published"]) for one in conflicts] == [
        ("definition", "", "Mine too.", "Theirs too."),
        ("label", "Operator", "Mine", "Theirs"),
    ]
    assert {(one["who"], one["why"]) for one in conflicts} == {("ana", "replaced roles/operator: New plant")}
    refused = send(writer, "publication", tag, {"version": "1.0", "reason": "x"})
    assert (refused.status_code, refused.json["conflicts"]) == (409, conflicts)
    odd = {"take": [{"table": "roles", "id": "operator", "column": "family", "value": "draft"}]}
    assert send(writer, "rebase", tag, odd).status_code == 422
    assert send(writer, "rebase", tag, {"all": "mine"}).status_code == 422
    one = {"take": [{"table": "roles", "id": "operator", "column": "label", "value": "published"}]}
    assert send(writer, "rebase", tag, one).json["conflicts"] == 1
    done = send(writer, "rebase", get_tag(writer), {"all": "draft"})
    assert (done.json["conflicts"], done.json["base"]) == (0, graph.get_snapshot().revision)
    assert send(writer, "publication", get_tag(writer), {"version": "1.0", "reason": "x"}).status_code == 200
    role = graph.get_snapshot().roles["operator"]
    assert (role.label, role.definition) == ("Theirs", "Mine too.")


def test_a_published_draft_is_a_release_and_is_taken_back_by_another(writer: FlaskClient, graph: LiveGraph) -> None:
    tag, before = start(writer, graph), graph.get_snapshot()
    for wrong in (
        {"version": "7"},
        {"version": "2026-01-01"},
        {"reason": ""},
        {"reason": "x" * 501},
        {"date": "2199-01-01"},
    ):
        body = {"version": "1.0", "reason": "New plant"} | wrong
        assert send(writer, "publication", tag, body).status_code == 422, wrong
    assert graph.get_snapshot() is before
    published = send(writer, "publication", tag, {"version": "1.0", "reason": "New plant"})
    release = published.json
    assert (release["version"], release["reason"], release["from_draft"]) == ("1.0", "New plant", "rules")
    assert release["revision"] == graph.get_snapshot().revision == before.revision + 1
    assert writer.get("/api/releases").json == [release] == [writer.get("/api/releases/1.0").json]
    told = writer.get("/api/drafts/rules").json
    assert (told["state"], told["revision"], told["counts"][0]["changed"]) == ("published", release["revision"], 1)
    commit = writer.get(f"/api/history/{release['revision']}").json
    assert (commit["why"], commit["release"]) == ("New plant", "1.0")
    back = writer.post("/api/drafts", json={"id": "back", "title": "Back", "undo_of": "1.0"})
    assert (back.status_code, back.json["undo_of"]) == (201, release["revision"])
    headers = {"If-Match": back.headers["ETag"]}
    body = {"version": "1.1", "reason": "It was too early"}
    assert writer.post("/api/drafts/back/publication", json=body, headers=headers).status_code == 200
    assert graph.get_snapshot().roles == before.roles
    told = writer.get(f"/api/history/{graph.get_snapshot().revision}").json
    assert (told["undo_of"], told["release"]) == (release["revision"], "1.1")
    named = writer.post("/api/releases", json={"version": "1.2", "reason": "As it is", "date": "2026-01-31"})
    assert (named.status_code, named.json["date"], named.json["from_draft"]) == (201, "2026-01-31", None)
    assert writer.post("/api/releases", json={"version": "1.2", "reason": "Again"}).status_code == 409
    assert writer.get("/api/releases/9.9").status_code == 404


def test_an_empty_draft_and_one_with_errors_are_not_published(writer: FlaskClient, graph: LiveGraph) -> None:
    assert writer.post("/api/drafts", json=NEW).status_code == 201
    body = {"version": "1.0", "reason": "x"}
    assert send(writer, "publication", "*", body).status_code == 409
    requirement = graph.get_snapshot().get_record("requirements", ("operator", "pump"))
    wrong = dataclasses.replace(requirement, level=9)
    graph.drafts.edit("rules", Change(put=(("requirements", wrong),)), who="me", why="x")
    assert writer.get("/api/drafts/rules").json["errors"] == 1
    findings = writer.get("/api/drafts/rules/findings").json["findings"]
    assert (findings[0]["severity"], findings[0]["table"]) == ("error", "requirements")
    refused = send(writer, "publication", "*", body)
    assert (refused.status_code, refused.json["errors"][0]["id"]) == (422, "operator~pump")


def test_all_that_stands_against_publishing_is_told_at_once(writer: FlaskClient, graph: LiveGraph) -> None:
    start(writer, graph)
    edit_role(graph, label="Theirs")
    requirement = graph.get_snapshot().get_record("requirements", ("operator", "pump"))
    wrong = dataclasses.replace(requirement, level=9)
    graph.drafts.edit("rules", Change(put=(("requirements", wrong),)), who="me", why="x")
    refused = send(writer, "publication", "*", {"version": "now", "reason": "x", "date": "2999-01-01"})
    parameter, day, conflict, finding = refused.json["errors"]
    assert (refused.status_code, parameter["parameter"], day["parameter"]) == (422, "version", "date")
    assert (conflict["reason"], finding["id"]) == (
        "The draft rules has 1 conflict with what was published since; decide them first.",
        "operator~pump",
    )
    assert [one["column"] for one in refused.json["conflicts"]] == ["label"]
    assert refused.json["detail"].count("decide them first") == 1
    # what of a body cannot be read stands beside all else
    refused = send(writer, "publication", "*", {"version": "1.0", "reason": "", "day": "x"})
    assert [one["pointer"] for one in refused.json["errors"]] == ["/reason", "/day", "", "/level"]


ACTORS = (
    *("reader", "employee", "lead", "other lead", "assessor", "architect", "architect with purpose", "administrator"),
)


@pytest.fixture
def accounts(graph: LiveGraph) -> Accounts:
    return build_accounts(graph, People("p1", "p2", "works", "office", "pump"))


def test_drafts_are_the_architects_and_to_others_unknown(accounts: Accounts, graph: LiveGraph) -> None:
    graph.drafts.start("rules", "New rules", who="me")
    edit_role(graph, "rules", label="Plant operator")
    for actor in ACTORS:
        token = accounts.access.tokens.make(accounts.numbers[actor], "test", Scope(frozenset(Kind), frozenset(Verb)))
        client, headers = accounts.app.test_client(), {"Authorization": f"Bearer {token}", "If-Match": "*"}
        may = actor.startswith("architect")
        assert client.get("/api/drafts", headers=headers).status_code == (200 if may else 403)
        assert client.post("/api/releases", json={}, headers=headers).status_code == (422 if may else 403)
        for part in ("", "/changes", "/findings", "/conflicts"):
            there, nowhere = (client.get(f"/api/drafts/{one}{part}", headers=headers) for one in ("rules", "nothing"))
            assert (there.status_code, nowhere.status_code) == (200 if may else 404, 404)
            if not may:
                assert there.text.replace("rules", "nothing") == nowhere.text
            assert actor == "architect with purpose" or "p2" not in there.text, "who is told of whom is told there too"
        turned = client.post("/api/drafts/rules/withdrawal", json={}, headers=headers)
        assert turned.status_code == (200 if may else 404)
        assert (graph.drafts.get("rules").state == "withdrawn") is may
        if may:
            graph.drafts.open("rules", who="me")
        browser = accounts.sign_in(actor)
        for page in ("/drafts", "/drafts/rules", "/new/drafts", "/releases"):
            status = browser.get(page).status_code
            assert status == 200 if may else status in (403, 404), page
        assert ("/drafts" in browser.get("/framework").text) is may


def test_whoever_has_not_signed_in_is_told_nothing(accounts: Accounts) -> None:
    client = accounts.app.test_client()
    assert client.get("/api/drafts/rules").status_code == 401
    assert client.get("/drafts").status_code == 303
