"""What a learning path can be asked over HTTP and on the command line; the numbers are worked out by hand.

From p1 (pump 2) to the operator (pump 3, valve 2, licence): combined 27 h, or pump-3 20 h and valve-2 8 h; and the
licence 16 h.
"""

from __future__ import annotations

import json
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from flask.testing import FlaskClient
from rest_company import ON, ROWS

from api.http.answer_schemas import build_answer_schema
from api.questions import load_question
from api.terminal.program import program
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES

ADDRESS = "/api/people/p1/learning-path"
SCHEMA = build_answer_schema(load_question("learning-path"))()


def ask(client: FlaskClient, **parameters: str) -> dict[str, Any]:
    response = client.get(ADDRESS, query_string={"role": "operator", "on": ON} | parameters)
    assert response.status_code == 200, response.text
    answer = response.json
    assert isinstance(answer, dict)
    assert SCHEMA.validate(answer) == {}
    return answer


def get_ids(answer: dict[str, Any]) -> list[str]:
    return [course["id"] for course in answer["courses"]]


def test_the_plain_answer_shows_readiness_alternatives_and_confirmations(client: FlaskClient) -> None:
    answer = ask(client)
    assert get_ids(answer) == ["combined", "licence-course"]
    assert (answer["readiness_before"], answer["readiness_after"]) == (pytest.approx(2 / 9), 1)
    assert (answer["weeks"], answer["months"]) == (10.75, pytest.approx(43 / 4 * 12 / 52))
    (other,) = answer["alternatives"]
    assert (other["left_out"], other["added"]) == (["combined"], ["pump-3", "valve-2"])
    assert (other["more_hours"], other["more_cost"], other["more_coach_hours"]) == (1, -350, 2)
    assert answer["indispensable"] == ["licence-course"]
    # with the licence 27 h are left; with the valves pump-3 and the licence: 36 h
    assert [(row["competency"], row["saved_hours"]) for row in answer["assess_savings"]] == [
        ("licence", 16),
        ("valve", 7),
    ]
    assert {row["competency"]: (row["have"], row["reached_by"], row["state"]) for row in answer["requirements"]} == {
        "licence": (None, "licence-course", "reached"),
        "pump": (2, "combined", "reached"),
        "valve": (None, "combined", "reached"),
    }
    assert (answer["within_budget"], answer["budget"], answer["booked"], answer["lapses"]) == (None, None, [], [])


def test_a_budget_buys_the_largest_readiness(client: FlaskClient) -> None:
    answer = ask(client, max_hours="24")
    assert (get_ids(answer), answer["within_budget"]) == (["licence-course", "valve-2"], False)
    assert answer["readiness_after"] == pytest.approx(8 / 9)
    assert answer["budget"] == {
        "max_hours": 24,
        "max_cost": None,
        "needed_hours": 43,
        "needed_cost": 700,
        "left_hours": 0,
        "left_cost": None,
        "readiness_bound": answer["readiness_after"],
    }
    assert [row["competency"] for row in answer["requirements"] if row["state"] == "beyond-budget"] == ["pump"]
    assert ask(client, max_cost="350")["within_budget"] is True
    assert get_ids(ask(client, max_cost="350", max_hours="44")) == ["licence-course", "pump-3", "valve-2"]


def test_courses_can_be_excluded_or_booked(client: FlaskClient) -> None:
    without = ask(client, exclude="combined", minimise="weeks")
    assert (get_ids(without), without["lower_bound"]) == (["licence-course", "pump-3", "valve-2"], 11)
    booked = ask(client, already_booked="valve-2")
    assert (get_ids(booked), booked["study_hours"], booked["booked_hours"]) == (["licence-course", "pump-3"], 36, 8)
    assert (booked["order"], booked["booked_cost"]) == (["licence-course", "pump-3", "valve-2"], 50)
    assert [(row["id"], row["is_possible"], row["serves"]) for row in booked["booked"]] == [
        ("valve-2", True, ["valve"])
    ]


