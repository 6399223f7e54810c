"""Newcomers' plans over REST, as calendar files, pages to print and commands."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import icalendar
import pytest
from click.testing import CliRunner, Result
from flask.testing import FlaskClient

from api.app import create_app
from api.terminal.program import program
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES

D = date
#: p1 starts on Tuesday 2026-12-01, p2 moves to another role on Monday 2027-01-04.
ROWS: dict[str, list[dict[str, Any]]] = {
    "roles": [{"id": i, "label": i.capitalize()} for i in ("fitter", "chemist")],
    "teams": [{"id": "works", "label": "Works"}],
    "people": [
        {"id": "p1", "name": "Ada Example", "team": "works", "role": "fitter", "start_date": D(2026, 12, 1)},
        {"id": "p2", "name": "Ben Example", "team": "works", "role": "chemist"},
    ],
    "memberships": [{"person": "p2", "from_date": D(2027, 1, 4), "team": "works", "role": "fitter"}],
    "courses": [{"id": "safety", "label": "Safety", "hours": 8.0}],
    "sessions": [{"id": "s1", "course": "safety", "from_date": D(2026, 12, 3), "where": "Hall"}],
    "bookings": [{"session": "s1", "person": "p1"}],
    "orientation_items": [
        {"id": "badge", "label": "Badge", "owner": "p2", "offset_days": -2, "before_work": True},
        {"id": "talk", "label": "First talk", "offset_days": 4},
        {"id": "tools", "label": "Tools", "owner": "p2", "rule": "role", "of": "fitter"},
    ],
    "orientation_done": [{"person": "p1", "item": "tools", "date": D(2026, 12, 1), "done_by": "p2"}],
}
ON = "2026-12-01"


@pytest.fixture(scope="module")
def asker() -> FlaskClient:
    graph = LiveGraph.in_memory()
    records = {name: [TABLES[name].build(**row) for row in rows] for name, rows in ROWS.items()}
    graph.load(records, who="test", why="newcomers")
    return create_app(graph).test_client()


def get(asker: FlaskClient, address: str) -> dict[str, Any]:
    reply = asker.get(f"/api{address}")
    assert reply.status_code == 200, reply.text
    answer: dict[str, Any] = reply.get_json()
    return answer


def test_plan_is_told_with_its_items_and_cautions(asker: FlaskClient) -> None:
    answer = get(asker, f"/people/p1/orientation?on={ON}")
    assert (answer["person"], answer["on"], answer["start"]) == ("p1", ON, "2026-12-01")
    assert [(row["item"], row["due"], row["done"], row["state"]) for row in answer["items"]] == [
        ("badge", "2026-11-27", None, "overdue"),
        ("tools", "2026-12-01", "2026-12-01", "done"),
        ("talk", "2026-12-07", None, "due"),
    ]
    assert answer["items"][0]["before_work"] is True
    assert [row["session"] for row in answer["sessions"]] == ["s1"]
    assert any("no grade" in caution for caution in answer["cautions"])


def test_change_of_role_is_asked_with_its_start(asker: FlaskClient) -> None:
    answer = get(asker, f"/people/p2/orientation?on={ON}&start=2027-01-04")
    assert answer["is_change_of_role"] is True
    assert [(row["item"], row["due"]) for row in answer["items"]] == [("tools", "2027-01-04")]


def test_who_has_no_start_date_is_asked_for_one(asker: FlaskClient) -> None:
    reply = asker.get(f"/api/people/p2/orientation?on={ON}")
    assert (reply.status_code, reply.mimetype) == (422, "application/problem+json")
    problem = reply.get_json()
    assert [error["parameter"] for error in problem["errors"]] == ["start"]
    assert "no start date" in problem["detail"]


@pytest.mark.parametrize(
    ("address", "status", "parameter"),
    [
        ("/people/p1/orientation?start=soon", 422, "start"),
        ("/people/p1/orientation?on=2026-13-01", 422, "on"),
        ("/people/nobody/orientation", 404, None),
        ("/orientation?owner=nobody", 422, "owner"),
        ("/orientation?team=works", 422, "team"),
    ],
)
def test_wrong_question_is_answered_with_what_is_wrong(
    asker: FlaskClient, address: str, status: int, parameter: str | None
) -> None:
    reply = asker.get(f"/api{address}")
    assert reply.status_code == status
    assert [error["parameter"] for error in reply.get_json().get("errors", [])] == ([parameter] if parameter else [])


def test_open_items_are_told_by_owner(asker: FlaskClient) -> None:
    answer = get(asker, f"/orientation?on={ON}")
    assert answer["people"] == 2
    told = [(o["owner"], [(i["person"], i["item"], i["due"]) for i in o["items"]]) for o in answer["owners"]]
    assert told == [
        ("", [("p1", "talk", "2026-12-07")]),
        ("p2", [("p1", "badge", "2026-11-27"), ("p2", "tools", "2027-01-04")]),
    ]
    alone = get(asker, f"/orientation?on={ON}&owner=p2")
    assert [o["owner"] for o in alone["owners"]] == ["p2"]


def test_calendar_files_hold_what_is_open_and_the_sessions(asker: FlaskClient) -> None:
    plan = read_calendar(asker, f"/people/p1/orientation?on={ON}&format=ics")
    assert plan == {
        "Badge": (D(2026, 11, 27), D(2026, 11, 28)),
        "First talk": (D(2026, 12, 7), D(2026, 12, 8)),
        "Course: Safety": (D(2026, 12, 3), D(2026, 12, 4)),
    }
    owner = read_calendar(asker, f"/orientation?on={ON}&owner=p2&format=ics")
    assert owner == {
        "Ada Example: Badge": (D(2026, 11, 27), D(2026, 11, 28)),
        "Ben Example: Tools": (D(2027, 1, 4), D(2027, 1, 5)),
    }


def read_calendar(asker: FlaskClient, address: str) -> dict[str, tuple[date, date]]:
    reply = asker.get(f"/api{address}")
    assert (reply.status_code, reply.mimetype) == (200, "text/calendar")
    events = icalendar.Calendar.from_ical(reply.data).walk("VEVENT")
    return {str(event["SUMMARY"]): (event["DTSTART"].dt, event["DTEND"].dt) for event in events}


def test_pages_to_print_name_owner_and_newcomer_and_stay_in_no_cache(asker: FlaskClient) -> None:
    for address, names in (
        (f"/people/p1/orientation?on={ON}", ("Ada Example", "First talk", "Safety")),
        (f"/orientation?on={ON}&owner=p2", ("Ben Example", "Badge", "Tools")),
    ):
        page = asker.get(address)
        assert page.status_code == 200
        assert page.headers["Cache-Control"] == "private, no-store"
        assert all(name in page.text for name in names)
        # what one would ask next leads somewhere
        links = [part.split('"', 1)[0] for part in page.text.split('<a href="/people/')[1:]]
        assert links
        for link in links:
            assert asker.get("/people/" + link.replace("&amp;", "&")).status_code == 200, link


def run(*words: str, store: Path) -> Result:
    result = CliRunner().invoke(program, list(words), env={"NEWEL_STORE": str(store)}, prog_name="newel")
    assert result.exit_code == 0, result.output
    return result


def test_commands_print_the_plan_and_what_is_open(tmp_path: Path) -> None:
    folder = tmp_path / "rows"
    folder.mkdir()
    for name, rows in ROWS.items():
        columns = [column for column in TABLES[name].columns if any(column.attribute in row for row in rows)]
        lines = [",".join(column.name for column in columns)]
        lines += [",".join(format_cell(row.get(column.attribute, "")) for column in columns) for row in rows]
        (folder / f"{name}.csv").write_text("\n".join(lines) + "\n", "utf-8")
    store = tmp_path / "store"
    run("load", str(folder), store=store)
    printed = run("orientation", "Ada Example", "--on", ON, store=store).stdout
    assert "Needed before work begins: Badge." in printed
    answer = json.loads(run("open-orientation", "--on", ON, "--owner", "p2", "--json", store=store).stdout)
    assert [row["item"] for row in answer["owners"][0]["items"]] == ["badge", "tools"]
    run("open-orientation", "--on", ON, "--to", str(tmp_path / "open.ics"), store=store)
    assert (tmp_path / "open.ics").read_text("utf-8").count("BEGIN:VEVENT") == 3


def format_cell(value: Any) -> str:
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)
