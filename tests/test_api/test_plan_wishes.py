"""Calendar, its picture, plan and the path's picture take the wishes of the learning path, and say what stays missing.

p1 has pump 2 and studies 4 hours a week. Operator asks for pump 3, valve 2, licence 1. Courses: combined (pump 3 and
valve 2) 27 h, 500; pump-3 20 h, 100; valve-2 8 h, 50; licence-course 16 h, 200.
"""

from __future__ import annotations

import io
from typing import Any

import icalendar
import openpyxl
import pytest
from flask.testing import FlaskClient
from rest_company import ON

BASE = "/api/people/p1"
#: Every answer that is made of a learning path.
MADE = [
    f"{BASE}/schedule?role=operator",
    f"{BASE}/schedule/diagram?role=operator",
    "/api/roles/operator/schedule?from=helper",
    "/api/roles/operator/schedule/diagram?from=helper",
    f"{BASE}/development-plan?role=operator",
    "/people/p1/development-plan?role=operator",
    f"{BASE}/learning-path/diagram?role=operator",
    "/api/roles/operator/learning-path/diagram?from=helper",
]


def ask(client: FlaskClient, address: str, **parameters: Any) -> dict[str, Any]:
    response = client.get(address, query_string={"role": "operator", "on": ON, **parameters})
    assert response.status_code == 200, response.text
    return dict(response.json or {})


def get_courses(schedule: dict[str, Any]) -> dict[str, bool]:
    return {course["id"]: course["is_booked"] for course in schedule["courses"]}


WISHES: list[dict[str, Any]] = [
    {},
    {"exclude": "combined"},
    {"max_hours": 20},
    {"max_cost": 100, "exclude": "combined"},
    {"already_booked": "valve-2"},
    {"already_booked": "valve-2,pump-3", "max_cost": 0},
    {"minimise": "cost", "max_hours": 1000},
]


@pytest.mark.parametrize("wishes", WISHES, ids=str)
def test_calendar_and_plan_are_of_the_path_with_the_same_wishes(client: FlaskClient, wishes: dict[str, Any]) -> None:
    path = ask(client, f"{BASE}/learning-path", **wishes)
    schedule = ask(client, f"{BASE}/schedule", **wishes)
    plan = ask(client, f"{BASE}/development-plan", **wishes)["schedule"]
    assert plan == {name: schedule[name] for name in plan}
    assert set(get_courses(schedule)) == set(path["order"])
    assert {i for i, is_booked in get_courses(schedule).items() if is_booked} == {row["id"] for row in path["booked"]}
    same = ("study_hours", "cost", "booked_hours", "booked_cost", "within_budget", "budget", "readiness_after")
    assert {name: schedule[name] for name in same} == {name: path[name] for name in same}
    left = [row for row in path["requirements"] if row["state"] in ("unreachable", "beyond-budget")]
    assert schedule["missing"] == left
    assert schedule["is_target_reached"] == (not left)


def test_an_excluded_course_is_not_in_the_calendar(client: FlaskClient) -> None:
    courses = get_courses(ask(client, f"{BASE}/schedule", exclude="combined"))
    assert courses == {"pump-3": False, "valve-2": False, "licence-course": False}


def test_a_booked_course_costs_nothing_more_and_takes_its_days_and_hours(client: FlaskClient) -> None:
    answer = ask(client, f"{BASE}/schedule", exclude="combined", already_booked="valve-2")
    assert get_courses(answer) == {"pump-3": False, "valve-2": True, "licence-course": False}
    assert (answer["study_hours"], answer["cost"]) == (36, 300)
    assert (answer["booked_hours"], answer["booked_cost"]) == (8, 50)
    # 44 hours at 48 minutes a day: 55 weekdays, the same as if nothing were booked
    assert answer["finish"] == ask(client, f"{BASE}/schedule", exclude="combined")["finish"] == "2027-02-08"
    assert any("the dates booked are not known" in remark for remark in answer["remarks"])


def test_a_booked_course_of_no_use_takes_its_place_too(client: FlaskClient) -> None:
    answer = ask(client, f"{BASE}/schedule", role="helper", already_booked="valve-2")
    assert get_courses(answer) == {"valve-2": True}
    assert (answer["status"], answer["finish"], answer["study_hours"]) == ("nothing-to-do", "2026-12-07", 0)


def test_the_calendar_between_roles_holds_booked_courses_too(client: FlaskClient) -> None:
    question = {"from": "chief", "on": ON, "already_booked": "pump-3"}
    answer = client.get("/api/roles/helper/schedule", query_string=question).json
    assert answer is not None
    assert get_courses(answer) == {"pump-3": True}


def test_a_budget_that_buys_nothing_is_a_plan_that_says_so(client: FlaskClient) -> None:
    answer = ask(client, f"{BASE}/schedule", max_cost=0)
    assert (answer["courses"], answer["finish"], answer["is_target_reached"]) == ([], None, False)
    assert [row["competency"] for row in answer["missing"]] == ["licence", "pump", "valve"]
    page = client.get("/people/p1/development-plan", query_string={"role": "operator", "on": ON, "max_cost": 0}).text
    assert "This plan does not reach the target." in page
    assert "No course is planned: the budget buys none." in page
    assert "No course is needed" not in page


