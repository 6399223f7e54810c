"""Making, changing and removing a record in its form: what is stored, what is refused, what two people do at once."""

from __future__ import annotations

import re
from typing import Any
from urllib.parse import unquote

import pytest
from flask.testing import FlaskClient
from html_forms import find_form, list_links
from record_cases import CASES, Case

from api.http.collection import COLLECTIONS
from api.pages.addresses import build_record_address
from ontology.live.live_graph import LiveGraph

every_collection = pytest.mark.parametrize("case", CASES, ids=[case.path for case in CASES])
#: Where a program's wrong member could not be typed, or is right when typed.
WRONG: dict[str, tuple[dict[str, Any], str]] = {
    "scales": ({"levels": [{"rank": 1, "label": "", "description": "seen"}]}, "levels-0-label"),
    "courses": ({"hours": "many"}, "hours"),
}
PUMP = "/edit/requirements/operator~pump"


def read(writer: FlaskClient, address: str) -> dict[str, str]:
    """Open a form and return what a browser would send of it."""
    page = writer.get(address)
    assert page.status_code == 200, page.text
    return find_form(page.text).fields


def type_in(name: str, members: dict[str, Any]) -> dict[str, str]:
    """Return the fields in which a person would type the members of a record."""
    if name == "scales":
        levels = {
            f"levels.{at}.{key}": str(text)
            for at, level in enumerate(members["levels"])
            for key, text in level.items()
            if key != "rank"
        }
        return {"id": members["id"]} | levels
    return {key: "\n".join(v) if isinstance(v, list) else _say(v) for key, v in members.items()}


def _say(value: Any) -> str:
    return ("yes" if value else "no") if isinstance(value, bool) else "" if value is None else str(value)


@every_collection
def test_what_is_typed_into_a_new_form_is_stored_as_a_program_would_store_it(
    writer: FlaskClient, case: Case, graph: LiveGraph
) -> None:
    name = case.path.replace("-", "_")
    response = writer.post(f"/new/{case.path}", data=read(writer, f"/new/{case.path}") | type_in(name, case.new))
    assert (response.status_code, response.headers.get("Location")) == (
        303,
        f"{build_record_address(name, unquote(case.new_id))}#stored",
    ), response.text
    stored = COLLECTIONS[name].get_item(graph.get_snapshot(), unquote(case.new_id))
    assert writer.delete(f"/api/{case.path}/{case.new_id}", headers={"If-Match": "*"}).status_code == 204
    assert writer.post(f"/api/{case.path}", json=case.new).status_code == 201
    assert COLLECTIONS[name].get_item(graph.get_snapshot(), unquote(case.new_id)) == stored


@every_collection
def test_a_wrong_value_is_told_at_its_field_and_nothing_typed_is_lost(writer: FlaskClient, case: Case) -> None:
    name = case.path.replace("-", "_")
    wrong, field = WRONG.get(name, (case.wrong, case.pointer[1:]))
    typed = type_in(name, case.new | wrong)
    response = writer.post(f"/new/{case.path}", data=typed)
    assert response.status_code == 422, response.text
    assert re.search(r"<title>\d values? (is|are) wrong: ", response.text)
    assert f"#field-{field}" in list_links(response.text)
    fields = find_form(response.text).fields
    assert {key: fields[key].replace("\r\n", "\n") for key in typed} == typed


@every_collection
def test_a_field_that_the_table_has_not_is_refused(writer: FlaskClient, case: Case, graph: LiveGraph) -> None:
    before = graph.get_snapshot().revision
    typed = type_in(case.path.replace("-", "_"), case.new) | {"is_administrator": "yes"}
    response = writer.post(f"/new/{case.path}", data=typed)
    assert response.status_code == 422
    assert "is_administrator: Is not known here" in response.text.replace("\n", "")
    assert graph.get_snapshot().revision == before


@every_collection
def test_a_removal_asks_once_and_is_done_for_the_state_that_was_read(writer: FlaskClient, case: Case) -> None:
    assert writer.post(f"/api/{case.path}", json=case.new).status_code == 201
    address = build_record_address(case.path.replace("-", "_"), unquote(case.new_id))
    form = read(writer, f"/remove{address}")
    assert writer.post(f"/remove{address}", data={**form, "state": "x"} if "state" in form else {**form, "state_": "x"})
    assert writer.get(f"/edit{address}").status_code == 200
    response = writer.post(f"/remove{address}", data=form)
    assert (response.status_code, response.headers["Location"]) == (303, f"/{case.path}#stored")
    assert writer.get(f"/edit{address}").status_code == 404


