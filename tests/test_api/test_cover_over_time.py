"""Cover over time, stand-ins, fragile needs, headcount and company cover through the API and the command line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from flask.testing import FlaskClient

from api.terminal.program import program

ON = "2026-11-24"
SCENARIO = Path(__file__).resolve().parents[2] / "data" / "water_utility"


def ask(client: FlaskClient, address: str, **query: str) -> dict[str, Any]:
    response = client.get(address, query_string={"on": ON} | query)
    assert response.status_code == 200, response.text
    answer: dict[str, Any] = response.json or {}
    return answer


def test_timeline_tells_the_absence_of_the_small_company(client: FlaskClient) -> None:
    answer = ask(client, "/api/teams/works/coverage-timeline", until="2026-12-31")
    assert (answer["on"], answer["from_date"], answer["to_date"]) == (ON, ON, "2026-12-31")
    # p3, who is away from 1 to 5 December, has no level that counts: nothing changes
    assert [(n["competency"], len(n["intervals"])) for n in answer["needs"]] == [("pump", 1), ("valve", 1)]
    assert answer["changes"] == []
    away = ask(client, "/api/teams/works/coverage-timeline", until="2026-12-31", away="p2")
    (hole,) = [hole for need in away["needs"] for hole in need["holes"]]
    assert (hole["from_date"], hole["to_date"], hole["is_open"]) == (ON, "2026-12-31", True)
    # valves: 8 h of working time, a fifth of a week
    assert (hole["mend"]["courses"], hole["mend"]["weeks"], hole["last_day_to_act"]) == (["valve-2"], 0.2, "2026-11-22")
    assert (hole["is_late"], hole["mend"]["ready_on"]) == (True, "2026-11-26")
    # without p2 the desk is unfilled too
    assert [(row["place"], row["holes"][0]["from_date"]) for row in away["slots"]] == [("desk", ON)]
    assert [(act["kind"], act["person"]) for act in away["acts"]] == [("place", "p1"), ("need", "p1")]


def test_timeline_is_asked_in_weeks_or_until_a_day(client: FlaskClient) -> None:
    assert ask(client, "/api/teams/works/coverage-timeline")["to_date"] == "2027-05-25"
    assert ask(client, "/api/teams/works/coverage-timeline", weeks="2")["to_date"] == "2026-12-08"
    later = ask(client, "/api/teams/works/coverage-timeline", weeks="2", **{"from": "2027-01-01"})
    assert (later["on"], later["from_date"], later["to_date"]) == (ON, "2027-01-01", "2027-01-15")


def test_stand_ins_of_a_person_and_of_a_need(client: FlaskClient) -> None:
    answer = ask(client, "/api/teams/works/stand-ins", person="p2")
    assert [(n["competency"], [s["person"] for s in n["stand_ins"]]) for n in answer["needs"]] == [
        ("pump", ["p1"]),
        ("valve", []),
    ]
    assert answer["needs"][0]["stand_ins"][0]["levels"][0]["source"] == "assessor"
    (place,) = answer["places"]
    assert (place["place"], place["is_empty_without"], place["stand_ins"]) == ("desk", True, [])
    need = ask(client, "/api/teams/works/stand-ins", competency="pump", level="2")["needs"][0]
    assert [s["person"] for s in need["stand_ins"]] == ["p1", "p2"]


def test_fragile_needs_and_headcount(client: FlaskClient) -> None:
    answer = ask(client, "/api/teams/works/fragile-needs", absence_rate="0.1")
    assert [(n["competency"], n["criticality"], round(n["chance"], 6)) for n in answer["needs"]] == [
        ("valve", 5, 0.9),
        ("pump", 3, 0.99),
    ]
    assert answer["needs"][0]["next_best"]["study_hours"] == 8.0
    assert ask(client, "/api/teams/works/fragile-needs")["needs"][0]["chance"] is None
    answer = ask(client, "/api/teams/works/headcount", net_hours="1600", manned_hours="8760")
    assert [(row["kind"], row["quotient"], row["people_needed"], row["difference"]) for row in answer["rows"]] == [
        ("need", 5.475, 6, -4),
        ("need", 5.475, 6, -5),
        ("place", 5.475, 6, -5),
    ]


def test_company_cover_names_the_most_fragile_need_first(client: FlaskClient) -> None:
    answer = ask(client, "/api/company-cover", absence_rate="0.1")
    assert [(n["team"], n["competency"], n["state"]) for n in answer["needs"]] == [
        ("works", "valve", "sole-holder"),
        ("works", "pump", "covered"),
    ]
    assert (answer["teams"], answer["people"], answer["holding"]) == (2, 3, [])


WRONG = [
    ("/api/teams/works/coverage-timeline?until=2026-11-23&on=2026-11-24", "until"),
    ("/api/teams/works/coverage-timeline?until=2026-12-23&weeks=3", "weeks"),
    ("/api/teams/works/coverage-timeline?weeks=0", "weeks"),
    ("/api/teams/works/coverage-timeline?weeks=521", "weeks"),
    ("/api/teams/works/coverage-timeline?from=soon", "from"),
    ("/api/teams/works/coverage-timeline?away=nobody", "away"),
    ("/api/teams/works/coverage-timeline?time_limit=600", "time_limit"),
    ("/api/teams/works/stand-ins", "person"),
    ("/api/teams/works/stand-ins?person=p1&competency=pump", "person"),
    ("/api/teams/works/stand-ins?person=nobody", "person"),
    ("/api/teams/works/stand-ins?competency=nothing", "competency"),
    ("/api/teams/works/stand-ins?competency=pump&level=0", "level"),
    ("/api/teams/works/stand-ins?person=p1&limit=0", "limit"),
    ("/api/teams/works/fragile-needs?absence_rate=1.5", "absence_rate"),
    ("/api/teams/works/fragile-needs?order_by=age", "order_by"),
    ("/api/teams/works/headcount", "net_hours"),
    ("/api/teams/works/headcount?net_hours=0", "net_hours"),
    ("/api/teams/works/headcount?net_hours=1600&manned_hours=9000", "manned_hours"),
    ("/api/company-cover?limit=0", "limit"),
    ("/api/company-cover?within_hours=-1", "within_hours"),
    ("/api/company-cover?away=nobody", "away"),
    ("/api/company-cover?team=works", "team"),
]


@pytest.mark.parametrize(("address", "parameter"), WRONG)
def test_a_wrong_parameter_is_named(client: FlaskClient, address: str, parameter: str) -> None:
    response = client.get(address)
    assert (response.status_code, response.mimetype) == (422, "application/problem+json"), response.text
    assert parameter in {entry["parameter"] for entry in (response.json or {})["errors"]}


@pytest.mark.parametrize(
    ("address", "parameter", "told"),
    [
        ("works/coverage-timeline?until=2099-01-01", "until", "The last day must be within 3660 days."),
        ("office/stand-ins?person=p1", "person", f"p1 is no member of office on {ON}."),
        ("office/stand-ins?competency=pump", "competency", "office has no need of pump."),
        ("works/stand-ins?competency=pump&level=5", "competency", "works has no need of pump at level 5."),
        ("works/stand-ins?person=p2&level=2", "level", "A level goes with a competency."),
    ],
)
def test_a_question_without_sense_is_refused(client: FlaskClient, address: str, parameter: str, told: str) -> None:
    response = client.get(f"/api/teams/{address}&on={ON}")
    assert (response.status_code, response.mimetype) == (422, "application/problem+json"), response.text
    problem = response.json or {}
    assert problem["detail"] == told
    assert [row["parameter"] for row in problem["errors"]] == [parameter]


@pytest.mark.parametrize("part", ["coverage-timeline", "stand-ins?person=p1", "fragile-needs", "headcount?net_hours=9"])
def test_an_unknown_team_is_not_found(client: FlaskClient, part: str) -> None:
    response = client.get(f"/api/teams/nowhere/{part}")
    assert (response.status_code, (response.json or {})["table"]) == (404, "teams")


@pytest.mark.parametrize(
    ("on", "last", "depths"),
    [
        # p1 has the pump, p2 is supposed away; half a year is told, and the calendar ends with the year 9999
        ("9999-12-31", "9999-12-31", {"pump": 1, "valve": 0}),
        ("9999-12-01", "9999-12-31", {"pump": 1, "valve": 0}),
        # nobody has been assessed yet
        ("0001-01-01", "0001-07-02", {"pump": 0, "valve": 0}),
    ],
)
def test_the_first_and_the_last_days_of_the_calendar_can_be_asked_about(
    client: FlaskClient, on: str, last: str, depths: dict[str, int]
) -> None:
    answer = ask(client, "/api/teams/works/coverage-timeline", on=on, away="p2")
    assert (answer["on"], answer["from_date"], answer["to_date"]) == (on, on, last)
    for need in answer["needs"]:
        (interval,) = need["intervals"]
        told = (interval["from_date"], interval["to_date"], interval["depth"])
        assert told == (on, last, depths[need["competency"]])
        assert [hole["to_date"] for hole in need["holes"]] == [last] * (depths[need["competency"]] == 0)
    company = ask(client, "/api/company-cover", on=on, away="p2")
    assert (company["on"], {need["competency"]: need["depth"] for need in company["needs"]}) == (on, depths)


# ---- the command line, on the demonstration scenario ----


def run(*words: str, store: Path, code: int = 0) -> Result:
    result = CliRunner().invoke(program, list(words), env={"NEWEL_STORE": str(store)}, prog_name="newel")
    assert result.exit_code == code, result.output
    return result


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("cover-over-time") / "store"
    run("load", str(SCENARIO), store=folder)
    return folder


@pytest.mark.parametrize(
    ("words", "printed"),
    [
        (["coverage-timeline", "treatment"], "last start"),
        (["coverage-timeline", "metering", "--weeks", "4", "--from", "2026-12-01"], "2026-12-01 to 2026-12-29"),
        (["stand-ins", "treatment", "--person", "p013"], "Stand-ins for Goran Adeyemi"),
        (["stand-ins", "wastewater", "--competency", "storm-operation"], "counts now"),
        (["fragile-needs", "treatment", "--absence-rate", "0.08"], "First the higher criticality"),
        (["headcount", "control", "--net-hours", "1600", "--manned-hours", "8760"], "5.47"),
        (["company-cover", "--limit", "5"], "Cover of all teams"),
    ],
)
def test_answers_are_printed_as_tables_and_as_json(store: Path, words: list[str], printed: str) -> None:
    text = run(*words, "--on", ON, store=store).stdout
    assert printed.casefold() in " ".join(text.split()).casefold()
    assert "Note:" in text
    answer = json.loads(run(*words, "--on", ON, "--json", store=store).stdout)
    assert answer["cautions"]
    assert answer["on"] == ON


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (["coverage-timeline", "treatment", "--until", "2026-12-01", "--weeks", "2"], 2, "weeks"),
        (["stand-ins", "treatment"], 2, "'person' must be given, or competency; not both"),
        (["stand-ins", "treatment", "--person", "nobody"], 1, "nobody"),
        (["headcount", "treatment"], 2, "--net-hours"),
        (["company-cover", "--limit", "0"], 2, "must be a whole number from 1"),
        (["fragile-needs", "nowhere"], 1, "nowhere"),
    ],
)
def test_wrong_calls_end_with_their_status_and_say_why(store: Path, words: list[str], code: int, told: str) -> None:
    result = run(*words, store=store, code=code)
    assert told in " ".join(result.stderr.split())
    assert result.stdout == ""
