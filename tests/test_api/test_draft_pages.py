"""The pages of drafts: changed on one, decided item by item, refused with all that was typed, offered elsewhere."""

from __future__ import annotations

import dataclasses
import io
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from html_forms import find_form, list_links, read_page
from signed_in import House
from sliced import Sheets, edit_book, find_row

from ontology.live.live_graph import Change, LiveGraph

DRAFT = "/drafts/rules"


@pytest.fixture(autouse=True)
def _start(writer: FlaskClient, graph: LiveGraph) -> None:
    started = writer.post("/new/drafts", data={"title": "New rules", "id": "rules"})
    assert (started.status_code, started.headers["Location"]) == (303, DRAFT)


def change(graph: LiveGraph, **values: Any) -> None:
    role = dataclasses.replace(graph.get_snapshot().roles["operator"], **values)
    graph.apply(Change(put=(("roles", role),)), who="ana", why="replaced roles/operator: New plant")


def post(writer: FlaskClient, action: str, typed: dict[str, str] | None = None, at: int = 0) -> Any:
    """Send a form of the draft's page, with its own fields; of several with one action the one `at`."""
    forms = [form for form in read_page(writer.get(DRAFT).text).forms if form.action == f"{DRAFT}/{action}"]
    return writer.post(f"{DRAFT}/{action}", data=forms[at].fields | (typed or {}))


def edit(writer: FlaskClient, address: str, **typed: str) -> Any:
    form = find_form(writer.get(address).text)
    assert "draft=rules" in form.action
    return writer.post(form.action, data=form.fields | typed)


def test_forms_with_a_draft_in_their_address_change_it_alone(writer: FlaskClient, graph: LiveGraph) -> None:
    before = graph.get_snapshot()
    stored = edit(writer, "/edit/roles/operator?draft=rules", definition="Runs it.", why="Said at last")
    assert (stored.status_code, stored.headers["Location"]) == (303, "/roles/operator?draft=rules#stored")
    page = writer.get("/roles/operator?draft=rules").text
    assert "Draft New rules, not published" in page
    assert "Runs it." in page
    assert "Runs it." not in writer.get("/roles/operator").text
    made = edit(writer, "/new/roles?draft=rules", id="smith", label="Smith")
    assert made.status_code == 303
    assert writer.get("/roles/smith?draft=rules").status_code == 200
    assert writer.get("/roles/smith").status_code == 404
    assert edit(writer, "/remove/outcomes/combined~pump?draft=rules").status_code == 303
    read = writer.get(DRAFT).text
    assert "Draft New rules changes 2 roles and 1 outcome; nobody&#39;s answers differ until it is published." in read
    assert "Replaced roles/operator: Said at last" in read
    assert {"/roles/operator?draft=rules", "/roles/smith?draft=rules"} <= set(list_links(read))
    assert graph.get_snapshot() is before


def test_from_a_draft_a_record_goes_that_others_name_and_those_are_told(writer: FlaskClient, graph: LiveGraph) -> None:
    asked = writer.get("/remove/competencies/pump").text
    assert "It cannot be removed while" in asked
    assert "/remove/competencies/pump?draft=rules" in list_links(asked)
    on_draft = writer.get("/remove/competencies/pump?draft=rules").text
    assert "It goes from the draft all the same" in on_draft
    assert "/outcomes/combined~pump?draft=rules" in list_links(on_draft)
    assert edit(writer, "/remove/competencies/pump?draft=rules").status_code == 303
    assert writer.get("/competencies/pump?draft=rules").status_code == 404
    findings = writer.get(f"/api{DRAFT}/findings").json or {}
    assert any(one["severity"] == "error" and "pump" in one["reason"] for one in findings["findings"])
    refused = post(writer, "publication", {"version": "1.0", "reason": "x"})
    assert refused.status_code == 422
    assert "pump" in graph.get_snapshot().competencies


def test_conflicts_are_decided_by_two_buttons_each(writer: FlaskClient, graph: LiveGraph) -> None:
    edit(writer, "/edit/roles/operator?draft=rules", label="Mine", definition="Mine too.")
    change(graph, label="Theirs", definition="Theirs too.")
    read = writer.get(DRAFT).text
    for words in ("decide 2 conflicts", "Operator", "Mine too.", "Theirs too.", "by ana, ", ": New plant"):
        assert words in read
    refused = post(writer, "publication", {"version": "1.0", "reason": "x"})
    assert (refused.status_code, "decide them first" in refused.text) == (409, True)
    # the first form is of all, then one for each
    assert post(writer, "rebase", {"take": "published"}, at=1).status_code == 303
    assert "decide 1 conflict." in writer.get(DRAFT).text
    assert post(writer, "rebase", {"take": "draft"}).status_code == 303
    assert "Conflicts to decide" not in writer.get(DRAFT).text
    assert post(writer, "publication", {"version": "1.0", "reason": "x"}).status_code == 303
    role = graph.get_snapshot().roles["operator"]
    assert sorted((role.label, role.definition)) == ["Mine", "Theirs too."]


