"""Every malformed parameter is a 422 that names it; an unknown id in the path is a 404."""

from __future__ import annotations

import pytest
from flask.testing import FlaskClient

WRONG = [
    ("/api/people/p1/gap", "role"),
    ("/api/people/p1/gap?role=", "role"),
    ("/api/people/p1/gap?role=nobody", "role"),
    ("/api/people/p1/gap?role=a%20b", "role"),
    ("/api/people/p1/gap?role=operator&role=helper", "role"),
    ("/api/people/p1/gap?role=operator&on=24.11.2026", "on"),
    ("/api/people/p1/gap?role=operator&on=20261124", "on"),
    ("/api/people/p1/gap?role=operator&on=2026-02-30", "on"),
    ("/api/people/p1/gap?role=operator&on=2026-11-24T00:00", "on"),
    ("/api/people/p1/gap?role=operator&on=", "on"),
    ("/api/people/p1/gap?role=operator&from=helper", "from"),
    ("/api/people/p1/gap?role=operator&Role=operator", "Role"),
    ("/api/roles/operator/gap", "from"),
    ("/api/roles/operator/gap?from=nobody", "from"),
    ("/api/roles/operator/gap?from=helper&role=helper", "role"),
    ("/api/people/p1/learning-path", "role"),
    ("/api/people/p1/learning-path?role=operator&minimise=time", "minimise"),
    ("/api/people/p1/learning-path?role=operator&desirable=maybe", "desirable"),
    ("/api/people/p1/learning-path?role=operator&time_limit=0", "time_limit"),
    ("/api/people/p1/learning-path?role=operator&time_limit=61", "time_limit"),
    ("/api/people/p1/learning-path?role=operator&time_limit=1e1", "time_limit"),
    ("/api/roles/operator/learning-path?from=", "from"),
    ("/api/people/p1/learning-path?role=operator&max_hours=-1", "max_hours"),
    ("/api/people/p1/learning-path?role=operator&max_cost=much", "max_cost"),
    ("/api/people/p1/learning-path?role=operator&exclude=nothing", "exclude"),
    ("/api/people/p1/learning-path?role=operator&exclude=pump-3,", "exclude"),
    ("/api/people/p1/learning-path?role=operator&already_booked=nothing", "already_booked"),
    ("/api/people/p1/learning-path?role=operator&exclude=pump-3&already_booked=pump-3", "already_booked"),
    ("/api/people/p1/learning-path?role=operator&alternatives=6", "alternatives"),
    ("/api/roles/operator/learning-path?from=helper&exclude=nothing", "exclude"),
    ("/api/people/p1/learning-path/diagram?role=operator&exclude=nothing", "exclude"),
    ("/api/people/p1/learning-path/diagram?role=operator&alternatives=6", "alternatives"),
    ("/api/people/p1/routes", "to"),
    ("/api/people/p1/routes?to=nobody", "to"),
    ("/api/people/p1/routes?to=chief&max_moves=0", "max_moves"),
    ("/api/people/p1/routes?to=chief&max_moves=2.5", "max_moves"),
    ("/api/people/p1/routes?to=chief&max_moves=99", "max_moves"),
    ("/api/people/p1/routes?to=chief&max_moves=%D9%A3", "max_moves"),
    ("/api/people/p1/routes?to=chief&preparation_limit=-1", "preparation_limit"),
    ("/api/people/p1/routes?to=chief&preparation_limit=nan", "preparation_limit"),
    ("/api/people/p1/routes?to=chief&preparation_limit=inf", "preparation_limit"),
    ("/api/people/p1/routes?to=chief&level_limit=-1", "level_limit"),
    ("/api/people/p1/routes?to=chief&level_limit=two", "level_limit"),
    ("/api/roles/helper/routes?to=chief&from=chief", "from"),
    ("/api/people/p1/routes?to=chief&avoid=nobody", "avoid"),
    ("/api/people/p1/routes?to=chief&avoid=helper,", "avoid"),
    ("/api/people/p1/routes?to=chief&via=nobody", "via"),
    ("/api/people/p1/routes?to=chief&via=", "via"),
    ("/api/people/p1/routes?to=chief&study_hours_per_week=0", "study_hours_per_week"),
    ("/api/people/p1/routes?to=chief&study_hours_per_week=-2", "study_hours_per_week"),
    ("/api/people/p1/routes/diagram?to=chief&via=nobody", "via"),
    ("/api/people/p1/reachable-roles?to=chief", "to"),
    ("/api/people/p1/reach-gains?limit=0", "limit"),
    ("/api/people/p1/reach-gains?role=chief", "role"),
    ("/api/framework-review?level_limit=-1", "level_limit"),
    ("/api/framework-review?on=today", "on"),
    ("/api/roles/helper/similar?limit=0", "limit"),
    ("/api/roles/helper/similar?limit=x", "limit"),
    ("/api/roles/helper/similar?on=2026-01-01", "on"),
    ("/api/teams/works/coverage?on=tomorrow", "on"),
    ("/api/teams/works/coverage?away=nobody", "away"),
    ("/api/teams/works/coverage?away=p1,", "away"),
    ("/api/teams/works/coverage?away=p1;p2", "away"),
    ("/api/teams/works/coverage?who=p1", "who"),
    ("/api/teams/works/single-points-of-failure?away=nobody", "away"),
    ("/api/teams/works/staffing?away=nobody", "away"),
    ("/api/teams/works/cross-training?hours_limit=-1", "hours_limit"),
    ("/api/teams/works/cross-training?hours_limit=lots", "hours_limit"),
    ("/api/teams/works/cross-training?tolerance=-1", "tolerance"),
    ("/api/teams/works/cross-training?tolerance=1.5", "tolerance"),
    ("/api/teams/works/cross-training?time_limit=600", "time_limit"),
    ("/api/roles?page=0", "page"),
    ("/api/roles?page=-1", "page"),
    ("/api/roles?page=one", "page"),
    ("/api/roles?page_size=0", "page_size"),
    ("/api/roles?page_size=1001", "page_size"),
    ("/api/roles?limit=3", "limit"),
    ("/api/courses?hours=many", "hours"),
    ("/api/courses?strand=odd", "strand"),
    ("/api/people?start_date=yesterday", "start_date"),
    ("/api/competencies?safety=perhaps", "safety"),
    ("/api/teams?q=works", "q"),
    ("/api/roles/helper?expand=all", "expand"),
    ("/api/roles/helper/diagram?size=9", "size"),
    ("/api/teams/works/coverage/diagram?away=nobody", "away"),
    ("/api/people/p1/learning-path/diagram", "role"),
    ("/api/people/p1/routes/diagram?to=nobody", "to"),
    ("/api/health?deep=yes", "deep"),
]

