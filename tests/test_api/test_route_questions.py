"""What may be asked of routes: roles to avoid, a role to pass, hours a week; over HTTP, as pictures, on the line."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient

ADDRESS = "/api/people/p1/routes"


def ask(client: FlaskClient, address: str = ADDRESS, **asked: Any) -> dict[str, Any]:
    response = client.get(address, query_string={"to": "chief"} | asked)
    assert response.status_code == 200, response.text
    answer: dict[str, Any] = response.get_json()
    return answer


def test_an_avoided_role_is_never_moved_into_and_the_direct_move_is_there(client: FlaskClient) -> None:
    answer = ask(client, avoid="senior,operator")
    assert (answer["status"], answer["best"]["study_hours"], answer["other_routes"]) == ("unreachable", None, [])
    assert answer["direct"]["roles"] == ["chief"]
    assert ask(client, avoid="operator")["best"]["study_hours"]["roles"] == ["senior", "chief"]


def test_every_route_passes_through_the_role_asked_for(client: FlaskClient) -> None:
    answer = ask(client, via="senior")
    assert (answer["status"], answer["best"]["moves"]["roles"]) == ("optimal", ["senior", "chief"])
    through = ask(client, via="operator", max_moves=4)
    shown = [through["best"]["study_hours"], *through["trade_off"], *through["other_routes"]]
    both = {("operator", "senior", "chief"), ("senior", "operator", "chief")}
    assert {tuple(route["roles"]) for route in shown} == both
    assert ask(client, via="senior", max_moves=1)["status"] == "unreachable"


def test_routes_from_a_role_take_the_same_questions(client: FlaskClient) -> None:
    # pump 4 of a chief is more than a helper can be taught: only time as a senior operator brings it
    answer = ask(client, "/api/roles/helper/routes", via="senior", preparation_limit=300)
    assert answer["best"]["study_hours"]["roles"] == ["senior", "chief"]
    answer = ask(client, "/api/roles/helper/routes", avoid="senior", preparation_limit=300)
    assert answer["status"] == "unreachable"


def test_hours_a_week_pace_the_months_and_change_no_study(client: FlaskClient) -> None:
    own, faster = (ask(client, **asked)["best"]["study_hours"] for asked in ({}, {"study_hours_per_week": 9}))
    assert own["study_hours"] == faster["study_hours"] == 27
    assert own["months"] == pytest.approx(12 + 27 / 4 / (52 / 12))
    assert faster["months"] == pytest.approx(12 + 27 / 9 / (52 / 12))
    direct = ask(client, "/api/people/p1/routes", to="operator", study_hours_per_week=10)["direct"]
    assert direct["months"] == pytest.approx(direct["study_hours"] / 10 * 12 / 52)


@pytest.mark.parametrize(
    "query",
    [
        "to=chief&avoid=chief",
        "to=chief&avoid=senior,chief",
        "to=chief&via=chief",
        "to=chief&via=helper",
        "to=chief&via=senior&avoid=senior",
    ],
)
@pytest.mark.parametrize("form", [ADDRESS, ADDRESS + "/diagram"])
def test_a_contradiction_is_a_wrong_question(client: FlaskClient, form: str, query: str) -> None:
    response = client.get(f"{form}?{query}")
    assert (response.status_code, response.mimetype) == (422, "application/problem+json")


def test_a_picture_takes_the_same_questions_as_its_answer(client: FlaskClient) -> None:
    def draw(query: str) -> str:
        response = client.get(f"{ADDRESS}/diagram?to=chief&format=dot{query}")
        assert response.status_code == 200, response.text
        return response.text

    assert "No route within the limits" in draw("&avoid=senior")
    assert "No route within the limits" not in draw("&via=senior")
    assert draw("&study_hours_per_week=1") != draw("")


def test_the_document_describes_the_parameters(client: FlaskClient) -> None:
    document = client.get("/api/openapi.json").get_json()
    for path in ("/people/{id}/routes", "/roles/{id}/routes", "/people/{id}/routes/diagram"):
        operation = next(item["get"] for key, item in document["paths"].items() if key.endswith(path))
        named = {parameter["name"]: parameter for parameter in operation["parameters"]}
        assert named.keys() >= {"avoid", "via", "study_hours_per_week"}
        assert all(named[name]["description"] for name in ("avoid", "via", "study_hours_per_week"))
