"""Demand, waiting list, sheet to sign and bookings over REST, as pages, calendar files and commands."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import icalendar
import pytest
from click.testing import CliRunner
from flask.testing import FlaskClient
from small_company import build_scale

from api.app import create_app
from api.terminal.program import program
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES

D = date
ON = "2026-11-16"
ROWS: dict[str, list[dict[str, Any]]] = {
    "scales": build_scale("s1", 1),
    "competencies": [{"id": "aid", "label": "First aid", "scale": "s1", "kind": "certificate"}],
    "courses": [{"id": "course", "label": "First aid, day", "hours": 16.0, "seats": 6}],
    "outcomes": [{"course": "course", "competency": "aid", "level": 1}],
    "teams": [{"id": "t", "label": "Works"}],
    "people": [
        {"id": f"p{n}", "name": f"{name} Example", "team": "t"} for n, name in enumerate(("Ada", "Ben", "Cleo"))
    ],
    "obligations": [{"id": "all", "label": "All", "competency": "aid", "from_date": D(2027, 1, 4)}],
    "sessions": [
        {"id": "s1", "course": "course", "from_date": D(2026, 12, 1), "to_date": D(2026, 12, 2), "where": "Hall; 2nd"},
        {"id": "s2", "course": "course", "from_date": D(2026, 12, 14), "state": "cancelled"},
        {"id": "s3", "course": "course", "from_date": D(2026, 12, 21)},
        {"id": "s4", "course": "course", "from_date": D(2026, 3, 2), "state": "held"},
    ],
    "bookings": [
        {"session": "s1", "person": "p0", "booked_on": D(2026, 10, 1)},
        {"session": "s2", "person": "p0"},
        {"session": "s3", "person": "p0", "state": "cancelled"},
        {"session": "s4", "person": "p0", "state": "missed"},
        {"session": "s1", "person": "p1", "state": "waiting", "booked_on": D(2026, 10, 2)},
    ],
}


def fill(graph: LiveGraph) -> LiveGraph:
    records = {name: [TABLES[name].build(**row) for row in rows] for name, rows in ROWS.items()}
    graph.load(records, who="test", why="sessions")
    return graph


@pytest.fixture(scope="module")
def graph() -> LiveGraph:
    return fill(LiveGraph.in_memory())


@pytest.fixture(scope="module")
def asker(graph: LiveGraph) -> FlaskClient:
    return create_app(graph).test_client()


def get(asker: FlaskClient, address: str) -> dict[str, Any]:
    reply = asker.get(f"/api{address}")
    assert reply.status_code == 200, reply.text
    answer: dict[str, Any] = reply.get_json()
    return answer


def test_demand_is_told_month_by_month(asker: FlaskClient) -> None:
    """Two must hold it from 4 January 2027 on and are not booked: that day is their due."""
    answer = get(asker, f"/courses/course/demand?on={ON}&months=3")
    assert [(row["month"], row["people"], row["sessions"]) for row in answer["months"]] == [
        ("2026-11", 0, 0),
        ("2026-12", 0, 0),
        ("2027-01", 2, 1),
    ]
    assert (answer["show_up_share"], answer["show_up_count"]) == (1.0, 0)
    assert any("plan of rooms" in caution for caution in answer["cautions"])


def test_waiting_list_and_sheet_are_told(asker: FlaskClient) -> None:
    answer = get(asker, f"/sessions/s1/waiting-list?on={ON}")
    assert [(row["person"], row["due"], row["booked_on"]) for row in answer["rows"]] == [
        ("p1", "2027-01-04", "2026-10-02")
    ]
    assert (answer["free_seats"], answer["book_by"]) == (5, "2026-12-01")
    sheet = get(asker, "/sessions/s1/attendance-sheet")
    assert [row["person"] for row in sheet["people"]] == ["p0"]
    assert sheet["days"] == ["2026-12-01", "2026-12-02"]


def test_sheet_leaves_a_line_blank_for_each_name_and_day(asker: FlaskClient) -> None:
    page = asker.get("/sessions/s1/attendance-sheet")
    assert page.headers["Cache-Control"] == "private, no-store"
    assert page.text.count('data-column="Signature 2026-12-0') == 2
    assert '<td role="cell" data-column="Signature 2026-12-01"></td>' in page.text
    assert "Ada Example" in page.text
    assert "Ben Example" not in page.text


# RFC 5545: 3.6.1 an all-day event ends on the day after its last one, exclusive; 3.8.1.11 status; 3.8.4.7 UID
def test_calendar_file_has_one_event_a_seat(asker: FlaskClient, graph: LiveGraph) -> None:
    reply = asker.get(f"/api/people/p0/bookings?on={ON}&format=ics")
    assert (reply.status_code, reply.mimetype) == (200, "text/calendar")
    events = icalendar.Calendar.from_ical(reply.data).walk("VEVENT")
    store = graph.get_snapshot().store_id
    assert [(str(event["UID"]), event["DTSTART"].dt, event["DTEND"].dt, str(event["STATUS"])) for event in events] == [
        (f"booking-s4~p0@{store}", D(2026, 3, 2), D(2026, 3, 3), "CONFIRMED"),
        (f"booking-s1~p0@{store}", D(2026, 12, 1), D(2026, 12, 3), "CONFIRMED"),
        (f"booking-s2~p0@{store}", D(2026, 12, 14), D(2026, 12, 15), "CANCELLED"),
        (f"booking-s3~p0@{store}", D(2026, 12, 21), D(2026, 12, 22), "CANCELLED"),
    ]
    assert all(event["DTSTART"].params["VALUE"] == "DATE" for event in events)
    assert str(events[1]["LOCATION"]) == "Hall; 2nd"
    # who waits has no seat yet
    waiting = asker.get(f"/api/people/p1/bookings?on={ON}&format=ics")
    assert icalendar.Calendar.from_ical(waiting.data).walk("VEVENT") == []
    assert [row["state"] for row in get(asker, f"/people/p1/bookings?on={ON}")["rows"]] == ["waiting"]


def test_a_seat_is_the_same_event_in_every_file(asker: FlaskClient) -> None:
    def find_uid(address: str) -> str:
        calendar = icalendar.Calendar.from_ical(asker.get(f"/api{address}").data)
        (uid,) = {str(e["UID"]) for e in calendar.walk("VEVENT") if e["DTSTART"].dt == D(2026, 12, 1)}
        return uid

    files = ("bookings?format=ics", "orientation?start=2026-12-01&format=ics")
    assert len({find_uid(f"/people/p0/{file}") for file in files}) == 1


def test_agendas_are_told_and_hold_the_same_events_as_other_files(asker: FlaskClient) -> None:
    """p0 and p1 must hold it from 4 January 2027 on; no session is open but the one p0 sits in."""
    answer = get(asker, f"/people/p0/agenda?on={ON}")
    assert [(row["day"], row["kind"], row["id"], row["is_late"]) for row in answer["rows"]] == [
        ("2026-12-01", "session", "s1", False),
        ("2027-01-04", "obligation", "aid", False),
    ]
    team = get(asker, f"/teams/t/agenda?on={ON}&days=60")
    assert (team["until"], [row["person"] for row in team["rows"]]) == ("2027-01-15", ["p0", "p1", "p2", "p0"])

    def find_uids(address: str) -> set[str]:
        return {str(e["UID"]) for e in icalendar.Calendar.from_ical(asker.get(f"/api{address}").data).walk("VEVENT")}

    own = find_uids(f"/people/p0/agenda?on={ON}&format=ics")
    others = [find_uids(f"/people/p0/{name}?on={ON}&format=ics") for name in ("bookings", "obligations")]
    assert len(own) == 2
    assert own <= set().union(*others)
    assert own <= find_uids(f"/teams/t/agenda?on={ON}&days=60&format=ics")
    for page in (f"/people/p0/agenda?on={ON}", f"/teams/t/agenda?on={ON}"):
        text = asker.get(page).text
        links = [
            part.split('href="', 1)[1].split('"', 1)[0].replace("&amp;", "&")
            for part in text.split('<a class="act')[1:]
        ]
        assert [asker.get(link).status_code for link in links] == [200, 200]


@pytest.mark.parametrize(
    ("address", "status", "parameter"),
    [
        ("/courses/course/demand?months=0", 422, "months"),
        ("/courses/course/demand?months=61", 422, "months"),
        ("/courses/course/demand?months=1.5", 422, "months"),
        ("/courses/course/demand?on=2026-02-30", 422, "on"),
        ("/courses/course/demand?month=3", 422, "month"),
        ("/courses/nothing/demand", 404, None),
        ("/sessions/nothing/waiting-list", 404, None),
        ("/sessions/s1/waiting-list?on=soon", 422, "on"),
        ("/sessions/nothing/attendance-sheet", 404, None),
        ("/sessions/s1/attendance-sheet?on=2026-12-01", 422, "on"),
        ("/people/nobody/bookings", 404, None),
        ("/people/nobody/agenda", 404, None),
        ("/teams/nothing/agenda", 404, None),
        ("/teams/t/agenda?days=-1", 422, "days"),
        ("/people/p0/agenda?days=367", 422, "days"),
        ("/people/p0/agenda?on=today", 422, "on"),
        ("/people/p0/bookings?format=csv", 406, None),
    ],
)
def test_wrong_question_is_answered_with_what_is_wrong(
    asker: FlaskClient, address: str, status: int, parameter: str | None
) -> None:
    reply = asker.get(f"/api{address}")
    assert (reply.status_code, reply.mimetype) == (status, "application/problem+json")
    assert [error["parameter"] for error in reply.get_json().get("errors", [])] == ([parameter] if parameter else [])


def test_commands_ask_the_same(tmp_path: Path) -> None:
    fill(LiveGraph.open(tmp_path / "store", create=True)).close()

    def run(*words: str) -> str:
        result = CliRunner().invoke(program, [*words, "--store", str(tmp_path / "store")], prog_name="newel")
        assert result.exit_code == 0, result.output
        return result.stdout

    assert "2 people need it within 3 months" in run("demand", "course", "--on", ON, "--months", "3")
    assert "1 person waits; 5 seats are free." in run("waiting-list", "s1", "--on", ON)
    assert "Ada Example" in run("attendance-sheet", "s1")
    assert "The next session is First aid, day, 2026-12-01 to 2026-12-02." in run("bookings", "Ada Example", "--on", ON)
    agenda = " ".join(run("agenda", "Works", "--on", ON, "--days", "30").split())
    assert "The next is on 2026-12-01: Ada Example, First aid, day, Hall; 2nd." in agenda
    assert "2 things are dated up to 2027-02-14." in run("person-agenda", "p0", "--on", ON)
    assert json.loads(run("demand", "course", "--on", ON, "--json"))["people"] == 2
    run("bookings", "p0", "--to", str(tmp_path / "p0.ics"))
    assert (tmp_path / "p0.ics").read_text("utf-8").count("BEGIN:VEVENT") == 4
