"""Schedules and development plans over HTTP, on the small company: every form says the same, and whose it is.

p1 has pump 2 and studies 4 hours a week; the way to operator is combined (27 h), licence-course (16 h).
"""

from __future__ import annotations

import html
import io
import shutil
import xml.etree.ElementTree as ET
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import icalendar
import openpyxl
import pytest
from flask.testing import FlaskClient
from rest_company import ON

SCHEDULE = "/api/people/p1/schedule"
PLAN = "/api/people/p1/development-plan"
PAGE = "/people/p1/development-plan"
SVG = "{http://www.w3.org/2000/svg}"


def ask(client: FlaskClient, address: str, **parameters: Any) -> dict[str, Any]:
    response = client.get(address, query_string={"role": "operator", "on": ON, **parameters})
    assert response.status_code == 200, response.text
    return dict(response.json or {})


def test_schedule_of_a_person(client: FlaskClient) -> None:
    answer = ask(client, SCHEDULE)
    assert (answer["person"], answer["role"], answer["on"], answer["status"]) == ("p1", "operator", ON, "optimal")
    assert {course["id"] for course in answer["courses"]} == {"combined", "licence-course"}
    # 43 hours at 48 minutes a day: 54 weekdays from Tuesday 24 November
    assert (answer["start"], answer["finish"], answer["lower_bound"]) == (ON, "2027-02-05", "2027-02-05")
    assert (answer["study_hours"], answer["cost"], answer["study_hours_per_week"]) == (43, 700, 4)
    assert sum(week["study_hours"] for course in answer["courses"] for week in course["weeks"]) == pytest.approx(43)


def test_more_hours_a_week_end_it_earlier_and_a_holiday_later(client: FlaskClient) -> None:
    assert ask(client, SCHEDULE, study_hours_per_week="8")["finish"] == "2026-12-30"
    answer = ask(client, SCHEDULE, study_hours_per_week="8", holidays="2026-12-25,2026-12-26,2026-11-01")
    # the Saturday and the day before the plan change nothing
    assert (answer["finish"], answer["holidays"]) == ("2026-12-31", ["2026-12-25"])


def test_a_later_start_moves_everything(client: FlaskClient) -> None:
    answer = ask(client, SCHEDULE, start="2026-12-01")
    assert (answer["start"], answer["finish"]) == ("2026-12-01", "2027-02-12")


def test_one_at_once_puts_one_after_the_other(client: FlaskClient) -> None:
    courses = ask(client, SCHEDULE, at_once="1")["courses"]
    for before, after in pairwise(courses):
        assert before["last_day"] < after["first_day"]


def test_schedule_from_a_role(client: FlaskClient) -> None:
    answer = client.get("/api/roles/operator/schedule", query_string={"from": "helper", "on": ON}).json
    assert answer is not None
    assert (answer["from_role"], answer["role"], answer["lapsing"]) == ("helper", "operator", [])


@pytest.mark.parametrize(
    ("address", "parameter"),
    [
        (f"{SCHEDULE}", "role"),
        (f"{SCHEDULE}?role=nobody", "role"),
        (f"{SCHEDULE}?role=operator&start=2026-11-23&on=2026-11-24", "start"),
        (f"{SCHEDULE}?role=operator&start=soon", "start"),
        (f"{SCHEDULE}?role=operator&study_hours_per_week=0", "study_hours_per_week"),
        (f"{SCHEDULE}?role=operator&study_hours_per_week=169", "study_hours_per_week"),
        (f"{SCHEDULE}?role=operator&at_once=0", "at_once"),
        (f"{SCHEDULE}?role=operator&at_once=21", "at_once"),
        (f"{SCHEDULE}?role=operator&holidays=2026-12-25,", "holidays"),
        (f"{SCHEDULE}?role=operator&holidays=christmas", "holidays"),
        (
            f"{SCHEDULE}?role=operator&holidays={','.join(str(date(2026, 12, 25) + timedelta(n)) for n in range(401))}",
            "holidays",
        ),
        (f"{SCHEDULE}?role=operator&minimise=luck", "minimise"),
        (f"{SCHEDULE}?role=operator&max_moves=2", "max_moves"),
        (f"{SCHEDULE}/diagram?role=operator&page=0", "page"),
        (f"{SCHEDULE}/diagram?role=operator&page=2", "page"),
        (f"{SCHEDULE}/diagram?role=operator&layout=paper&page=9", "page"),
        ("/api/roles/operator/schedule", "from"),
        ("/api/roles/operator/schedule?from=nobody", "from"),
        ("/api/roles/operator/schedule/diagram?from=nobody", "from"),
        (f"{PLAN}?role=nobody", "role"),
        (f"{PLAN}?role=operator&with_routes=perhaps", "with_routes"),
        (f"{PLAN}?role=operator&start=2026-11-23&on=2026-11-24", "start"),
    ],
)
def test_a_wrong_parameter_is_named(client: FlaskClient, address: str, parameter: str) -> None:
    response = client.get(address)
    assert (response.status_code, response.mimetype) == (422, "application/problem+json")
    assert response.json is not None
    assert [row["parameter"] for row in response.json["errors"]] == [parameter]


