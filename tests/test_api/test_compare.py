"""Two states compared at every face: REST, page, workbook, picture, command; states, and files beside them."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from flask.testing import FlaskClient
from rest_company import build_company

from api.access.actor import LOCAL_OWNER, Actor
from api.access.sight import Sight
from api.app import create_app
from api.desk.desk import Desk
from api.desk.parameters import parse_asked
from api.desk.question import COMPANY, Subject
from api.desk.states import NOW, State, StateAsked
from api.questions import load_question
from api.settings import Settings
from api.terminal.program import program
from loaders.tables.csv_folder import load_csv_folder
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES

RENAMED = "renamed from Valve work to Valves and gates"


@pytest.fixture(scope="module")
def graph() -> LiveGraph:
    """The small company, then edits in three commits: a label, a level and what is asked no more, a course gone."""
    graph = build_company()
    valve = TABLES["competencies"].build(id="valve", label="Valves and gates", scale="craft", broader=("pump",))
    asked = TABLES["requirements"].build(role="operator", competency="pump", level=4)
    for put, remove in (
        ((("competencies", valve),), ()),
        ((("requirements", asked),), (("requirements", ("chief", "valve")),)),
        ((("roles", TABLES["roles"].build(id="boss", label="Boss", family="office")),), ()),
    ):
        graph.apply(Change(put=put, remove=remove), who="t", why="an edit")
    return graph


@pytest.fixture(scope="module")
def client(graph: LiveGraph) -> FlaskClient:
    return create_app(graph).test_client()


def compare(client: FlaskClient, asked: str) -> dict[str, Any]:
    answer = client.get(f"/api/compare?{asked}")
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json or {}
    return found


def test_an_answer_tells_both_states_and_every_row(client: FlaskClient) -> None:
    found = compare(client, "from=1")
    assert {"from", "to", "match", "tables", "rows", "rows_total", "identities", "suggestions"} <= found.keys()
    assert (found["from"]["text"], found["from"]["kind"], found["from"]["revision"]) == ("1", "revision", 1)
    assert (found["to"]["text"], found["to"]["kind"], found["to"]["revision"]) == ("now", "now", 4)
    assert found["from"]["counts"]["requirements"] == 8
    assert "people" not in found["from"]["counts"]
    told = [(row["table"], row["id"], row["change"], row["words"]) for row in found["rows"]]
    assert told == [
        (
            "competencies",
            "valve",
            "changed",
            "renamed from Valve work to Valves and gates; other names: no longer Schieber",
        ),
        ("roles", "boss", "added", "Boss: role added"),
        ("requirements", "chief~valve", "removed", "Chief no longer asks Valve work"),
        ("requirements", "operator~pump", "changed", "full level of Pump operation for Operator raised from 3 to 4"),
    ]
    label, others = found["rows"][0]["columns"]
    assert (label["column"], label["from"], label["to"]) == ("label", "Valve work", "Valves and gates")
    assert (others["column"], others["gone"], others["new"]) == ("alt_labels", ["Schieber"], [])
    stated = {one["column"]: one["stated"] for one in found["rows"][3]["columns"]}
    assert stated == {"level": True, "entry_level": False, "unsupervised_level": False}


def test_rows_come_in_pages_and_of_one_table(client: FlaskClient) -> None:
    whole = compare(client, "from=1")["rows"]
    pages = [compare(client, f"from=1&page_size=3&page={page}") for page in (1, 2, 3)]
    assert [row for page in pages for row in page["rows"]] == whole
    assert {page["rows_total"] for page in pages} == {4}
    of_table = compare(client, "from=1&table=requirements")
    assert of_table["rows"] == whole[2:]
    assert of_table["rows_total"] == 2


@pytest.mark.parametrize(
    ("asked", "parameter"),
    [
        ("", "from"),
        ("from=9", "from"),
        ("from=1&to=9", "to"),
        ("from=1&to=draft:x", "to"),
        ("from=2999-01-01", "from"),
        ("from=1&match=labels", "match"),
        ("from=1&table=people", "table"),
        ("from=1&page_size=100000", "page_size"),
    ],
)
def test_what_cannot_be_compared_is_refused_by_its_parameter(client: FlaskClient, asked: str, parameter: str) -> None:
    answer = client.get(f"/api/compare?{asked}")
    assert answer.status_code == 422
    assert (answer.json or {})["parameter"] == parameter
    page = client.get(f"/compare?{asked}")
    assert page.status_code == (200 if not asked else 422)


def test_the_answer_of_a_past_pair_stays_and_now_goes_on(graph: LiveGraph, client: FlaskClient) -> None:
    tags = {asked: client.get(f"/api/compare?{asked}").headers["ETag"] for asked in ("from=1&to=2", "from=1&to=3")}
    assert len(set(tags.values())) == 2
    assert compare(client, "from=1&to=2")["rows_total"] == 1
    assert compare(client, "from=2&to=1")["rows"][0]["columns"][0]["to"] == "Valve work"


def test_asked_of_a_past_state_now_is_that_state(client: FlaskClient) -> None:
    found = compare(client, "from=1&as_of=2")
    assert found["to"]["revision"] == 2
    assert found["rows_total"] == 1


def test_a_page_leads_to_what_is_there_and_to_more_rows(client: FlaskClient) -> None:
    page = client.get("/compare?from=1&page_size=3").text
    assert "2 changed" in page
    assert 'href="/roles/boss"' in page
    assert "page=2" in page
    assert "Chief no longer asks" in page
    last = client.get("/compare?from=1&page_size=3&page=2").text
    assert ("The next rows" in page, "The rows before" in page) == (True, False)
    assert ("The next rows" in last, "The rows before" in last) == (False, True)
    assert "Nothing differs" in client.get("/compare?from=now").text


def test_a_workbook_has_a_sheet_a_table_with_all_rows_and_one_of_suggestions(client: FlaskClient) -> None:
    content = client.get("/api/compare?from=1&page_size=1&format=xlsx").data
    book = openpyxl.load_workbook(io.BytesIO(content))
    assert {"competencies", "roles", "requirements", "Table by table", "Answer"} <= set(book.sheetnames)
    rows = list(book["requirements"].values)
    assert rows[0][:4] == ("id", "id before", "record", "change")
    assert [row[4] for row in rows[1:]] == [None, "level", "entry_level", "unsupervised_level"]
    assert "What may have become of what" in book.sheetnames


def test_a_picture_tells_the_parts(client: FlaskClient) -> None:
    text = client.get("/api/compare/diagram?from=1&format=dot").text
    assert "Roles: plant" in text
    assert "1 added, 1 removed, 2 changed" in text


def test_a_command_compares_files_without_a_store(tmp_path: Path) -> None:
    write_folder(tmp_path / "old", "Pump operation")
    write_folder(tmp_path / "new", "Running pumps")
    words = ["compare", str(tmp_path / "old"), str(tmp_path / "new"), "--store", str(tmp_path / "none"), "--json"]
    ran = CliRunner().invoke(program, words)
    assert ran.exit_code == 0, ran.output
    found = json.loads(ran.output)
    assert found["from"]["kind"] == found["to"]["kind"] == "file"
    assert [row["words"] for row in found["rows"]] == ["renamed from Pump operation to Running pumps"]
    assert [one["table"] for one in found["tables"]] == ["scales", "competencies"]


def test_a_file_against_a_state_speaks_of_the_tables_it_holds(tmp_path: Path) -> None:
    write_folder(tmp_path / "new", "Running pumps")
    store = tmp_path / "store"
    graph = LiveGraph.open(store, create=True)
    company = build_company().get_snapshot()
    graph.load({name: list(company.get_table(name).values()) for name in TABLES}, who="t", why="all")
    graph.close()
    words = ["compare", "now", str(tmp_path / "new"), "--store", str(store), "--json"]
    found = json.loads(CliRunner().invoke(program, words).output)
    assert [one["table"] for one in found["tables"]] == ["scales", "competencies"]
    assert {(row["id"], row["change"]) for row in found["rows"] if row["table"] == "competencies"} == {
        ("licence", "removed"),
        ("valve", "removed"),
        ("pump", "changed"),
    }


def test_rows_of_a_file_with_errors_are_left_out_and_counted(tmp_path: Path) -> None:
    write_folder(tmp_path / "old", "Pump operation")
    (tmp_path / "old" / "scales.csv").write_text("scale,rank,label\ncraft,first,Level 1\ncraft,1,Level 1\n")
    words = ["compare", str(tmp_path / "old"), str(tmp_path / "old")]
    ran = CliRunner().invoke(program, words)
    assert ran.exit_code == 0, ran.output
    assert "1 row with errors is left out" in ran.output
    told = json.loads(CliRunner().invoke(program, [*words, "--json"]).output)
    assert (told["from"]["left_out"], told["from"]["counts"]["scales"]) == (1, 1)


def write_folder(folder: Path, label: str) -> None:
    """Write a framework of one scale and one competency."""
    folder.mkdir()
    tables = {
        "scales": [("scale", "rank", "label"), *(("craft", rank, f"Level {rank}") for rank in range(1, 6))],
        "competencies": [("id", "label", "scale"), ("pump", label, "craft")],
    }
    for name, rows in tables.items():
        with (folder / f"{name}.csv").open("w", newline="") as file:
            csv.writer(file).writerows(rows)
    assert not load_csv_folder(folder).findings


def test_who_may_not_see_a_person_or_a_need_is_told_of_neither(graph: LiveGraph) -> None:
    reader = Actor(account=1)

    class ReaderDesk(Desk):
        def get_state(self, asked: StateAsked = NOW) -> State:
            whole = super().get_state(asked)
            return whole.see(Sight(reader, graph.get_snapshot(), whole.today))

    question = load_question("compare")
    found = {}
    for desk, actor in ((Desk(graph, Settings()), LOCAL_OWNER), (ReaderDesk(graph, Settings()), reader)):
        state = desk.get_state()
        asked = parse_asked(question.asks[COMPANY], {"from": "0", "to": "1"})
        found[actor] = desk.ask(actor, state, question, Subject(COMPANY), asked).record
    whole, seen = found[LOCAL_OWNER], found[reader]
    owners = [[c.get("to") for row in one.rows for c in row.columns if c["column"] == "owner"] for one in (whole, seen)]
    assert "p2" in owners[0]
    assert "p2" not in owners[1]
    assert {row.table for row in whole.rows} - {row.table for row in seen.rows} >= {"cover_needs", "places"}
    assert {row.id for row in seen.rows if row.table == "roles"} == {"helper", "operator", "senior", "chief"}
