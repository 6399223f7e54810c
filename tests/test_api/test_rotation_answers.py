"""Rotation and what staffing says of those who leave, through the REST API and the command line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from flask.testing import FlaskClient

from api.terminal.program import program

SCENARIO = Path(__file__).resolve().parents[2] / "data" / "water_utility"
ROTATION = "/api/teams/works/rotation?on=2026-11-24&"
STAFFING = "/api/teams/works/staffing?on=2026-11-24&"
DAY = ["--on", "2026-11-24"]


def get(client: FlaskClient, address: str) -> dict[str, Any]:
    response = client.get(address)
    assert response.status_code == 200, response.text
    answer: dict[str, Any] = response.get_json()
    return answer


def test_rotation_holds_a_row_for_every_interval_and_post(client: FlaskClient) -> None:
    answer = get(client, ROTATION + "purpose=relieve-strain&intervals=2&interval_weeks=2")
    assert (answer["status"], answer["moves"], answer["largest_strain"]) == ("optimal", 0, 6)
    assert [(row["interval"], row["start"], row["end"], row["person"]) for row in answer["rows"]] == [
        (1, "2026-11-24", "2026-12-07", "p2"),
        (2, "2026-12-08", "2026-12-21", "p2"),
    ]
    assert {row["person"]: row["not_there"] for row in answer["people"]} == {"p1": [], "p2": [], "p3": [1]}
    assert any("no roster" in caution for caution in answer["cautions"])


def test_rotation_until_a_day_and_from_a_day(client: FlaskClient) -> None:
    answer = get(client, ROTATION + "purpose=learn&from=2027-01-01&until=2027-02-10")
    assert (answer["start"], answer["end"], len(answer["intervals"])) == ("2027-01-01", "2027-02-10", 2)


def test_rotation_without_able_people_says_why(client: FlaskClient) -> None:
    answer = get(client, ROTATION + "purpose=learn&intervals=1&away=p2")
    assert (answer["status"], answer["rows"], answer["away"]) == ("infeasible", [], ["p2"])
    (reason,) = answer["reasons"]
    assert (reason["rule"], reason["interval"], reason["places"], reason["not_there"]) == (
        "able-people",
        1,
        ["desk"],
        ["p2"],
    )


def test_certificate_that_lapses_in_the_period_ends_the_rotation_unless_renewed(client: FlaskClient) -> None:
    """p2's licence is valid until 2028-06-30."""
    late = ROTATION + "purpose=relieve-strain&from=2028-06-01&intervals=2"
    lapsed = get(client, late)["reasons"]
    assert [(row["interval"], row["lapsed"]) for row in lapsed] == [
        (2, [{"person": "p2", "competency": "licence"}]),
    ]
    assert get(client, late + "&renewals=yes")["status"] == "optimal"


def test_learner_without_the_blocking_certificate_may_not_begin(client: FlaskClient) -> None:
    answer = get(client, ROTATION + "purpose=learn&learners=p1:desk&intervals=2&practice=2")
    assert answer["status"] == "infeasible"
    assert [(row["rule"], row["people"], row["places"]) for row in answer["reasons"]] == [
        ("practice", ["p1"], ["desk"])
    ]
    assert answer["learners"] == [{"person": "p1", "place": "desk", "wanted": 2, "intervals": [], "beside": []}]


@pytest.mark.parametrize(
    ("query", "word"),
    [
        ("", "purpose"),
        ("purpose=fun", "purpose"),
        ("purpose=learn&intervals=0", "intervals"),
        ("purpose=learn&intervals=61", "intervals"),
        ("purpose=learn&interval_weeks=0", "interval_weeks"),
        ("purpose=learn&learners=p1:", "learners"),
        ("purpose=learn&learners=:desk", "learners"),
        ("purpose=learn&learners=p1:desk:x", "learners"),
        ("purpose=learn&learners=nobody", "learners"),
        ("purpose=learn&people=nobody", "people"),
        ("purpose=learn&renewals=perhaps", "renewals"),
        ("purpose=learn&from=soon", "from"),
        ("purpose=learn&intervals=3&until=2027-03-01", "not both"),
        ("purpose=learn&until=2026-01-01", "before it starts"),
        ("purpose=learn&from=9999-12-01", "beyond the calendar"),
        ("purpose=learn&learners=p1:nowhere", "nowhere"),
        ("purpose=learn&minimum_stay=3&maximum_stay=2", "maximum stay"),
    ],
)
def test_wrong_question_is_told(client: FlaskClient, query: str, word: str) -> None:
    response = client.get(ROTATION + query)
    assert response.status_code == 422
    assert word in response.text