@pytest.mark.parametrize("address", [SCHEDULE, PLAN, f"{SCHEDULE}/diagram", PAGE])
def test_an_unknown_person_is_not_found(client: FlaskClient, address: str) -> None:
    assert client.get(address.replace("p1", "nobody"), query_string={"role": "operator"}).status_code == 404


def test_a_plan_of_more_than_fifty_years_is_a_wrong_question(client: FlaskClient) -> None:
    response = client.get(SCHEDULE, query_string={"role": "operator", "on": "9999-12-01"})
    assert response.status_code == 422
    assert "9999" in response.text


# ---- the development plan ----


def test_plan_as_json(client: FlaskClient) -> None:
    answer = ask(client, PLAN)
    assert (answer["person"], answer["role"], answer["role_label"]) == ("p1", "operator", "Operator")
    assert answer["now"] == {k: v for k, v in ask_gap(client).items() if k not in ("person", "revision", "cautions")}
    schedule = ask(client, SCHEDULE)
    assert answer["schedule"] == {k: schedule[k] for k in answer["schedule"]}
    assert [step["course"] for step in answer["steps"]] == [course["id"] for course in schedule["courses"]]
    assert answer["routes"] is None
    assert "belongs to the person" in answer["cautions"][0]


def ask_gap(client: FlaskClient) -> dict[str, Any]:
    return ask(client, "/api/people/p1/gap")


def test_plan_with_routes_tells_what_the_direct_move_breaks(client: FlaskClient) -> None:
    within = ask(client, PLAN, with_routes="yes")["routes"]
    assert (within["within_reach"], within["broken_limits"]) == (True, [])
    response = client.get(PLAN, query_string={"role": "helper", "on": ON, "with_routes": "yes"})
    assert response.json is not None
    assert response.json["routes"] is None, "helper is what p1 is"


def test_plan_as_calendar_file(client: FlaskClient) -> None:
    response = client.get(PLAN, query_string={"role": "operator", "on": ON, "format": "ics"})
    assert (response.status_code, response.mimetype) == (200, "text/calendar")
    assert response.headers["Content-Disposition"] == 'attachment; filename="development-plan.ics"'
    events = icalendar.Calendar.from_ical(response.data).walk("VEVENT")
    plan = ask(client, PLAN)
    spans = {str(e["SUMMARY"]): (e["DTSTART"].dt.isoformat(), e["DTEND"].dt) for e in events}
    for step in plan["steps"]:
        first, after = spans[f"Course: {step['label']}"]
        assert first == step["first_day"]
        assert (after - date.fromisoformat(step["last_day"])).days == 1
        for row in step["follow_ups"]:
            words = f"Follow-up after {row['months']} month{'s' if row['months'] > 1 else ''}: {step['label']}"
            assert spans[words][0] == row["day"]
    assert len(events) == 4 * len(plan["steps"])
    assert len({str(event["UID"]) for event in events}) == len(events)


def test_plan_as_workbook(client: FlaskClient) -> None:
    media_type = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    response = client.get(PLAN, query_string={"role": "operator", "on": ON}, headers={"Accept": media_type})
    assert (response.status_code, response.mimetype) == (200, media_type)
    book = openpyxl.load_workbook(io.BytesIO(response.data))
    tables = ["Where you stand", "Courses", "Kinds of learning", "Practice", "Follow-up"]
    assert book.sheetnames == ["Answer", *tables, "Cautions"]
    plan = ask(client, PLAN)
    gaps = list(book["Where you stand"].iter_rows(min_row=2, values_only=True))
    assert [row[1:4] for row in gaps] == [(row["level"], row["have"], row["gap"]) for row in plan["now"]["gaps"]]
    courses = list(book["Courses"].iter_rows(min_row=2, values_only=True))
    assert [(row[1], *(day.date().isoformat() for day in row[2:4]), row[4]) for row in courses] == [
        (course["label"], course["first_day"], course["last_day"], course["study_hours"])
        for course in plan["schedule"]["courses"]
    ]
    practised = [row[3] for row in book["Practice"].iter_rows(min_row=2, values_only=True)]
    assert practised == [outcome["practice"] for step in plan["steps"] for outcome in step["outcomes"]]
    days = [row[0] for row in book["Follow-up"].iter_rows(min_row=2, values_only=True)]
    assert days == sorted(days)
    assert len(days) == 3 * len(courses)
    assert [row[0] for row in book["Cautions"].iter_rows(min_row=2, values_only=True)] == plan["cautions"]