def test_no_alternatives_where_none_are_asked_for(client: FlaskClient) -> None:
    assert ask(client, alternatives="0")["alternatives"] is None
    assert len(ask(client, alternatives="5")["alternatives"]) == 1


def test_a_roles_profile_can_ask_the_same(client: FlaskClient) -> None:
    address = "/api/roles/operator/learning-path"
    answer = client.get(address, query_string={"from": "helper", "max_hours": "16", "exclude": "valve-2"}).json or {}
    assert (answer["from_role"], get_ids(answer), answer["within_budget"]) == ("helper", ["licence-course"], False)


def test_a_picture_leaves_excluded_courses_out(client: FlaskClient) -> None:
    def draw(**more: str) -> str:
        query = {"role": "operator", "on": ON, "format": "dot", "minimise": "weeks"} | more
        response = client.get(ADDRESS + "/diagram", query_string=query)
        assert response.status_code == 200, response.text
        return response.text

    assert '"course/combined"' in draw()
    assert '"course/combined"' not in draw(exclude="combined")


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wishes") / "store"
    records = {name: [TABLES[name].build(**row) for row in rows] for name, rows in ROWS.items()}
    with closing(LiveGraph.open(folder, create=True)) as graph:
        graph.load(records, who="test", why="the company")
    return folder


def run(store: Path, *words: str, code: int = 0) -> str:
    call = ["learning-path", "p1", "operator", "--on", ON, "--store", str(store), *words]
    result = CliRunner().invoke(program, call, prog_name="newel")
    assert result.exit_code == code, result.output
    return result.output


def test_the_command_line_prints_the_same(client: FlaskClient, store: Path) -> None:
    words = ["--max-hours", "24", "--already-booked", "pump-3", "--exclude", "combined", "--minimise", "cost"]
    told = json.loads(run(store, *words, "--json"))
    answer = ask(client, max_hours="24", already_booked="pump-3", exclude="combined", minimise="cost")
    assert {name: value for name, value in told.items() if name != "revision"} == {
        name: value for name, value in answer.items() if name != "revision"
    }


def test_tables_show_budget_bookings_alternatives_and_confirmations(store: Path) -> None:
    plain = run(store)
    assert "would save 16 h" in plain
    assert "No path does without: Licence" in plain
    assert "-350" in plain
    bought = " ".join(run(store, "--max-hours", "24").split())
    assert "The budget of 24 h does not pay for the whole path (43 h and 700 of cost)." in bought
    assert "Beyond the budget: Pump operation at level 3; level 2 is reached." in bought
    booked = run(store, "--already-booked", "valve-2", "--max-cost", "1000")
    rows = [line.split() for line in booked.splitlines()]
    assert [row[2] for row in rows if row[1:2] == ["Valves"]] == ["yes"]
    assert [row[row.index("job") + 1] for row in rows if row[1:5] == ["Pumps", "on", "the", "job"]] == ["no"]
    assert "Booked already, not counted above: 8 h, cost 50." in booked
    assert "Within the budget of 1,000 of cost." in booked


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["--exclude", "nothing"], 1),
        (["--exclude", "valve-2", "--already-booked", "valve-2"], 2),
        (["--max-hours", "-1"], 2),
        (["--alternatives", "9"], 2),
    ],
)
def test_wrong_wishes_end_with_a_message(store: Path, words: list[str], code: int) -> None:
    assert run(store, *words, code=code)


def test_a_desirable_requirement_never_assessed_is_unknown_and_no_target(writer: FlaskClient) -> None:
    # p1's valves are rated by p1 alone, which never counts
    made = writer.post(
        "/api/requirements", json={"role": "helper", "competency": "valve", "level": 1, "necessity": "desirable"}
    )
    assert made.status_code == 201, made.text
    answer = writer.get(ADDRESS, query_string={"role": "helper", "on": ON}).json or {}
    (row,) = [row for row in answer["requirements"] if row["competency"] == "valve"]
    assert (row["have"], row["state"], row["is_target"]) == (None, "not-asked", False)
    assert (answer["assess_first"], answer["assess_savings"]) == ([], [])