def test_staffing_tells_what_the_team_stands_without_those_who_leave(client: FlaskClient) -> None:
    now = get(client, STAFFING)
    assert (now["leaving"], now["after_leaving"]) == ([], None)
    assert (now["only_one_can"], now["cannot_be_spared"]) == (
        [{"place": "desk", "shift": None, "person": "p2"}],
        ["p2"],
    )
    then = get(client, STAFFING + "leaving=p2")
    assert then["tolerance"] == now["tolerance"]
    after = then["after_leaving"]
    assert (after["filled"], after["tolerance"]["places"]) == (0, None)
    assert {row["kind"] for row in after["tolerance"]["broken"]} == {"place", "need"}
    assert now["triples_breaking"] == {"breaking": 1, "triples": 1, "share": 1.0}
    assert (now["pairs_breaking"]["breaking"], now["pairs_breaking"]["pairs"]) == (2, 3), "p1 and p3 can both be away"
    assert now["pairs_breaking"]["share"] == pytest.approx(2 / 3)


def test_staffing_offers_who_is_closest_to_an_empty_place(client: FlaskClient) -> None:
    answer = get(client, STAFFING + "away=p2")
    (row,) = answer["closest"]
    assert (row["place"], row["person"], row["gap"]) == ("desk", "p1", 1 + 2 + 1)
    assert [part["competency"] for part in row["missing"]] == ["licence", "pump", "valve"]


def test_staffing_refuses_unknown_leavers(client: FlaskClient) -> None:
    response = client.get(STAFFING + "leaving=nobody")
    assert response.status_code == 422
    assert "leaving" in response.text


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = str(tmp_path_factory.mktemp("rotation") / "store")
    assert CliRunner().invoke(program, ["load", str(SCENARIO), "--store", folder]).exit_code == 0
    return folder


def run(store: str, *words: str) -> str:
    result = CliRunner().invoke(program, [*words, *DAY, "--store", store])
    assert result.exit_code == 0, result.output
    return result.stdout


def test_command_prints_rotation_as_tables_and_as_json(store: str) -> None:
    words = ["rotation", "laboratory", "--purpose", "keep-current", "--practice", "3", "--renewals"]
    printed = run(store, *words)
    assert "2 moves, and none does with fewer." in printed
    assert "Hanna Reyes-Dahl" in printed
    assert "Note:" in printed
    answer = json.loads(run(store, *words, "--json"))
    assert (answer["status"], answer["moves"], len(answer["rows"])) == ("optimal", 2, 12)
    assert all(row["held"] == row["wanted"] == 3 for person in answer["people"] for row in person["practice"])


def test_command_prints_why_there_is_no_rotation(store: str) -> None:
    printed = run(store, "rotation", "wastewater", "--purpose", "learn", "--learners", "p032:ww-day-operator")
    assert "No rotation fills every place as asked" in printed
    assert "compete for" in printed or "nobody able" in printed


def test_what_is_taken_for_granted_is_told_with_names(store: str) -> None:
    words = ["rotation", "treatment", "--purpose", "learn", "--intervals", "3"]
    printed = " ".join(run(store, *words).split())
    assert "Lucia Brandvold may not begin at any place" in printed
    assert "p003" not in printed
    assert "too few people are able in intervals 1, 2 and 3" in printed


def test_why_there_is_no_rotation_is_told_with_names(store: str) -> None:
    words = ["rotation", "treatment", "--purpose", "relieve-strain", "--intervals", "12", "--interval-weeks", "2"]
    printed = " ".join(run(store, *words).split())
    (reason, *_) = json.loads(run(store, *words, "--json"))["reasons"]
    assert (reason["places"], reason["people"]) == (["treat-night-operator"] * 2, ["p014"])
    assert "2 posts (Night operators) compete for 1 able and there (Leila Sorensen)" in printed
    assert "Lapsed by then: Jonas Papadakis (Drinking-water hygiene certificate)" in printed
    assert "p014" not in printed


def test_command_refuses_learners_that_are_no_ids(store: str) -> None:
    result = CliRunner().invoke(program, ["rotation", "control", "--purpose", "learn", "--learners", "a:b:c"])
    assert result.exit_code == 2


def test_command_prints_closest_people_and_what_holds_without_leavers(store: str) -> None:
    printed = " ".join(run(store, "staffing", "treatment", "--leaving", "p010").split())
    assert "2 slots of Night operators compete, and only one person can fill them: Leila Sorensen." in printed
    assert "Closest to an empty place (voluntary)" in printed
    assert "Leila Sorensen Night operators" in printed
    assert "Absences survived: needs 0; places: not applicable, one is empty already" in printed
    assert "Absences survived once they have left (Fatima Eklund): needs 0; places: not applicable" in printed
    assert "Breaks when away, for example: Leila Sorensen" in printed
    assert "of 105 pairs" in printed
    assert "of 364 groups of three" in printed
