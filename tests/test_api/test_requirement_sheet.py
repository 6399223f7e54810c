"""All that a role asks in one sheet: stored in one commit or not at all."""

from __future__ import annotations

from flask.testing import FlaskClient
from html_forms import find_form, list_links

from ontology.live.live_graph import LiveGraph

SHEET = "/edit/roles/operator/requirements"


def read(writer: FlaskClient) -> dict[str, str]:
    page = writer.get(SHEET)
    assert page.status_code == 200, page.text
    return find_form(page.text).fields


def find_row(fields: dict[str, str], competency: str) -> str:
    """Return the number of the row that asks for a competency."""
    return next(name.partition(".")[0] for name, text in fields.items() if text == competency)


def levels(graph: LiveGraph) -> dict[str, int]:
    return {row.competency: row.level for row in graph.get_snapshot().get_requirements("operator")}


def test_a_sheet_that_comes_back_as_it_was_changes_nothing(writer: FlaskClient, graph: LiveGraph) -> None:
    before = graph.get_snapshot()
    response = writer.post(SHEET, data=read(writer))
    assert (response.status_code, response.headers["Location"]) == (303, "/roles/operator#stored")
    assert graph.get_snapshot().revision == before.revision


def test_a_row_more_one_less_and_one_changed_are_one_commit(writer: FlaskClient, graph: LiveGraph) -> None:
    before, fields, held = graph.get_snapshot().revision, read(writer), levels(graph)
    assert {"pump", "valve", "licence"} <= set(held)
    pump, valve, new = find_row(fields, "pump"), find_row(fields, "valve"), str(len(held))
    typed = {f"{pump}.weight": "4.5", f"{valve}.gone": "yes", f"{new}.competency": "Unknown", f"{new}.level": "1"}
    refused = writer.post(SHEET, data=fields | typed | {"why": "Fewer valves."})
    assert refused.status_code == 422
    assert graph.get_snapshot().revision == before
    again = find_form(refused.text).fields
    assert {name: again[name] for name in typed} == typed
    assert (again["why"], f"#field-{new}-competency" in list_links(refused.text)) == ("Fewer valves.", True)
    response = writer.post(SHEET, data=again | {f"{new}.competency": "", f"{new}.level": ""})
    assert response.status_code == 303, response.text
    after = graph.get_snapshot()
    assert after.revision == before + 1
    assert set(levels(graph)) == set(held) - {"valve"}
    assert after.get_record("requirements", ("operator", "pump")).weight == 4.5
    fields = read(writer)
    number = str(len(held) - 1)
    # the name of one competency stands for its id
    typed = {f"{number}.competency": after.competencies["valve"].label, f"{number}.level": "2"}
    assert writer.post(SHEET, data=fields | typed).status_code == 303
    assert levels(graph) == held | {"valve": 2}


def test_a_wrong_cell_is_told_at_its_cell_and_nothing_is_stored(writer: FlaskClient, graph: LiveGraph) -> None:
    before, fields = graph.get_snapshot(), read(writer)
    pump, valve = find_row(fields, "pump"), find_row(fields, "valve")
    refused = writer.post(SHEET, data=fields | {f"{pump}.weight": "7", f"{valve}.weight": "2"})
    assert refused.status_code == 422
    assert "Must be at most 5" in refused.text
    assert f"#field-{pump}-weight" in list_links(refused.text)
    refused = writer.post(SHEET, data=fields | {f"{pump}.level": "1", f"{pump}.entry_level": "2"})
    assert f"#field-{pump}-entry_level" in list_links(refused.text)
    assert graph.get_snapshot() is before


def test_two_rows_of_one_competency_and_unknown_fields_are_refused(writer: FlaskClient, graph: LiveGraph) -> None:
    before, fields = graph.get_snapshot(), read(writer)
    new = str(len(levels(graph)))
    twice = writer.post(SHEET, data=fields | {f"{new}.competency": "pump", f"{new}.level": "1"})
    assert (twice.status_code, "Stands there twice" in twice.text) == (422, True)
    for name in (f"{find_row(fields, 'pump')}.secret", "secret"):
        refused = writer.post(SHEET, data=fields | {name: "x"})
        assert (refused.status_code, "not known" in refused.text) == (422, True), refused.text
    assert graph.get_snapshot() is before


def test_a_conflict_shows_the_cells_that_differ_and_mine_can_be_taken_over(
    writer: FlaskClient, graph: LiveGraph
) -> None:
    fields = read(writer)
    pump = find_row(fields, "pump")
    body = {"role": "operator", "competency": "pump", "level": 3, "weight": 2}
    assert writer.put("/api/requirements/operator~pump", json=body, headers={"If-Match": "*"}).status_code == 200
    clash = writer.post(SHEET, data=fields | {f"{pump}.weight": "4"})
    assert clash.status_code == 412
    assert "Pump operation: Weight" in clash.text
    assert "Valve" not in clash.text.partition("<main")[2].partition("<form")[0]
    assert writer.post(SHEET, data=find_form(clash.text).fields).status_code == 303
    assert graph.get_snapshot().get_record("requirements", ("operator", "pump")).weight == 4


def test_a_sheet_of_no_role_is_404_and_without_its_state_428(writer: FlaskClient) -> None:
    assert writer.get("/edit/roles/nobody/requirements").status_code == 404
    assert writer.post(SHEET, data={"0.competency": "pump"}).status_code == 428