@pytest.mark.parametrize("case", [case for case in CASES if case.referred], ids=lambda case: case.path)
def test_what_is_referred_to_cannot_be_removed_and_all_that_refers_is_linked(writer: FlaskClient, case: Case) -> None:
    address = build_record_address(case.path.replace("-", "_"), case.referred)
    page = writer.get(f"/remove{address}")
    assert page.status_code == 200
    assert "<button" not in page.text.partition("<main")[2]
    table, record_id = case.referrer.split("/", 1)
    assert build_record_address(table, record_id) in list_links(page.text)
    state = writer.get(f"/api/{case.path}/{case.referred}").headers["ETag"].strip('"')
    refused = writer.post(f"/remove{address}", data={"state": state, "state_": state})
    assert refused.status_code in (409, 422), refused.text
    if refused.status_code == 409:
        assert build_record_address(table, record_id) in list_links(refused.text)


def test_two_findings_stand_at_their_fields_above_the_input(writer: FlaskClient) -> None:
    form = read(writer, PUMP)
    response = writer.post(PUMP, data=form | {"level": "9", "weight": "7"})
    assert response.status_code == 422
    assert "2 values are wrong: " in response.text or "1 value is wrong: " in response.text
    assert response.text.index("Must be at most 5") < response.text.index('name="weight"')
    assert find_form(response.text).fields["level"] == "9"
    again = find_form(response.text).fields
    refused = writer.post(PUMP, data=again | {"weight": "5"})
    assert refused.status_code == 422
    assert "Level 9 is not on scale craft" in refused.text or "9 is not on scale craft" in refused.text
    assert "requirement operator~pump" not in refused.text
    assert writer.post(PUMP, data=find_form(refused.text).fields | {"level": "3"}).status_code == 303


def test_a_conflict_shows_three_versions_and_either_can_be_kept(writer: FlaskClient, graph: LiveGraph) -> None:
    mine = read(writer, PUMP) | {"weight": "4", "remark": "Two lines,\r\nmine."}
    theirs = read(writer, PUMP) | {"weight": "2"}
    assert writer.post(PUMP, data=theirs).status_code == 303
    clash = writer.post(PUMP, data=mine)
    assert clash.status_code == 412
    for words in ("As you read it", "As it is now", "Yours", "Take mine over", "Keep what is there"):
        assert words in clash.text
    assert "Both of you changed Weight." in clash.text
    assert "/requirements/operator~pump" in list_links(clash.text)
    assert graph.get_snapshot().get_record("requirements", ("operator", "pump")).weight == 2
    assert writer.post(PUMP, data=find_form(clash.text).fields).status_code == 303
    stored = graph.get_snapshot().get_record("requirements", ("operator", "pump"))
    assert (stored.weight, stored.remark) == (4, "Two lines,\nmine.")


def test_a_record_that_went_meanwhile_can_be_made_again_or_left(writer: FlaskClient, graph: LiveGraph) -> None:
    mine = read(writer, PUMP) | {"weight": "4"}
    assert writer.delete("/api/requirements/operator~pump", headers={"If-Match": "*"}).status_code == 204
    clash = writer.post(PUMP, data=mine)
    assert clash.status_code == 412
    assert "Someone has removed it" in clash.text
    assert writer.post(PUMP, data=find_form(clash.text).fields).status_code == 303
    assert graph.get_snapshot().get_record("requirements", ("operator", "pump")).weight == 4


def test_a_field_that_was_not_sent_stays_and_an_empty_one_has_its_default(
    writer: FlaskClient, graph: LiveGraph
) -> None:
    before = graph.get_snapshot().get_record("requirements", ("operator", "pump"))
    assert (before.level, before.weight) == (3, 3)
    form = read(writer, PUMP)
    assert writer.post(PUMP, data={"state": form["state"], "weight": "4", "necessity": "desirable"}).status_code == 303
    assert writer.post(PUMP, data={"state": read(writer, PUMP)["state"], "weight": ""}).status_code == 303
    after = graph.get_snapshot().get_record("requirements", ("operator", "pump"))
    assert (after.level, after.weight, after.necessity) == (3, 3, "desirable")


def test_an_empty_field_that_is_required_and_a_text_that_is_no_number_say_what_is_right(writer: FlaskClient) -> None:
    response = writer.post("/new/courses", data={"id": "x", "label": "", "hours": "2,5"})
    assert "Label: Must be filled in" in response.text
    assert "Hours of the learner: Must be a number, like 12 or 12.5" in response.text
    assert find_form(response.text).fields["hours"] == "2,5"


def test_a_form_without_its_state_is_not_stored(writer: FlaskClient) -> None:
    form = read(writer, PUMP)
    del form["state"]
    assert writer.post(PUMP, data=form).status_code == 428


def test_why_a_framework_record_is_changed_stands_in_the_history(writer: FlaskClient, graph: LiveGraph) -> None:
    assert writer.post(PUMP, data=read(writer, PUMP) | {"weight": "4", "why": "New pumps."}).status_code == 303
    [why] = graph.store.select(
        "SELECT ?w WHERE { GRAPH ?g { ?s ?p ?w } FILTER(isLiteral(?w) && CONTAINS(STR(?w), 'New pumps.')) }"
    )
    assert "replaced requirements/operator~pump: New pumps." in str(why)
    too_long = writer.post(PUMP, data=read(writer, PUMP) | {"weight": "3", "why": "x" * 501})
    assert too_long.status_code == 422
    assert "Must be at most 500 characters long" in too_long.text


