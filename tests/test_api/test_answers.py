"""Every answer about the small company, each value worked out by hand from its tables.

p1 studies the default 4 hours a week; a month has 52/12 weeks.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
from flask.testing import FlaskClient
from rest_company import ANSWERS, ON, build_company, forget_time
from werkzeug.test import TestResponse

from api.app import create_app
from api.http.negotiation import WORKBOOK
from api.settings import Settings

every_answer = pytest.mark.parametrize("address", ANSWERS)


def ask(client: FlaskClient, address: str, **parameters: Any) -> dict[str, Any]:
    """Return an answer of 2026-11-24."""
    response = client.get(address, query_string={"on": ON, **parameters})
    assert response.status_code == 200, response.text
    return dict(response.json or {})


@every_answer
def test_every_answer_says_its_revision_and_its_limits(client: FlaskClient, address: str) -> None:
    response = client.get(address)
    assert (response.status_code, response.mimetype) == (200, "application/json"), response.text
    assert response.json is not None
    assert response.json["revision"] == 1
    # a list of names, or of texts, is no judgement
    assert len(response.json["cautions"]) >= (0 if "/find" in address else 1 if "/translations" in address else 2)
    assert all(isinstance(line, str) and line for line in response.json["cautions"])


@every_answer
def test_an_answer_is_had_in_the_forms_it_has_and_in_no_other(client: FlaskClient, address: str) -> None:
    for media_type in ("text/turtle", "application/ld+json", "image/svg+xml"):
        response = client.get(address, headers={"Accept": media_type})
        assert (response.status_code, response.mimetype) == (406, "application/problem+json")
    mark = "&" if "?" in address else "?"
    for form, media_type in {"json": "application/json", "html": "text/html", "xlsx": WORKBOOK}.items():
        response = client.get(f"{address}{mark}format={form}")
        assert (response.status_code, response.mimetype) == (200, media_type)
        assert client.get(address, headers={"Accept": media_type}).mimetype == media_type
    assert client.get(f"{address}{mark}format=turtle").status_code == 406


@every_answer
def test_an_unchanged_answer_is_not_sent_again(client: FlaskClient, address: str) -> None:
    first = client.get(address)
    assert first.headers["ETag"].startswith("W/")
    again = client.get(address, headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")


@pytest.fixture(scope="module")
def elsewhere() -> Iterator[FlaskClient]:
    """The same company in another store, whose answers are worked out each time they are asked for."""
    graph = build_company()
    yield create_app(graph, Settings(answer_cache_bytes=0)).test_client()
    graph.close()


@every_answer
def test_who_works_it_out_anew_says_the_same(client: FlaskClient, elsewhere: FlaskClient, address: str) -> None:
    told = forget_time(client.get(address).data)
    assert [forget_time(elsewhere.get(address).data) for _ in range(2)] == [told, told]


def test_gap_of_a_person(client: FlaskClient) -> None:
    answer = ask(client, "/api/people/p1/gap", role="operator")
    assert (answer["person"], answer["role"], answer["on"]) == ("p1", "operator", ON)
    # weights are all 3: pump 2 of 3, valve and licence never assessed
    assert answer["readiness"] == pytest.approx(2 / 9)
    assert answer["standing"] == "none"
    assert (answer["blocking_unmet"], answer["essential_met"], answer["essential_total"]) == (1, 0, 2)
    assert answer["assess_first"] == ["licence", "valve"]
    rows = {row["competency"]: row for row in answer["gaps"]}
    assert rows["pump"] == {
        "competency": "pump",
        "level": 3,
        "have": 2,
        "declared": None,
        "gap": 1,
        "necessity": "essential",
        "weight": 3.0,
        "source": "assessor",
        "date": "2026-01-10",
        "age_days": 318,
        "state": "ok",
        "by_equivalence": None,
        "carried_from": None,
    }
    assert (rows["valve"]["have"], rows["valve"]["declared"], rows["valve"]["gap"]) == (None, 3, 2)
    assert (rows["licence"]["state"], rows["licence"]["gap"]) == ("not-assessed", 1)


def test_gap_on_an_earlier_day_does_not_know_what_came_later(client: FlaskClient) -> None:
    answer = ask(client, "/api/people/p1/gap", role="operator", on="2026-01-09")
    assert answer["readiness"] == 0
    assert answer["assess_first"] == ["licence", "pump", "valve"]


def test_gap_between_two_roles(client: FlaskClient) -> None:
    answer = ask(client, "/api/roles/senior/gap", **{"from": "operator"})
    assert (answer["from_role"], answer["role"]) == ("operator", "senior")
    assert {row["competency"]: (row["have"], row["gap"]) for row in answer["gaps"]} == {"pump": (3, 1), "valve": (2, 1)}
    # (3/4 + 2/3) / 2
    assert answer["readiness"] == pytest.approx(17 / 24)
    assert answer["standing"] == "may-start"


@pytest.mark.parametrize(
    ("minimise", "courses", "hours", "cost"),
    [
        ("hours", {"combined", "licence-course"}, 43, 700),
        ("cost", {"pump-3", "valve-2", "licence-course"}, 44, 350),
        ("courses", {"combined", "licence-course"}, 43, 700),
    ],
)
def test_learning_path_by_each_aim(
    client: FlaskClient, minimise: str, courses: set[str], hours: float, cost: float
) -> None:
    answer = ask(client, "/api/people/p1/learning-path", role="operator", minimise=minimise)
    assert answer["status"] == "optimal"
    assert {course["id"] for course in answer["courses"]} == courses
    assert (answer["study_hours"], answer["cost"]) == (hours, cost)
    assert answer["lower_bound"] == {"hours": hours, "cost": cost, "courses": len(courses)}[minimise]
    assert answer["assess_first"] == ["licence", "valve"]
    serves = {course["id"]: course["serves"] for course in answer["courses"]}
    assert serves["licence-course"] == ["licence"]


def test_learning_path_that_cannot_be_gone_to_the_end(client: FlaskClient) -> None:
    answer = ask(client, "/api/people/p1/learning-path", role="senior")
    assert answer["status"] == "unreachable"
    assert {(row["competency"], row["level"]) for row in answer["unreachable"]} == {("pump", 4), ("valve", 3)}
    assert all(row["reason"] for row in answer["unreachable"])
    assert (answer["study_hours"], answer["courses"]) == (0, [])


def test_learning_path_with_nothing_to_do(client: FlaskClient) -> None:
    answer = ask(client, "/api/people/p2/learning-path", role="operator")
    assert (answer["status"], answer["study_hours"], answer["courses"]) == ("nothing-to-do", 0, [])


def test_learning_path_between_two_roles(client: FlaskClient) -> None:
    answer = ask(client, "/api/roles/operator/learning-path", **{"from": "helper"})
    # a helper has pump 1: pump-3 asks for 2, so the combined course is the only way
    assert (answer["from_role"], answer["status"], answer["study_hours"]) == ("helper", "optimal", 43)


def test_routes_of_a_person(client: FlaskClient) -> None:
    answer = ask(client, "/api/people/p1/routes", to="chief")
    assert answer["status"] == "optimal"
    for aim in ("study_hours", "months", "moves"):
        route = answer["best"][aim]
        assert route["roles"] == ["senior", "chief"]
        assert route["study_hours"] == 27
        # 27 h at 4 h a week, then the 12 months in which a senior operator's levels grow
        assert route["months"] == pytest.approx(27 / 4 / (52 / 12) + 12)
    moves = answer["best"]["study_hours"]["moves"]
    assert [(move["role"], move["study_hours"], move["courses"]) for move in moves] == [
        ("senior", 27, ["combined"]),
        ("chief", 0, []),
    ]
    assert moves[1]["months"] == 0
    direct = answer["direct"]
    assert (direct["study_hours"], direct["within_reach"]) == (None, False)
    assert {limit["competency"] for limit in direct["broken_limits"]} == {"valve"}


def test_routes_heed_the_limits_asked(client: FlaskClient) -> None:
    assert ask(client, "/api/people/p1/routes", to="chief", max_moves=1)["best"]["moves"] is None
    assert ask(client, "/api/people/p1/routes", to="chief", preparation_limit=26.5)["status"] == "unreachable"
    assert ask(client, "/api/people/p1/routes", to="chief", level_limit=0)["status"] == "unreachable"


def test_routes_of_a_role(client: FlaskClient) -> None:
    answer = ask(client, "/api/roles/operator/routes", to="senior")
    assert answer["from_role"] == "operator"
    assert answer["direct"]["within_reach"] is True
    assert answer["best"]["study_hours"]["study_hours"] == 0
    assert answer["status"] == "nothing-to-do"


def test_a_route_to_the_present_role_is_a_wrong_question(client: FlaskClient) -> None:
    for address in ("/api/people/p1/routes?to=helper", "/api/roles/helper/routes?to=helper"):
        response = client.get(address)
        assert (response.status_code, response.mimetype) == (422, "application/problem+json")


def test_reachable_roles(client: FlaskClient) -> None:
    answer = ask(client, "/api/people/p1/reachable-roles")
    assert [(row["id"], row["study_hours"], row["within_reach"]) for row in answer["roles"]] == [
        ("senior", 27, True),
        ("operator", 43, True),
        ("chief", None, False),
    ]


def test_similar_roles(client: FlaskClient) -> None:
    answer = ask_without_day(client, "/api/roles/senior/similar").json or {}
    values = [row["similarity"] for row in answer["roles"]]
    assert {row["id"] for row in answer["roles"]} == {"helper", "operator", "chief"}
    assert values == sorted(values, reverse=True)
    assert all(0 <= value <= 1 for value in values)
    shorter = ask_without_day(client, "/api/roles/senior/similar?limit=1").json or {}
    assert shorter["roles"] == answer["roles"][:1]


def ask_without_day(client: FlaskClient, address: str) -> TestResponse:
    """Return the response to a question that has no day."""
    response = client.get(address)
    assert response.status_code == 200, response.text
    return response


def test_coverage(client: FlaskClient) -> None:
    answer = ask(client, "/api/teams/works/coverage")
    rows = {row["competency"]: row for row in answer["needs"]}
    assert [rows["pump"][name] for name in ("minimum", "target", "depth", "state", "qualified")] == [
        1,
        2,
        2,
        "covered",
        ["p1", "p2"],
    ]
    assert [rows["valve"][name] for name in ("depth", "state", "qualified", "criticality", "applies", "shift")] == [
        1,
        "sole-holder",
        ["p2"],
        5,
        "team",
        None,
    ]


def test_coverage_with_people_away(client: FlaskClient) -> None:
    answer = ask(client, "/api/teams/works/coverage", away="p2,p3")
    assert (answer["away"], answer["absent"]) == (["p2", "p3"], ["p2", "p3"])
    assert {row["competency"]: (row["depth"], row["state"]) for row in answer["needs"]} == {
        "pump": (1, "sole-holder"),
        "valve": (0, "short"),
    }


def test_a_recorded_absence_counts_on_its_days_only(client: FlaskClient) -> None:
    assert ask(client, "/api/teams/works/coverage", on="2026-12-05")["absent"] == ["p3"]
    assert ask(client, "/api/teams/works/coverage", on="2026-12-06")["absent"] == []


def test_single_points_of_failure(client: FlaskClient) -> None:
    answer = ask(client, "/api/teams/works/single-points-of-failure")
    (point,) = answer["people"]
    assert point["id"] == "p2"
    assert [(need["competency"], need["level"]) for need in point["needs"]] == [("valve", 2)]
    assert point["places"] == ["desk"]
    assert ask(client, "/api/teams/works/single-points-of-failure", away="p2")["people"] == [
        {
            "id": "p1",
            "needs": [{"competency": "pump", "level": 2, "applies": "team", "shift": None}],
            "places": [],
            "together": [],
        }
    ]


def test_staffing(client: FlaskClient) -> None:
    answer = ask(client, "/api/teams/works/staffing")
    assert (answer["places"], answer["filled"], answer["unfilled"]) == (1, 1, [])
    assert answer["assignment"] == [{"place": "desk", "person": "p2", "shift": None}]
    assert {name: answer["tolerance"][name] for name in ("needs", "places", "overall")} == {
        "needs": 0,
        "places": 0,
        "overall": 0,
    }
    assert answer["critical_absences"] == ["p2"]
    empty = ask(client, "/api/teams/works/staffing", away="p2")
    assert (empty["filled"], empty["unfilled"], empty["bottleneck"]["places"]) == (0, ["desk"], ["desk"])
    assert empty["tolerance"]["overall"] is None


def test_cross_training(client: FlaskClient) -> None:
    answer = ask(client, "/api/teams/works/cross-training")
    assert (answer["status"], answer["study_hours"], answer["coach_hours"]) == ("optimal", 8, 2)
    (line,) = answer["plan"]
    assert (line["person"], line["competency"], line["level"], line["courses"]) == ("p1", "valve", 2, ["valve-2"])
    assert answer["unmet"] == []
    short = ask(client, "/api/teams/works/cross-training", hours_limit=7.5)
    assert (short["status"], short["study_hours"]) == ("unreachable", 0)
    assert [(row["competency"], row["missing"]) for row in short["unmet"]] == [("valve", 1)]
    office = ask(client, "/api/teams/office/cross-training")
    assert (office["status"], office["plan"]) == ("nothing-to-do", [])
    stands_one = ask(client, "/api/teams/works/cross-training", tolerance=1)
    assert stands_one["tolerance"] == 1
    assert "licence" in {line["competency"] for line in stands_one["plan"]}


def test_the_default_day_is_today(client: FlaskClient) -> None:
    before = datetime.now(UTC).date()
    told = client.get("/api/teams/works/coverage").json
    assert told is not None
    assert before.isoformat() <= told["on"] <= datetime.now(UTC).date().isoformat()


def test_an_answer_sees_the_write_before_it(writer: FlaskClient) -> None:
    before = ask(writer, "/api/teams/works/coverage")
    body = {"competency": "valve", "level": 2, "date": "2026-11-01", "source": "assessor"}
    assert writer.post("/api/people/p3/assessments", json=body).status_code == 201
    after = ask(writer, "/api/teams/works/coverage")
    assert after["revision"] == before["revision"] + 1
    assert {row["competency"]: row["depth"] for row in after["needs"]} == {"pump": 2, "valve": 2}