#: Each parameter is well formed; together, or on these data, they ask for nothing.
REFUSED = [
    ("/api/people/p2/routes?to=operator", "to"),
    ("/api/people/p1/routes?to=chief&avoid=chief", "avoid"),
    ("/api/people/p1/routes?to=chief&via=chief", "via"),
    ("/api/people/p1/routes?to=chief&via=helper", "via"),
    ("/api/people/p1/routes?to=chief&via=senior&avoid=senior", "via"),
    ("/api/teams/works/rotation?purpose=learn&until=2020-01-01", "until"),
    ("/api/teams/works/rotation?purpose=learn&until=2027-01-01&intervals=3", "until"),
    ("/api/teams/works/rotation?purpose=learn&minimum_stay=3&maximum_stay=2", "maximum_stay"),
    ("/api/teams/works/rotation?purpose=learn&minimum_stay=10&intervals=3", "minimum_stay"),
    ("/api/teams/works/rotation?purpose=learn&places=nosuch", "places"),
    ("/api/teams/works/rotation?purpose=learn&learners=p1:nosuch", "learners"),
    ("/api/teams/works/rotation?purpose=keep-current&learners=p1", "learners"),
    ("/api/teams/works/rotation?purpose=relieve-strain&practice=2", "practice"),
    ("/api/teams/works/stand-ins?person=p1&level=1", "level"),
    ("/api/teams/works/coverage-timeline?until=9999-12-31", "until"),
    ("/api/people/p1/schedule?role=operator&start=9999-12-31", "start"),
]


@pytest.mark.parametrize(("address", "parameter"), WRONG)
def test_a_wrong_parameter_is_named(client: FlaskClient, address: str, parameter: str) -> None:
    response = client.get(address)
    assert (response.status_code, response.mimetype) == (422, "application/problem+json"), response.text
    assert response.json is not None
    assert response.json["status"] == 422
    (entry,) = response.json["errors"]
    assert entry["parameter"] == parameter
    # the detail is "The parameter 'on' " and the reason: it has to go on as a sentence
    assert entry["reason"].startswith(("must ", "is "))
    assert parameter in response.json["detail"]