def test_a_stale_page_publishes_nothing(writer: FlaskClient, graph: LiveGraph) -> None:
    edit(writer, "/edit/roles/operator?draft=rules", label="Mine")
    tag = next(form.fields["tag"] for form in read_page(writer.get(DRAFT).text).forms if "tag" in form.fields)
    edit(writer, "/edit/roles/operator?draft=rules", label="Mine after all")
    before = graph.get_snapshot()
    stale = writer.post(f"{DRAFT}/publication", data={"tag": tag, "version": "1.0", "reason": "Typed with care"})
    assert stale.status_code == 412
    assert "The draft was edited since you read it" in stale.text
    assert "Typed with care" in stale.text
    assert graph.get_snapshot() is before


def test_a_faulty_draft_tells_what_to_mend_and_is_not_published(writer: FlaskClient, graph: LiveGraph) -> None:
    assert edit(writer, "/edit/requirements/operator~pump?draft=rules", level="9").status_code == 303
    read = writer.get(DRAFT).text
    assert "Before it can be published: mend 1 error." in read
    assert read.index('<td role="cell"', read.index("What it would break")) > 0
    refused = post(writer, "publication", {"version": "1.0", "reason": "x"})
    assert (refused.status_code, "9" in refused.text) == (422, True)


def test_all_that_is_wrong_is_shown_at_once(writer: FlaskClient, graph: LiveGraph) -> None:
    assert edit(writer, "/edit/roles/operator?draft=rules", label="Plant operator").status_code == 303
    assert edit(writer, "/edit/requirements/operator~pump?draft=rules", level="9").status_code == 303
    change(graph, label="Theirs")
    refused = post(writer, "publication", {"version": "2027", "reason": ""})
    assert refused.status_code == 422
    links = [address for address in list_links(refused.text) if address.startswith("#field-")]
    assert links == ["#field-version", "#field-reason"]
    summary = refused.text[refused.text.index('id="wrong"') :].partition("</div>")[0]
    assert "Name of the release: would be taken for" in summary
    assert "decide them first" in summary
    assert summary.count("<li>") == 4


def test_it_is_withdrawn_opened_and_deleted(writer: FlaskClient, graph: LiveGraph) -> None:
    assert post(writer, "withdrawal").status_code == 303
    assert "Draft New rules is withdrawn" in writer.get(DRAFT).text
    assert post(writer, "opening").status_code == 303
    assert post(writer, "withdrawal").status_code == 303
    assert post(writer, "removal").headers["Location"] == "/drafts"
    assert writer.get(DRAFT).status_code == 404
    assert "There are no drafts." in writer.get("/drafts").text


def test_drafts_are_offered_where_one_changes_something(writer: FlaskClient, graph: LiveGraph) -> None:
    for address in (
        "/edit/roles/operator",
        "/edit/roles/operator/requirements",
        "/new/roles",
        "/remove/outcomes/combined~pump",
    ):
        links = set(list_links(writer.get(address).text))
        assert f"{address}?draft=rules" in links, address
        start = f"/new/drafts?to={address.replace('/', '%2F')}"
        assert start in links
    begun = writer.post("/new/drafts", data={"title": "Übung: más", "to": "/edit/roles/operator"})
    assert begun.headers["Location"] == "/edit/roles/operator?draft=ubung-mas"
    for elsewhere in ("//example.org", "https://example.org/x"):
        begun = writer.post("/new/drafts", data={"title": "Again", "to": elsewhere})
        assert begun.headers["Location"].startswith("/drafts/again")
    assert "on a draft" not in writer.get("/edit/people/p1").text, "a draft holds nothing about people"
    writer.post("/me", data={"person": "p1"})
    assert "Open since " in writer.get("/").text
    framework = writer.get("/framework")
    assert "/framework?draft=rules" in list_links(framework.text)
    post(writer, "withdrawal")
    again = writer.get("/framework", headers={"If-None-Match": framework.headers.get("ETag", '"none"')})
    assert (again.status_code, "/framework?draft=rules" in again.text) == (200, False)
    change(graph, label="Worker")
    assert f"/new/drafts?undo_of={graph.get_snapshot().revision}" in list_links(
        writer.get("/history/roles/operator").text
    )