CUT = {"role": "operator", "on": ON, "max_cost": 100, "exclude": "combined", "already_booked": "valve-2"}


def test_every_form_says_that_the_target_is_not_reached_and_what_is_booked(client: FlaskClient) -> None:
    page = client.get("/people/p1/development-plan", query_string=CUT).text
    assert "This plan does not reach the target." in page
    assert "(blocking): level 0 after this plan, the rest is beyond the budget" in page
    assert "Valves (booked already)" in page
    text = client.get(f"{BASE}/schedule/diagram", query_string=CUT | {"format": "dot"}).text
    assert "The target is not reached: 1 level beyond the budget; readiness" in text
    assert "1. Valves, 24 Nov – 7 Dec 2026, 8\u00a0h (critical, booked)." in text.split("\n")[1]
    picture = client.get(f"{BASE}/learning-path/diagram", query_string=CUT | {"format": "dot"}).text
    assert "The target is not reached: 1 target level stays open, readiness" in picture
    assert "Step 2: Valves, 8\u00a0h, 50 cost units, booked already;" in picture
    paper = CUT | {"format": "dot", "layout": "paper"}
    assert "booked already" in client.get(f"{BASE}/learning-path/diagram", query_string=paper).text
    book = openpyxl.load_workbook(
        io.BytesIO(client.get(f"{BASE}/development-plan", query_string=CUT | {"format": "xlsx"}).data)
    )
    summary = [row[1] for row in book["Answer"].iter_rows(min_row=2, values_only=True)]
    assert "The target is not reached: readiness 0.22 before, 0.67 after this plan." in summary
    assert 'Beyond the budget: Licence <1> & "2" at level 1; level 0 is reached.' in summary
    head, *courses = book["Courses"].iter_rows(values_only=True)
    kinds = {row[head.index("course")]: row[head.index("kind")] for row in courses}
    assert kinds == {"Valves": "critical, booked", "Pumps on the job": "critical"}
    file = client.get(f"{BASE}/development-plan", query_string=CUT | {"format": "ics"}).data
    told = {str(e["SUMMARY"]): str(e["DESCRIPTION"]) for e in icalendar.Calendar.from_ical(file).walk("VEVENT")}
    assert told["Course: Valves"].startswith("Booked already")
    assert not told["Course: Pumps on the job"].startswith("Booked already")


@pytest.mark.parametrize("address", MADE)
@pytest.mark.parametrize(
    ("wrong", "parameter"),
    [
        ("exclude=nothing", "exclude"),
        ("exclude=a,,b", "exclude"),
        ("already_booked=nothing", "already_booked"),
        ("exclude=valve-2&already_booked=valve-2", "already_booked"),
        ("max_hours=-1", "max_hours"),
        ("max_hours=much", "max_hours"),
        ("max_cost=-0.5", "max_cost"),
        ("alternatives=6", "alternatives"),
    ],
)
def test_a_wrong_wish_is_the_one_parameter_named(client: FlaskClient, address: str, wrong: str, parameter: str) -> None:
    response = client.get(f"{address}&{wrong}", headers={"Accept": "*/*"})
    assert response.status_code == 422
    if response.mimetype == "application/problem+json":
        assert response.json is not None
        assert [row["parameter"] for row in response.json["errors"]] == [parameter]
    else:
        assert parameter in response.text


def test_the_paths_picture_is_asked_for_alternatives_as_its_answer_is_and_no_calendar_is(client: FlaskClient) -> None:
    question = {"role": "operator", "on": ON, "format": "dot"}

    def draw(**more: str) -> str:
        return client.get(f"{BASE}/learning-path/diagram", query_string=question | more).text

    assert "you can take" in draw()
    assert draw(alternatives="2") == draw()
    assert "you can take" not in draw(alternatives="0")
    for address in MADE:
        if "learning-path" not in address:
            refused = client.get(f"{address}&alternatives=1")
            assert refused.status_code == 422
            assert "is not known here" in refused.text


def test_the_page_leads_to_the_other_forms_with_its_wishes(client: FlaskClient) -> None:
    page = client.get("/people/p1/development-plan", query_string=CUT).text
    for form in ("ics", "xlsx", "json"):
        link = next(part for part in page.split('"') if part.startswith("/api/") and part.endswith(f"format={form}"))
        assert "already_booked=valve-2" in link
        assert client.get(link.replace("&amp;", "&")).status_code == 200


def test_what_holds_the_finish_is_told_link_by_link_or_that_nothing_does(client: FlaskClient) -> None:
    question = {"exclude": "combined", "at_once": 1}
    answer = ask(client, f"{BASE}/schedule", **question)
    assert [link["course"] for link in answer["critical_links"]] == answer["critical_chain"]
    assert [link["kind"] for link in answer["critical_links"]] == ["start", "place", "place"]
    assert answer["critical_links"][0]["after"] is None
    assert [link["after"] for link in answer["critical_links"][1:]] == answer["critical_chain"][:-1]
    assert answer["no_chain"] == ""
    page = client.get("/people/p1/development-plan", query_string={"role": "operator", "on": ON, **question}).text
    assert "At most 1 at once: the place is free when" in page
