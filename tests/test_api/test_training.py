"""The plan's further parameters, and the training timetable as JSON, page, workbook and picture."""

from __future__ import annotations

import io
from typing import Any

import openpyxl
import pytest
from flask.testing import FlaskClient

CHART = "/api/teams/works/training-timetable"
DAY = {"on": "2026-11-24"}


def ask(client: FlaskClient, address: str, **parameters: Any) -> dict[str, Any]:
    response = client.get(address, query_string=DAY | parameters)
    assert response.status_code == 200, response.text
    answer: dict[str, Any] = response.get_json()
    return answer


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("exclude_people", "nobody-known"),
        ("exclude_courses", "no-course"),
        ("lending_teams", "no-team"),
        ("by", "2026-11-23"),
        ("by", "soon"),
        ("fair", "perhaps"),
        ("with_coach", "2"),
    ],
)
@pytest.mark.parametrize("address", ["/api/teams/works/cross-training", CHART, f"{CHART}/diagram"])
def test_wrong_parameter_is_named(client: FlaskClient, address: str, name: str, value: str) -> None:
    response = client.get(address, query_string=DAY | {name: value})
    assert response.status_code == 422
    assert name in response.text


def test_plan_echoes_what_was_asked_and_keeps_to_it(client: FlaskClient) -> None:
    address = "/api/teams/works/cross-training"
    answer = ask(client, address, exclude_people="p1", by="2027-06-30", fair="yes", with_coach="yes")
    assert (answer["exclude_people"], answer["by"], answer["fair"]) == (["p1"], "2027-06-30", True)
    assert [line["person"] for line in answer["plan"]] == ["p3"]
    outcome = {"competency": "valve", "level": 2, "coach_hours": 2.0, "people": ["p2"]}
    assert answer["plan"][0]["coaching"] == [
        {"course": "valve-2", "coach_hours": 2.0, "people": ["p2"], "outcomes": [outcome]}
    ]
    assert ask(client, address, exclude_courses="valve-2,combined")["missing"] == 1
    assert ask(client, address, by="2026-11-25")["missing"] == 1
    assert ask(client, address, by="2026-11-26")["missing"] == 0


def test_chart_says_in_each_cell_what_holds(client: FlaskClient) -> None:
    answer = ask(client, CHART)
    assert [person["id"] for person in answer["people"]] == ["p1", "p2", "p3"]
    rows = {row["competency"]: [cell["state"] for cell in row["cells"]] for row in answer["rows"]}
    assert rows["valve"] == ["due", "holds", "not-planned"]
    assert answer["rows"][1]["cells"][0]["due"] == "2026-11-26"
    assert any("plan" in caution for caution in answer["cautions"])
    monthly = ask(client, CHART, due="month-end", show="all")
    assert monthly["rows"][1]["cells"][0]["due"] == "2026-11-30"
    assert [row["kind"] for row in monthly["rows"]] == ["need", "need", "job"]


def test_workbook_holds_the_chart_in_words(client: FlaskClient) -> None:
    response = client.get(CHART, query_string=DAY | {"format": "xlsx"})
    assert response.status_code == 200
    book = openpyxl.load_workbook(io.BytesIO(response.data))
    sheet = book["Who holds what"]
    rows = [[cell.value for cell in row] for row in sheet.iter_rows()]
    assert rows[0][5:] == ["Ada Example", "Ben Example", "Cleo Example"]
    assert rows[2][:6] == ["Valve work", "level 2, whole team", 2, 1, 2, "by 2026-11-26"]
    assert book.sheetnames == ["Answer", "Who holds what", "By course", "By month", "Cautions"]
    courses = [[cell.value for cell in row] for row in book["By course"].iter_rows(min_row=2)]
    assert [row[0] for row in courses] == ["Ada Example"]
    assert courses[0][3].date().isoformat() == "2026-11-26"
    assert any("authorisation" in str(row[0].value) for row in book["Cautions"].iter_rows())


def test_calendar_file_and_answers_have_the_same_days(client: FlaskClient) -> None:
    response = client.get(CHART, query_string=DAY | {"format": "ics"})
    assert (response.status_code, response.mimetype) == (200, "text/calendar")
    (row,) = ask(client, CHART)["courses"]
    assert [row] == ask(client, "/api/teams/works/cross-training")["courses"]
    text = response.text.replace("\r\n ", "")
    # the end of a whole-day event is the day after its last (RFC 5545, 3.6.1): the day it is done
    for name, day in (("DTSTART", row["begins_on"]), ("DTEND", row["finished_on"])):
        assert f"{name};VALUE=DATE:{day.replace('-', '')}" in text
    assert "SUMMARY:Ada Example: " in text


def test_after_the_plan_is_told_with_its_day_in_both_answers(client: FlaskClient) -> None:
    chart, plan = ask(client, CHART), ask(client, "/api/teams/works/cross-training")
    assert chart["after"] == plan["after"]
    assert chart["after_on"] == plan["after_on"] == plan["after"]["on"] == "2026-11-26"
    told = client.get("/api/teams/works/coverage", query_string={"on": chart["after_on"]}).get_json()
    short = {need["competency"]: need["depth"] for need in told["needs"]}
    assert {need["competency"]: need["depth"] - short[need["competency"]] for need in plan["after"]["needs"]}[
        "valve"
    ] == 1


def test_page_shows_the_chart_and_the_cautions(client: FlaskClient) -> None:
    response = client.get("/teams/works/training-timetable", query_string=DAY | {"show": "all"})
    assert response.status_code == 200
    assert response.headers["Cache-Control"] == "private, no-store"
    for words in (
        "Valve work",
        'by <time datetime="2026-11-26">',
        'After the plan, <time datetime="2026-11-26">',
        "format=ics",
        "holds",
        "no training planned",
        "no authorisation to work",
        "Ada Example",
    ):
        assert words in response.text
    assert "<script>" not in response.text
    assert " style=" not in response.text
    assert client.get("/teams/nosuch/training-timetable").status_code == 404


@pytest.mark.parametrize("layout", ["screen", "paper"])
def test_picture_tells_every_cell(client: FlaskClient, layout: str) -> None:
    response = client.get(f"{CHART}/diagram", query_string=DAY | {"format": "dot", "layout": layout})
    assert response.status_code == 200
    for words in ("Valve work", "26 Nov", "holds", "Ben Example"):
        assert words.replace(" ", "") in response.text.replace('<BR ALIGN="LEFT"/>', "").replace(" ", "")
    beyond = client.get(f"{CHART}/diagram", query_string=DAY | {"format": "dot", "layout": layout, "page": "2"})
    assert beyond.status_code == 422
