"""A change that would break records of others is refused, and names every one of them."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient
from record_cases import CASES, Case

from api.http.collection import COLLECTIONS
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES

every_collection = pytest.mark.parametrize("case", CASES, ids=[case.path for case in CASES])
ANY = {"If-Match": "*"}

LEVELS = [{"rank": rank, "label": f"Level {rank}"} for rank in range(1, 8)]
#: All levels one rank higher.
RAISED = [{"rank": rank + 1, "label": f"Level {rank}"} for rank in range(1, 6)]
#: Every record of the company that names a level of pump above 1.
PUMP_ABOVE_1 = {
    "requirements/operator~pump",
    "requirements/senior~pump",
    "requirements/chief~pump",
    "outcomes/pump-3~pump",
    "outcomes/combined~pump",
    "entry_conditions/pump-3~pump",
    "assessments/p1~pump~2026-01-10~assessor~~2",
    "assessments/p2~pump~2026-01-10~assessor~~3",
    "cover_needs/works~pump~2~team",
}
CRAFT_ABOVE_4 = {"requirements/chief~pump"}
CRAFT_ABOVE_3 = CRAFT_ABOVE_4 | {"requirements/senior~pump"}


def get_broken(problem: dict[str, Any]) -> set[str]:
    """Return table and id of every record a problem document finds fault with."""
    return {f"{entry['table']}/{entry['id']}" for entry in problem["errors"]}


@pytest.mark.parametrize(
    ("address", "body", "broken"),
    [
        ("shifts/night", {"team": "office", "label": "Night"}, {"people/p3"}),
        ("people/p3", {"name": "Cleo Example", "team": "office", "shift": "night"}, {"people/p3"}),
        ("places/desk", {"team": "office", "role": "operator", "shift": "day"}, {"places/desk"}),
    ],
)
def test_a_replacement_that_breaks_others_names_them_and_changes_nothing(
    writer: FlaskClient, graph: LiveGraph, address: str, body: dict[str, Any], broken: set[str]
) -> None:
    before = graph.get_snapshot()
    read = writer.get(f"/api/{address}")
    response = writer.put(f"/api/{address}", json=body, headers={"If-Match": read.headers["ETag"]})
    assert (response.status_code, response.mimetype) == (422, "application/problem+json"), response.text
    assert get_broken(response.json or {}) == broken
    assert all(entry["reason"] for entry in (response.json or {})["errors"])
    assert graph.get_snapshot() is before
    assert writer.get(f"/api/{address}").headers["ETag"] == read.headers["ETag"]


@pytest.mark.parametrize(
    ("address", "body", "users"),
    [
        ("competencies/pump", {"label": "Pump operation", "scale": "held"}, PUMP_ABOVE_1),
        ("competencies/pump", {"label": "Pump operation", "scale": "wide"}, PUMP_ABOVE_1),
        ("scales/craft", {"levels": LEVELS[:4]}, CRAFT_ABOVE_4),
        ("scales/craft", {"levels": LEVELS[:3]}, CRAFT_ABOVE_3),
        ("scales/craft", {"levels": [{"rank": 1, "label": "New"}, *RAISED]}, CRAFT_ABOVE_3 | PUMP_ABOVE_1),
    ],
)
def test_a_change_of_what_recorded_levels_mean_is_refused_with_what_uses_them(
    writer: FlaskClient, graph: LiveGraph, address: str, body: dict[str, Any], users: set[str]
) -> None:
    assert writer.post("/api/scales", json={"id": "wide", "levels": LEVELS}).status_code == 201
    before = graph.get_snapshot()
    response = writer.put(f"/api/{address}", json=body, headers=ANY)
    assert (response.status_code, response.mimetype) == (409, "application/problem+json"), response.text
    problem = response.json or {}
    assert set(problem["referrers"]) >= users
    assert f"{problem['table']}/{problem['id']}" == address
    assert "would" in problem["detail"]
    assert graph.get_snapshot() is before


def test_a_label_may_be_reworded_where_it_stands(writer: FlaskClient) -> None:
    reworded = [{**level, "label": f"{level['label']}, said better"} for level in LEVELS[:5]]
    assert writer.put("/api/scales/craft", json={"levels": reworded}, headers=ANY).status_code == 200


def test_places_and_needs_hold_a_shift_in_its_team(writer: FlaskClient) -> None:
    need = {"team": "works", "competency": "pump", "level": 3, "applies": "day"}
    assert writer.post("/api/cover-needs", json=need).status_code == 201
    place = {"id": "gate", "team": "works", "role": "helper", "shift": "day"}
    assert writer.post("/api/places", json=place).status_code == 201
    response = writer.put("/api/shifts/day", json={"team": "office", "label": "Day"}, headers=ANY)
    assert response.status_code == 422
    assert get_broken(response.json or {}) == {
        "people/p1",
        "people/p2",
        "places/gate",
        "cover_needs/works~pump~3~day",
    }
    removed = writer.delete("/api/shifts/day", headers=ANY)
    assert removed.status_code == 409
    assert set((removed.json or {})["referrers"]) == {
        "people/p1",
        "people/p2",
        "places/gate",
        "cover_needs/works~pump~3~day",
    }


def test_levels_that_nobody_uses_come_and_go(writer: FlaskClient) -> None:
    """A scale may grow, and shrink again as far as it is used."""
    for count in (7, 6, 5):
        response = writer.put("/api/scales/craft", json={"levels": LEVELS[:count]}, headers=ANY)
        assert response.status_code == 200, response.text
        assert len((writer.get("/api/scales/craft").json or {})["levels"]) == count


def test_a_scale_without_levels_is_no_scale(writer: FlaskClient) -> None:
    response = writer.put("/api/scales/unused", json={"levels": []}, headers=ANY)
    assert response.status_code == 422
    assert [entry["pointer"] for entry in (response.json or {})["errors"]] == ["/levels"]


def test_what_no_longer_refers_lets_go(writer: FlaskClient) -> None:
    referring = ("requirements/operator~licence", "outcomes/licence-course~licence", "equivalences/licence~valve")
    for address in (*referring, "appointments/p2~licence~2026-06-01", "obligations/licensed"):
        assert writer.delete("/api/competencies/licence", headers=ANY).status_code == 409
        assert writer.delete(f"/api/{address}", headers=ANY).status_code == 204
    (held,) = writer.get("/api/assessments?competency=licence").json or []
    last = writer.delete("/api/competencies/licence", headers=ANY)
    assert (last.json or {})["referrers"] == [f"assessments/p2~licence~2026-06-01~certificate~{held['assessor']}~1"]


@every_collection
def test_a_reference_to_nothing_is_named(writer: FlaskClient, graph: LiveGraph, case: Case) -> None:
    table = TABLES[case.path.replace("-", "_")]
    references = [column for column in table.columns if column.refers_to]
    key = {column.name for column in table.columns if column.attribute in table.key}
    if case.path == "scales":
        references = []  # a scale is its own levels' reference
    assert bool(references) == (
        case.path not in ("framework", "scales", "roles", "courses", "sites", "replacements", "translations")
    )
    revision = graph.get_snapshot().revision
    for column in references:
        value: Any = ["nowhere"] if column.kind == "refs" else "nowhere"
        response = writer.post(f"/api/{case.path}", json=case.new | {column.name: value})
        assert response.status_code == 422, column.name
        pointers = [entry["pointer"] for entry in (response.json or {})["errors"]]
        assert f"/{column.name}" in pointers
        if column.name not in key:
            body = case.new | {column.name: value}
            response = writer.put(f"/api/{case.path}/{case.new_id}", json=body, headers={"If-None-Match": "*"})
            assert response.status_code == 422, column.name
    assert graph.get_snapshot().revision == revision


@every_collection
def test_a_wrong_replacement_leaves_the_record_as_it_was(writer: FlaskClient, case: Case) -> None:
    made = writer.post(f"/api/{case.path}", json=case.new)
    collection = COLLECTIONS[case.path.replace("-", "_")]
    wrong = {name: value for name, value in case.wrong.items() if name not in collection.key_names}
    body = case.new | (wrong or {"colour": "red"})
    address = made.headers["Location"]
    response = writer.put(address, json=body, headers={"If-Match": made.headers["ETag"]})
    assert response.status_code == 422, response.text
    stale = writer.put(address, json=body, headers={"If-Match": '"stale"'})
    assert stale.status_code == 412, "whose state is stale learns that first"
    read = writer.get(address)
    assert (read.data, read.headers["ETag"]) == (made.data, made.headers["ETag"])


@pytest.mark.parametrize(
    ("rule", "address"),
    [("role", "roles/chief"), ("place", "places/desk"), ("team", "teams/office"), ("site", "sites/depot")],
)
def test_what_a_rule_names_stays_as_long_as_it_does(writer: FlaskClient, rule: str, address: str) -> None:
    assert writer.post("/api/sites", json={"id": "depot", "label": "Depot"}).status_code == 201
    others = ("memberships/p3~2025-01-01", "duties/p2~desk~2026-10-05", "requirements/chief~pump")
    for other in (*others, "requirements/chief~valve"):
        assert writer.delete(f"/api/{other}", headers=ANY).status_code == 204
    of = address.split("/")[1]
    body = {"id": "o", "label": "O", "competency": "pump", "rule": rule, "of": of}
    wrong = writer.post("/api/obligations", json=body | {"of": "nowhere"})
    assert (wrong.status_code, [e["pointer"] for e in (wrong.json or {})["errors"]]) == (422, ["/of"])
    assert writer.post("/api/obligations", json=body).status_code == 201
    if rule != "place":
        item = {"id": "i", "label": "I", "rule": rule, "of": of}
        assert writer.post("/api/orientation-items", json=item).status_code == 201
    removed = writer.delete(f"/api/{address}", headers=ANY)
    expected = ["obligations/o"] if rule == "place" else ["obligations/o", "orientation_items/i"]
    assert (removed.status_code, (removed.json or {})["referrers"]) == (409, expected)
    for user in expected:
        assert writer.delete(f"/api/{user.replace('_', '-')}", headers=ANY).status_code == 204
    assert writer.delete(f"/api/{address}", headers=ANY).status_code == 204
