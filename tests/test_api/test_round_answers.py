"""Rounds of assessments and agreement between assessors over REST, as pages and commands."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from flask.testing import FlaskClient
from small_company import build_competencies, build_scale

from api.app import create_app
from api.terminal.program import program
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES

DAY = date(2026, 11, 24)
ROWS: dict[str, list[dict[str, Any]]] = {
    "scales": build_scale(n=3),
    "competencies": build_competencies("weld", assessment_hours=2.0, safety=True) + build_competencies("log"),
    "roles": [{"id": "welder", "label": "Welder"}],
    "requirements": [{"role": "welder", "competency": i, "level": 2} for i in ("weld", "log")],
    "teams": [{"id": "works", "label": "Works"}],
    "people": [
        {"id": "p1", "name": "Ada Example", "team": "works", "role": "welder"},
        {"id": "p2", "name": "Ben Example", "team": "works", "role": "welder"},
        {"id": "q1", "name": "Cleo Example"},
        {"id": "q2", "name": "Dan Example"},
    ],
    "assessors": [
        {"person": "q1", "competencies": ("log", "weld"), "hours_per_round": 5.0},
        {"person": "q2", "competencies": ("weld",), "hours_per_round": 2.0},
    ],
    "assessments": [
        {"person": "p2", "competency": "weld", "level": level, "date": DAY, "source": "assessor", "assessor": assessor}
        for assessor, level in (("q1", 1), ("q2", 3))
    ],
}


def build_graph(graph: LiveGraph) -> LiveGraph:
    records = {name: [TABLES[name].build(**row) for row in rows] for name, rows in ROWS.items()}
    graph.load(records, who="test", why="a round")
    return graph


@pytest.fixture(scope="module")
def asker() -> FlaskClient:
    return create_app(build_graph(LiveGraph.in_memory())).test_client()


def test_a_round_is_told_with_who_sees_whom_what_is_left_out_and_its_loads(asker: FlaskClient) -> None:
    reply = asker.get("/api/assessment-round?on=2026-11-24&by=2026-12-01")
    assert reply.status_code == 200, reply.text
    told = reply.get_json()
    assert (told["status"], told["rows"], told["unserved"], told["missing"]) == ("optimal", 3, 0, 0)
    assert (told["largest_load_minutes"], told["pairs"], told["lower_bound"]) == (240, 3, None)
    assert [(row["person"], row["competency"], row["assessor"], row["minutes"]) for row in told["assignment"]] == [
        ("p1", "log", "q1", 60),
        ("p1", "weld", "q1", 120),
        ("p1", "weld", "q2", 120),
        ("p2", "log", "q1", 60),
    ]
    assert {(row["reason"], row["by"]) for row in told["assignment"]} == {("not-assessed", "2026-12-01")}
    assert told["left_out"] == []
    assert [(row["assessor"], row["minutes"]) for row in told["loads"]] == [("q1", 240), ("q2", 120)]
    assert any("two can be wrong alike" in caution for caution in told["cautions"])


def test_two_for_all_leaves_out_what_only_one_may_assess(asker: FlaskClient) -> None:
    told = asker.get("/api/assessment-round?on=2026-11-24&double=all").get_json()
    assert [(row["person"], row["competency"], row["missing"], row["due"]) for row in told["left_out"]] == [
        ("p1", "log", 1, "not-assessed"),
        ("p2", "log", 1, "not-assessed"),
    ]
    assert told["left_out"][0]["reason"] == "two are wanted, and only q1 may assess it"


def test_agreement_is_told_by_competency_and_hides_few_pairs(asker: FlaskClient) -> None:
    told = asker.get("/api/assessor-agreement?from=2026-11-01&until=2026-11-30").get_json()
    (row,) = told["competencies"]
    assert (row["competency"], row["targets"], row["pairs"], row["is_hidden"]) == ("weld", 1, 1, True)
    assert [row[name] for name in ("exact_share", "kappa", "icc", "icc_two_way")] == [None] * 4
    (again,) = told["disagreements"]
    assert (again["person"], again["competency"], again["levels"]) == ("p2", "weld", [1, 3])
    assert "third assessor" in again["to_do"]
    assert "q1" not in json.dumps(told)  # who rated how is told nowhere
    assert any("two can be wrong alike" in caution for caution in told["cautions"])


@pytest.mark.parametrize(
    ("address", "parameter"),
    [
        ("assessment-round?by=soon", "by"),
        ("assessment-round?on=2026-11-24&by=2026-11-23", "by"),
        ("assessment-round?team=nowhere", "team"),
        ("assessment-round?older_than_months=-1", "older_than_months"),
        ("assessment-round?older_than_months=1.5", "older_than_months"),
        ("assessment-round?double=three", "double"),
        ("assessment-round?time_limit=0", "time_limit"),
        ("assessment-round?competency=weld", "competency"),
        ("assessor-agreement?from=2026-11-01", "until"),
        ("assessor-agreement?until=2026-11-01", "from"),
        ("assessor-agreement?from=2026-11-02&until=2026-11-01", "until"),
        ("assessor-agreement?from=2026-02-30&until=2026-11-01", "from"),
        ("assessor-agreement?from=2026-01-01&until=2026-11-01&on=2026-01-01", "on"),
    ],
)
def test_what_is_wrong_is_told_by_its_parameter(asker: FlaskClient, address: str, parameter: str) -> None:
    reply = asker.get(f"/api/{address}")
    assert (reply.status_code, reply.mimetype) == (422, "application/problem+json")
    assert [error["parameter"] for error in reply.get_json()["errors"]] == [parameter]


def test_pages_name_people_and_say_what_to_do(asker: FlaskClient) -> None:
    page = asker.get("/assessment-round?on=2026-11-24").get_data(as_text=True)
    assert "Cleo Example" in page
    assert "3 levels are to be assessed; each has an assessor; 3 interviews." in page
    page = asker.get("/assessor-agreement?from=2026-11-01&until=2026-11-30").get_data(as_text=True)
    assert "1 pair of ratings; 1 is to be seen together again." in page
    assert "Ben Example" in page


def test_both_are_commands(tmp_path: Path) -> None:
    store = tmp_path / "store"
    build_graph(LiveGraph.open(store, create=True)).close()
    for words, expected in (
        (("assessment-round", "--on", "2026-11-24", "--by", "2026-12-01"), "Cleo Example"),
        (("assessor-agreement", "--from", "2026-11-01", "--until", "2026-11-30"), "Ben Example"),
    ):
        result = CliRunner().invoke(program, [*words, "--store", str(store)])
        assert result.exit_code == 0, result.output
        assert expected in result.output
