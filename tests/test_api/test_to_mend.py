"""What is to mend over the API, on its page and on the command line."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from flask.testing import FlaskClient
from small_company import build_competencies, build_scale, build_snapshot

from api.desk.names import Names
from api.questions.framework._to_mend_record import gather_findings
from api.terminal.program import program
from ontology.checks.broken_rules import RuleFinding
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES


def test_every_row_says_what_to_do_and_where(client: FlaskClient) -> None:
    answer = client.get("/api/to-mend").json
    assert answer is not None
    assert answer["rows_total"] == len(answer["rows"]) > 5
    assert sum(rule["rows"] for rule in answer["rules"]) == answer["rows_total"]
    for row in answer["rows"]:
        assert row["mend"]["words"]
        assert client.get(row["mend"]["address"]).status_code == 200, row
    page = client.get("/to-mend").text
    for row in answer["rows"][:100]:
        assert f'href="{row["mend"]["address"]}"'.replace("&", "&amp;") in page


def test_rule_and_table_narrow_it(client: FlaskClient) -> None:
    whole = client.get("/api/to-mend").json
    assert whole is not None
    for name in ("rule", "table"):
        for value in {row[name] for row in whole["rows"]}:
            part = client.get("/api/to-mend", query_string={name: value}).json
            assert part is not None
            assert part["rows"] == [row for row in whole["rows"] if row[name] == value]
    both = client.get("/api/to-mend", query_string={"rule": "too few, too many"}).json
    assert both is not None
    assert {row["rule"] for row in both["rows"]} <= {"too few", "too many"}
    cut = client.get("/api/to-mend?limit=2").json
    assert cut is not None
    assert (len(cut["rows"]), cut["rows_total"]) == (2, whole["rows_total"])


@pytest.mark.parametrize(
    ("asked", "parameter"),
    [
        ("rule=nonsense", "rule"),
        ("table=nonsense", "table"),
        ("fewest=9&most=3", "fewest"),
        ("least_people=4", "least_people"),
        ("labels_alike=101", "labels_alike"),
        ("words=odd", "words"),
    ],
)
def test_what_is_asked_wrongly_is_named(client: FlaskClient, asked: str, parameter: str) -> None:
    response = client.get(f"/api/to-mend?{asked}")
    assert response.status_code == 422
    assert response.json is not None
    assert [one["parameter"] for one in response.json["errors"]] == [parameter]


def test_a_finding_is_among_it_under_its_own_name(graph: LiveGraph, writer: FlaskClient) -> None:
    course = TABLES["courses"].build(id="idle", label="Idle", hours=1.0)
    graph.apply(Change(put=(("courses", course),)), who="Ada", why="a test")
    answer = writer.get("/api/to-mend?rule=findings&table=courses").json
    assert answer is not None
    (row,) = answer["rows"]
    assert (row["rule"], row["id"], row["mend"]["address"]) == ("course without outcomes", "idle", "/edit/courses/idle")


def test_labels_that_are_alike_are_marked_as_different_where_the_row_says(
    graph: LiveGraph, writer: FlaskClient
) -> None:
    pump = graph.get_snapshot().competencies["pump"]
    graph.apply(Change(put=(("competencies", replace(pump, id="pump-2")),)), who="Ada", why="a test")
    asked = "/api/to-mend?rule=near-duplicate labels"
    (row,) = writer.get(asked).json["rows"]  # type: ignore[index]
    assert (row["id"], row["other"]) == ("pump", "pump-2")
    form = writer.get(row["mend"]["address"]).text
    assert 'value="https://newel.example/id/competency/pump-2"' in form
    target = "https://newel.example/id/competency/pump-2"
    marked = TABLES["mappings"].build(competency="pump", target=target, relation="different")
    graph.apply(Change(put=(("mappings", marked),)), who="Ada", why="a test")
    assert writer.get(asked).json["rows"] == []  # type: ignore[index]


def test_of_few_people_no_finding_tells_the_number() -> None:
    broken = [
        RuleFinding("remark", "retired", "competencies", "a", "", "", f"retired, though {told} in it; say what did")
        for told in ("1 person was assessed", "4 people were assessed", "5 people were assessed")
    ]
    snapshot = build_snapshot(scales=build_scale(), competencies=build_competencies("a"))
    reasons = [fault.reason for fault in gather_findings(broken, Names(snapshot), 5)]
    assert reasons == [
        *["Retired, though under 5 people were assessed in it; say what did."] * 2,
        "Retired, though 5 people were assessed in it; say what did.",
    ]


def test_word_lists_of_a_folder_take_the_place_of_ours(tmp_path: Path) -> None:
    graph = LiveGraph.open(tmp_path / "store", create=True)
    role = TABLES["roles"].build(id="r", label="R", definition="Is at the pump whenever somebody asks.")
    graph.apply(Change(put=(("roles", role),)), who="Ada", why="a test")
    graph.close()
    (tmp_path / "vague.en.txt").write_text("pump\n", "utf-8")
    (tmp_path / "acts.en.txt").write_text("walks\n", "utf-8")
    asked = ["to-mend", "--rule", "no observable act", "--store", str(tmp_path / "store")]
    ours = CliRunner().invoke(program, asked)
    assert "Nothing is to mend." in ours.output
    theirs = CliRunner().invoke(program, [*asked, "--words", str(tmp_path)])
    assert "1 thing is to mend. First: R, no observable act." in theirs.output
    wrong = CliRunner().invoke(program, [*asked, "--words", str(tmp_path / "none")])
    assert wrong.exit_code == 2
    assert "cannot be read" in wrong.output