@pytest.mark.parametrize("address", ["/edit/people/p1", "/edit/absences/p3~2026-12-01", "/edit/teams/works"])
def test_nobody_writes_down_why_a_record_of_people_or_teams_is_changed(writer: FlaskClient, address: str) -> None:
    form = read(writer, address)
    assert "why" not in form
    assert writer.post(address, data=form | {"why": "ill"}).status_code == 422


def test_a_day_that_cannot_be_changed_is_told_in_words(writer: FlaskClient) -> None:
    told = writer.get("/edit/absences/p3~2026-12-01").text
    assert [words for words in re.findall(r"</b><br>([^<]*)", told) if re.search(r"\d", words)] == ["1 December 2026"]
    assert 'type="date"' in told, "one that can be is typed"


def test_a_name_that_one_record_has_stands_for_its_id(writer: FlaskClient, graph: LiveGraph) -> None:
    snapshot = graph.get_snapshot()
    typed = {"role": snapshot.roles["helper"].label, "competency": snapshot.competencies["valve"].label.upper()}
    response = writer.post("/new/requirements", data=typed | {"level": "1"})
    assert response.headers.get("Location") == "/requirements/helper~valve#stored", response.text


def test_an_id_of_any_characters_has_its_form(writer: FlaskClient, graph: LiveGraph) -> None:
    body = {"person": "p1", "competency": "valve", "level": 1, "date": "2026-01-10", "source": "manager"}
    assessor = 'A/B? #1 50%~"two\nlines"'
    location = writer.post("/api/assessments", json=body | {"assessor": assessor}).headers["Location"]
    address = location.partition("/api")[2]
    before = graph.get_snapshot().revision
    form = find_form(writer.get(f"/edit{address}").text)
    stored = writer.post(form.action, data=form.fields)
    assert stored.status_code == 303, stored.text
    assert writer.get(stored.headers["Location"].partition("#")[0]).status_code == 200
    assert graph.get_snapshot().revision == before
    form = find_form(writer.get(f"/remove{address}").text)
    assert writer.post(form.action, data=form.fields).status_code == 303


def test_the_rank_of_a_level_is_its_place_whatever_is_sent(writer: FlaskClient, graph: LiveGraph) -> None:
    typed = {"id": "short", "levels.0.label": "Can", "levels.2.label": "Does", "levels.2.rank": "7"}
    assert writer.post("/new/scales", data=typed).status_code == 303
    assert [(s.rank, s.label) for s in graph.get_snapshot().scales["short"]] == [(1, "Can"), (2, "Does")]


def test_levels_in_use_cannot_be_dropped_from_their_scale(writer: FlaskClient) -> None:
    form = read(writer, "/edit/scales/craft")
    dropped = {
        name: "" if name.startswith("levels.3") or name.startswith("levels.4") else text for name, text in form.items()
    }
    response = writer.post("/edit/scales/craft", data=dropped)
    assert response.status_code == 409
    assert "/requirements/chief~pump" in list_links(response.text)


def test_a_new_form_is_filled_in_from_its_address(writer: FlaskClient) -> None:
    form = read(writer, "/new/requirements?role=helper&competency=valve&weight=heavy")
    assert (form["role"], form["competency"], form["weight"], form["necessity"]) == (
        "helper",
        "valve",
        "heavy",
        "essential",
    )
    wrong = writer.get("/new/requirements?colour=red")
    assert wrong.status_code == 422
    assert "colour" in wrong.text


def test_a_level_is_chosen_by_its_word_once_the_competency_is_known(writer: FlaskClient) -> None:
    page = writer.get("/new/appointments?person=p1&competency=pump").text
    assert find_form(page).choices["level"][1:] == ["1", "2", "3", "4", "5"]
    assert "level" not in find_form(writer.get("/new/appointments?person=p1").text).choices


def test_the_day_of_a_new_assessment_can_be_asked_as_days_are_asked(writer: FlaskClient) -> None:
    assert read(writer, "/new/assessments?person=p1&competency=pump&on=2026-11-20")["date"] == "2026-11-20"


def test_a_change_of_what_recorded_levels_mean_names_what_uses_them(writer: FlaskClient) -> None:
    response = writer.post("/edit/competencies/pump", data=read(writer, "/edit/competencies/pump") | {"scale": "held"})
    assert response.status_code == 409
    assert "/requirements/operator~pump" in list_links(response.text)
    assert find_form(response.text).fields["scale"] == "held"


def test_an_id_that_is_taken_is_told_with_its_record(writer: FlaskClient) -> None:
    response = writer.post("/new/roles", data={"id": "helper", "label": "Another"})
    assert response.status_code == 409
    assert "/roles/helper" in list_links(response.text)
    assert find_form(response.text).fields["label"] == "Another"
