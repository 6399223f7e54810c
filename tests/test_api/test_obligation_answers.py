"""Obligations and proof over REST, as pages, workbook and calendar file."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import icalendar
import pytest
from first_aid import ROWS
from flask.testing import FlaskClient

from api.app import create_app
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES

D = date
ON = "2026-11-16"
STATES = ["overdue", "within_30", "within_60", "within_90", "current", "later"]
NAMES = ["ends", "hired", "starts", "away"]


@pytest.fixture(scope="module")
def crew() -> Iterator[FlaskClient]:
    """A client of the worked example, with a place at which two of the people stand."""
    more: dict[str, list[dict[str, Any]]] = {
        "roles": [{"id": "aider", "label": "First aider"}],
        "requirements": [{"role": "aider", "competency": "first-aid", "level": 1, "necessity": "blocking"}],
        "places": [{"id": "post", "team": "crew", "role": "aider", "label": "First aid post"}],
        "duties": [
            {"person": "ends", "place": "post", "from_date": D(2026, 11, 10)},
            {"person": "hired", "place": "post", "from_date": D(2026, 11, 10), "supervised_by": "ends"},
        ],
    }
    graph = LiveGraph.in_memory()
    rows = ROWS | more
    graph.load({name: [TABLES[name].build(**row) for row in table] for name, table in rows.items()}, who="t", why="t")
    yield create_app(graph).test_client()
    graph.close()


def ask(crew: FlaskClient, address: str) -> dict[str, Any]:
    answer = crew.get(f"/api{address}")
    assert answer.status_code == 200, answer.text
    told: dict[str, Any] = answer.json
    return told


def test_obligations_of_a_person_are_told_with_every_member(crew: FlaskClient) -> None:
    told = ask(crew, f"/people/ends/obligations?on={ON}")
    assert told["on"] == ON
    assert told["counts"] == dict.fromkeys(STATES, 0) | {"within_60": 1}
    (row,) = told["rows"]
    reason = row.pop("reason")
    assert reason == "First aid is held until 2026-12-20; renew it by First aid refresher."
    assert row == {
        "person": "ends",
        "team": "crew",
        "competency": "first-aid",
        "level": 1,
        "obligations": ["aid"],
        "legal_basis": ["house rule 7"],
        "state": "within-60",
        "due": "2026-12-20",
        "days_left": 34,
        "is_met": True,
        "first_act": "renew",
        "course": "refresher",
        "last_day_to_act": "2026-12-12",
        "is_late": False,
        "session": None,
        "booked_session": None,
        "source": "certificate",
        "assessed_on": "2025-12-20",
        "valid_until": "2026-12-20",
        "is_appointed": None,
    }


def test_obligations_of_a_team_and_of_the_company_count_the_same(crew: FlaskClient) -> None:
    team = ask(crew, f"/teams/crew/obligations?on={ON}")
    company = ask(crew, f"/company-obligations?on={ON}")
    assert team["counts"] == {"overdue": 1, "within_30": 2, "within_60": 1, "within_90": 0, "current": 0, "later": 0}
    figures = {"people": 4, "people_overdue": 1} | team["counts"]
    assert company["teams"] == [{"team": "crew"} | figures]
    assert company["competencies"] == [{"competency": "first-aid"} | figures]
    assert [row["person"] for row in team["rows"]] == ["hired", "starts", "away", "ends"]
    assert ask(crew, f"/teams/crew/obligations?on={ON}&parts=yes")["rows"] == team["rows"]


def test_answer_about_the_company_names_nobody(crew: FlaskClient) -> None:
    for address in ("/api/company-obligations", "/company-obligations"):
        text = crew.get(f"{address}?on={ON}").text
        assert not any(f'"{name}"' in text or f"/{name}" in text for name in NAMES)


def test_proof_of_a_place_is_told_and_printed(crew: FlaskClient) -> None:
    told = ask(crew, f"/places/post/proof?day=2026-11-10&on={ON}")
    assert (told["day"], told["known_on"], told["on"]) == ("2026-11-10", "2026-11-10", ON)
    assert [(row["person"], row["supervised_by"], row["is_absent"]) for row in told["people"]] == [
        ("ends", None, False),
        ("hired", "ends", False),
    ]
    assert [(row["kind"], row["verdict"]) for person in told["people"] for row in person["rows"]] == [
        ("requirement", "valid"),
        ("obligation", "valid"),
        ("requirement", "not-valid"),
        ("obligation", "not-valid"),
    ]
    page = crew.get(f"/places/post/proof?day=2026-11-10&on={ON}").text
    assert "First aid post" in page
    assert "Seen by (name, date, signature)" in page


@pytest.mark.parametrize(
    ("address", "status", "parameter"),
    [
        ("/people/nobody/obligations", 404, None),
        ("/teams/nothing/obligations", 404, None),
        ("/places/nowhere/proof?day=2026-11-10", 404, None),
        ("/places/post/proof", 422, "day"),
        ("/places/post/proof?day=2026-02-30", 422, "day"),
        (f"/places/post/proof?day=2026-11-10&known_on=2026-11-17&on={ON}", 422, "known_on"),
        ("/teams/crew/obligations?parts=perhaps", 422, "parts"),
        ("/people/ends/obligations?parts=yes", 422, "parts"),
        ("/company-obligations?on=today", 422, "on"),
    ],
)
def test_wrong_question_is_one_addressed_error(
    crew: FlaskClient, address: str, status: int, parameter: str | None
) -> None:
    answer = crew.get(f"/api{address}")
    assert (answer.status_code, answer.mimetype) == (status, "application/problem+json")
    if parameter is not None:
        assert [row["parameter"] for row in (answer.json or {})["errors"]] == [parameter]


@pytest.mark.parametrize("on", ["0001-01-01", "9999-12-31"])
def test_days_at_both_ends_of_the_calendar_can_be_asked_about(crew: FlaskClient, on: str) -> None:
    forms = ("", "&format=ics", "&format=xlsx")
    addresses = [f"/teams/crew/obligations?on={on}{form}" for form in forms]
    addresses += [f"/company-obligations?on={on}", f"/teams/crew/obligations/diagram?on={on}&format=dot"]
    addresses += [f"/people/starts/obligations?on={on}", f"/places/post/proof?day={on}&on={on}"]
    assert [crew.get(f"/api{address}").status_code for address in addresses] == [200] * len(addresses)


@pytest.mark.parametrize("address", ["/people/ends/obligations", "/teams/crew/obligations"])
def test_calendar_file_holds_due_days_and_last_days_to_act(crew: FlaskClient, address: str) -> None:
    """Read by the library icalendar, an independent reader of RFC 5545."""
    answer = crew.get(f"/api{address}?on={ON}&format=ics")
    assert (answer.status_code, answer.mimetype) == (200, "text/calendar")
    events = icalendar.Calendar.from_ical(answer.data).walk("VEVENT")
    days = {(str(event["SUMMARY"]), event.decoded("DTSTART").isoformat()) for event in events}
    who = "" if "ends" in address else "E: "
    assert {(f"Due: {who}First aid", "2026-12-20"), (f"Last day to act: {who}First aid", "2026-12-12")} <= days
    assert len({str(event["UID"]) for event in events}) == len(events)
    assert answer.data == crew.get(f"/api{address}?on={ON}&format=ics").data


def test_a_page_offers_the_calendar_file(crew: FlaskClient) -> None:
    page = crew.get(f"/teams/crew/obligations?on={ON}").text
    assert f'href="/api/teams/crew/obligations?on={ON}&amp;format=ics"' in page