def test_a_wrong_beginning_comes_back_with_what_was_typed(writer: FlaskClient) -> None:
    for typed, field in (
        ({"title": ""}, "title"),
        ({"title": "x", "id": "a b"}, "id"),
        ({"title": "x", "base": "9"}, "base"),
    ):
        refused = writer.post("/new/drafts", data=typed)
        assert refused.status_code == 422
        assert f'href="#field-{field}"' in refused.text
        assert all(f'value="{text}"' in refused.text for text in typed.values())
    assert writer.post("/new/drafts", data={"title": "x", "id": "rules"}).status_code == 409


def test_a_state_is_named_on_the_page_of_releases(writer: FlaskClient, graph: LiveGraph) -> None:
    assert "No state of the framework has a name yet." in writer.get("/releases").text
    refused = writer.post("/releases", data={"version": "2027.1", "reason": ""})
    assert (refused.status_code, 'value="2027.1"' in refused.text) == (422, True)
    assert writer.post("/releases", data={"version": "2027.1", "reason": "The year begins"}).status_code == 303
    read = writer.get("/releases").text
    assert {"/framework?as_of=2027.1", "/compare?from=2027.1&to=now"} <= set(list_links(read))
    assert writer.post("/releases", data={"version": "2027.1", "reason": "x"}).status_code == 409


def test_an_architect_drafts_behind_sign_in_and_to_a_reader_there_is_no_such_draft(house: House) -> None:
    before = house.graph.get_snapshot()
    architect = house.open("Architect")
    architect.get("/framework")
    begun = architect.send("/new/drafts", {"title": "House rules"})
    assert (begun.status_code, "Draft House rules, not published" in begun.text) == (200, True)
    architect.get("/edit/roles/operator?draft=house-rules")
    stored = architect.send("/edit/roles/operator?draft=house-rules", {"label": "Plant operator"})
    assert (stored.status_code, "Plant operator" in stored.text) == (200, True)
    assert house.graph.get_snapshot() is before
    assert house.graph.drafts.get("house-rules").author.startswith("Architect")
    reader = house.open("Reader")
    there, nowhere = (reader.get(f"/roles/operator?draft={one}") for one in ("house-rules", "nothing"))
    assert there.status_code == nowhere.status_code == 422
    assert "Plant operator" not in there.text
    assert "draft" not in reader.get("/roles/operator").text.lower()


def test_a_workbook_is_taken_edited_and_put_into_the_draft(
    writer: FlaskClient, graph: LiveGraph, tmp_path: Path
) -> None:
    forms = read_page(writer.get(DRAFT).text).forms
    assert any(form.action == f"{DRAFT}/workbook" for form in forms)
    # typed by a name or an id, and a wrong one is told at its field with all that was typed
    wrong = writer.get(f"{DRAFT}/workbook?roles=Operator, nobody&below=")
    assert (wrong.status_code, wrong.mimetype) == (422, "text/html")
    assert 'value="Operator, nobody"' in wrong.text
    book = tmp_path / "slice.xlsx"
    book.write_bytes(writer.get(f"{DRAFT}/workbook?roles=Operator&below=").data)

    def send() -> Any:
        return post(writer, "workbook", {"workbook": (io.BytesIO(book.read_bytes()), "slice.xlsx")}, 1)  # type: ignore[dict-item]

    unchanged = send()
    assert (unchanged.status_code, "No cell of this workbook was edited." in unchanged.text) == (422, True)

    def rename(sheets: Sheets) -> None:
        row, places = find_row(sheets, "roles", "operator")
        row[places["label"]] = "Plant operator"

    edit_book(book, rename)
    stored = send()
    assert (stored.status_code, stored.headers["Location"]) == (303, DRAFT)
    read = writer.get(DRAFT).text
    assert "Renamed from Operator to Plant operator" in read
    assert f"workbook of revision {graph.get_snapshot().revision}" in read.lower()
    for file, words in ((None, "Choose the workbook"), ((io.BytesIO(b"no book"), "x.xlsx"), "")):
        refused = post(writer, "workbook", {"workbook": file} if file else {}, 1)  # type: ignore[dict-item]
        assert (refused.status_code in (415, 422), words in refused.text) == (True, True)
