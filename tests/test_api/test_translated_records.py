"""A record carries its texts in other languages: read and written with it, kept where a body says nothing of them."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient
from rdflib import SKOS, Graph, Literal

from ontology.live.live_graph import LiveGraph

FRESH = {"If-None-Match": "*"}
ROLE = {"id": "smith", "label": "Smith", "translations": {"de": {"label": "Schmied"}, "pt-BR": {"family": "Metal"}}}
SEEN = {"de": {"label": "Schmied"}, "pt-br": {"family": "Metal"}}


def put(client: FlaskClient, address: str, body: dict[str, Any]) -> Any:
    response = client.put(address, json=body, headers={"If-Match": client.get(address).headers["ETag"]})
    assert response.status_code == 200, response.json
    return response.json


def test_record_is_made_with_its_translations_and_keeps_them_when_it_is_replaced(writer: FlaskClient) -> None:
    assert writer.put("/api/roles/smith", json=ROLE, headers=FRESH).status_code == 201
    told = writer.get("/api/roles/smith", headers={"Accept-Language": "de"}).json or {}
    # record resources never hang on the language that is asked
    assert (told["label"], told["translations"]) == ("Smith", SEEN)
    assert writer.get("/api/roles/smith").headers["Vary"] == "Accept"
    replaced = put(writer, "/api/roles/smith", {"label": "Blacksmith"})
    assert (replaced["label"], replaced["translations"]) == ("Blacksmith", SEEN)
    listed = [one for one in writer.get("/api/roles?q=Blacksmith").json or [] if one["id"] == "smith"]
    assert listed[0]["translations"] == SEEN
    assert put(writer, "/api/roles/smith", told | {"translations": {"de": {"label": "Schmiedin"}}})["translations"] == {
        "de": {"label": "Schmiedin"}
    }
    assert "translations" not in put(writer, "/api/roles/smith", {"label": "Smith", "translations": {}})


def test_a_translation_and_its_record_have_one_tag(writer: FlaskClient) -> None:
    writer.put("/api/roles/smith", json=ROLE, headers=FRESH)
    before = writer.get("/api/roles/smith").headers["ETag"]
    row = {"table": "roles", "id": "smith", "column": "definition", "language": "DE", "text": "Formt Stahl."}
    made = writer.post("/api/translations", json=row)
    assert (made.status_code, (made.json or {})["language"]) == (201, "de")
    assert made.headers["Location"].endswith("/api/translations/roles~smith~definition~de")
    late = writer.put("/api/roles/smith", json={"label": "S"}, headers={"If-Match": before})
    assert late.status_code == 412
    assert (late.json or {})["present"]["translations"]["de"] == {"definition": "Formt Stahl.", "label": "Schmied"}
    assert [one["column"] for one in (late.json or {})["differs"]] == ["label"]
    graph = Graph().parse(data=writer.get("/api/roles/smith?format=turtle").text, format="turtle")
    assert set(graph.objects(None, SKOS.definition)) == {Literal("Formt Stahl.", lang="de")}


def test_levels_of_a_scale_and_other_names_have_translations(writer: FlaskClient, graph: LiveGraph) -> None:
    levels = [{"rank": 1, "label": "Starts", "translations": {"de": {"label": "Beginnt", "description": "Mit Hilfe."}}}]
    assert writer.put("/api/scales/one", json={"id": "one", "levels": levels}, headers=FRESH).status_code == 201
    told = writer.get("/api/scales/one").json or {}
    assert told["levels"][0]["translations"] == levels[0]["translations"]
    rows = graph.get_snapshot().get_translations(("scales", "one~1"))
    assert [(row.column, row.language, row.text) for row in rows] == [
        ("description", "de", "Mit Hilfe."),
        ("label", "de", "Beginnt"),
    ]
    body = (writer.get("/api/competencies/valve").json or {}) | {"translations": {"de": {"alt_labels": ["b", "a|c"]}}}
    assert put(writer, "/api/competencies/valve", body)["translations"]["de"] == {"alt_labels": ["a|c", "b"]}
    assert writer.get("/api/translations/scales~one~1~label~de").status_code == 200


def test_removed_record_takes_its_translations_along(writer: FlaskClient, graph: LiveGraph) -> None:
    made = writer.put("/api/roles/smith", json=ROLE, headers=FRESH)
    assert writer.delete("/api/roles/smith", headers={"If-Match": made.headers["ETag"]}).status_code == 204
    assert graph.get_snapshot().get_translations(("roles", "smith")) == ()


@pytest.mark.parametrize(
    ("translations", "pointer"),
    [
        ([], "/translations"),
        ({"d e": {"label": "x"}}, "/translations/d e"),
        ({"de": "x"}, "/translations/de"),
        ({"de": {"id": "x"}}, "/translations/de/id"),
        ({"de": {"label": " "}}, "/translations/de/label"),
        ({"de": {"label": "x"}, "DE": {"label": "y"}}, "/translations/de"),
        ({"en": {"label": "x"}}, "/language"),
    ],
)
def test_a_wrong_translation_is_one_addressed_error(writer: FlaskClient, translations: Any, pointer: str) -> None:
    response = writer.put("/api/roles/smith", json=ROLE | {"translations": translations}, headers=FRESH)
    assert (response.status_code, [entry["pointer"] for entry in (response.json or {})["errors"]]) == (422, [pointer])