@pytest.mark.parametrize("form", ["ics", "xlsx"])
def test_an_unchanged_file_is_not_sent_again(client: FlaskClient, form: str) -> None:
    question = {"role": "operator", "on": ON, "format": form}
    first = client.get(PLAN, query_string=question)
    again = client.get(PLAN, query_string=question, headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")
    assert client.get(PLAN, query_string=question).data == first.data


def test_other_forms_are_refused(client: FlaskClient) -> None:
    assert client.get(PLAN, query_string={"role": "operator", "format": "pdf"}).status_code == 406
    assert client.get(SCHEDULE, query_string={"role": "operator", "format": "ics"}).status_code == 406


# ---- the page ----


def test_the_page_says_whose_it_is_and_everything_the_answer_says(client: FlaskClient) -> None:
    response = client.get(PAGE, query_string={"role": "operator", "on": ON, "with_routes": "yes"})
    assert (response.status_code, response.mimetype) == (200, "text/html")
    assert "This plan belongs to Ada Example." in response.text
    plan = ask(client, PLAN)
    for step in plan["steps"]:
        assert step["label"] in response.text
    assert "weak evidence" in response.text
    assert "Saks and Belcourt" in response.text
    # markup in a label is text
    assert "Licence &lt;1&gt; &amp; &#34;2&#34;" in response.text
    for caution in plan["cautions"]:
        assert caution in html.unescape(response.text)


def test_no_shared_cache_keeps_what_someone_explores(client: FlaskClient) -> None:
    headers = client.get(PAGE, query_string={"role": "operator", "on": ON}).headers
    assert headers["Cache-Control"] == "private, no-store"
    assert "script-src 'self';" in headers["Content-Security-Policy"]
    assert headers["Content-Security-Policy"].startswith("default-src 'none'")


def test_the_page_leads_to_every_form_of_the_same_plan(client: FlaskClient) -> None:
    question = {"role": "operator", "on": ON, "holidays": "2026-12-25", "study_hours_per_week": "5"}
    page = client.get(PAGE, query_string=question).text
    for form in ("ics", "xlsx", "json"):
        link = next(part for part in page.split('"') if part.startswith("/api/") and part.endswith(f"format={form}"))
        assert client.get(link.replace("&amp;", "&")).status_code == 200


def test_a_page_of_nothing_to_learn_is_a_page(client: FlaskClient) -> None:
    response = client.get(PAGE, query_string={"role": "helper", "on": ON})
    assert response.status_code == 200
    assert "No course is needed" in response.text


def test_a_wrong_question_to_the_page_is_answered_in_html(client: FlaskClient) -> None:
    response = client.get(PAGE, query_string={"role": "nobody"})
    assert (response.status_code, response.mimetype) == (422, "text/html")


# ---- the picture ----


def test_the_picture_can_be_had_as_dot_text_with_everything_in_words(client: FlaskClient) -> None:
    question = {"role": "operator", "on": ON, "format": "dot", "holidays": "2026-12-25"}
    text = client.get(f"{SCHEDULE}/diagram", query_string=question).text
    title, description = text.split("\n")[:2]
    assert title == "// title: Calendar of Ada Example to Operator"
    for course in ask(client, SCHEDULE, holidays="2026-12-25")["courses"]:
        assert course["label"] in description
        assert ("critical" in description) or not course["is_critical"]
    assert "Days without study: 25 Dec 2026." in description


@pytest.mark.parametrize("layout", ["screen", "paper"])
def test_the_picture_has_its_text_alternative(client: FlaskClient, layout: str) -> None:
    if shutil.which("dot") is None:
        pytest.skip("the Graphviz program dot is not installed")
    response = client.get(f"{SCHEDULE}/diagram", query_string={"role": "operator", "on": ON, "layout": layout})
    assert (response.status_code, response.mimetype) == (200, "image/svg+xml")
    root = ET.fromstring(response.data)
    described = root.find(f"{SVG}desc")
    assert described is not None
    assert "Pumps and valves" in str(described.text)