def test_every_wrong_parameter_is_named_at_once(client: FlaskClient) -> None:
    response = client.get("/api/people/p1/routes?max_moves=x&level_limit=y&on=z")
    assert response.json is not None
    assert {entry["parameter"] for entry in response.json["errors"]} == {"to", "max_moves", "level_limit", "on"}


@pytest.mark.parametrize(
    "path",
    [
        "people/{}/gap?role=operator",
        "people/{}/learning-path?role=operator",
        "people/{}/routes?to=operator",
        "people/{}/reachable-roles",
        "people/{}/learning-path/diagram?role=operator",
        "people/{}/routes/diagram?to=operator",
        "people/{}/assessments",
        "people/{}",
        "roles/{}/gap?from=operator",
        "roles/{}/learning-path?from=operator",
        "roles/{}/routes?to=operator",
        "roles/{}/reachable-roles",
        "roles/{}/similar",
        "roles/{}/diagram",
        "roles/{}/routes/diagram?to=operator",
        "roles/{}/requirements",
        "roles/{}",
        "competencies/{}/diagram",
        "courses/{}/outcomes",
        "courses/{}/entry-conditions",
        "teams/{}/coverage",
        "teams/{}/single-points-of-failure",
        "teams/{}/staffing",
        "teams/{}/cross-training",
        "teams/{}/coverage/diagram",
        "teams/{}/members",
        "teams/{}/shifts",
        "teams/{}/cover-needs",
        "teams/{}/places",
    ],
)
@pytest.mark.parametrize("wrong_id", ["nobody", "a%20b", "Ärger", "p1~p2"])
def test_an_unknown_id_in_the_path_is_not_found(client: FlaskClient, path: str, wrong_id: str) -> None:
    response = client.get("/api/" + path.format(wrong_id))
    assert (response.status_code, response.mimetype) == (404, "application/problem+json"), response.text
    assert response.json is not None
    assert response.json["table"] == path.split("/")[0]


@pytest.mark.parametrize(
    "address",
    [
        "/api/requirements/operator",
        "/api/requirements/operator~pump~3",
        "/api/requirements/operator~nothing",
        "/api/absences/p3~yesterday",
        "/api/absences/p3~20261201",
        "/api/cover-needs/works~pump~02~team",
        "/api/cover-needs/works~pump~x~team",
        "/api/assessments/p3~pump",
        "/api/scales/nothing",
    ],
)
def test_an_id_of_the_wrong_shape_is_not_found(client: FlaskClient, address: str) -> None:
    assert client.get(address).status_code == 404


@pytest.mark.parametrize(
    ("query", "ids"),
    [
        ("competencies?q=PUMP", ["pump"]),
        ("competencies?q=schieber", ["valve"]),
        ("roles?q=operator%20senior", ["senior"]),
        ("roles?q=", ["chief", "helper", "operator", "senior"]),
        ("courses?q=nothing", []),
        ("roles?family=plant&q=oper", ["operator", "senior"]),
        ("competencies?broader=pump", ["valve"]),
        ("competencies?broader=", ["licence", "pump"]),
        ("competencies?validity_months=", ["pump", "valve"]),
        ("competencies?validity_months=24", ["licence"]),
        ("competencies?safety=no&kind=certificate", ["licence"]),
        ("courses?hours=8", ["valve-2"]),
        ("courses?hours=8.00", ["valve-2"]),
        ("people?role=helper&shift=day", ["p1"]),
        ("people?role=unheard-of", []),
    ],
)
def test_lists_are_searched_and_filtered(client: FlaskClient, query: str, ids: list[str]) -> None:
    response = client.get(f"/api/{query}")
    assert response.status_code == 200, response.text
    assert [record["id"] for record in response.json or []] == ids


def test_a_page_beyond_the_last_is_empty_and_leads_back(client: FlaskClient) -> None:
    response = client.get("/api/roles?page=9&page_size=3")
    assert response.json == []
    assert 'page=2&page_size=3>; rel="prev"' in response.headers["Link"]
    assert 'rel="next"' not in response.headers["Link"]


@pytest.mark.parametrize(("address", "parameter"), REFUSED)
def test_a_question_that_makes_no_sense_names_the_parameter(client: FlaskClient, address: str, parameter: str) -> None:
    response = client.get(address)
    assert response.status_code == 422, response.text
    problem = response.json or {}
    (wrong,) = problem["errors"]
    assert (wrong["parameter"], wrong["reason"]) == (parameter, problem["detail"])
