"""Records are changed by whom the table of rights lets, wherever it is tried, and only in columns of theirs."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from all_accounts import Accounts, People, build_accounts
from flask.testing import FlaskClient

from api.access.actor import Scope
from api.access.rights import Kind, Verb
from api.http.context import EXTENSION
from ontology.live.live_graph import LiveGraph

NEW = {
    "absences": {"person": "p3", "from": "2027-03-01", "to": "2027-03-05"},
    "assessments": {
        **{"person": "p3", "competency": "pump", "level": 1, "date": "2026-11-01", "source": "manager"},
        "assessor": "lead",
    },
    "own": {
        **{"person": "p1", "competency": "valve", "level": 2, "date": "2026-11-02", "source": "self", "assessor": ""},
    },
    "competencies": {"id": "crane", "label": "Crane", "kind": "skill", "scale": "craft"},
    "people": {"id": "p9", "name": "Ivo Vela", "team": "works", "role": "helper", "study_hours_per_week": 2},
}
MAKES = {
    "absences": {"lead"},
    "assessments": {"lead"},
    "own": {"employee"},
    "competencies": {"architect", "architect with purpose"},
    "people": {"architect with purpose"},
}
ACTORS = (
    *("reader", "employee", "lead", "other lead", "assessor", "architect", "architect with purpose", "administrator"),
)


@pytest.fixture(scope="module")
def application(shared_graph: LiveGraph) -> Accounts:
    """The application, made once: to make one takes longer than all that a test asks of it."""
    return build_accounts(shared_graph, People("p1", "p2", "works", "office", "pump"))


@pytest.fixture
def accounts(application: Accounts, graph: LiveGraph) -> Accounts:
    """The application over a store of the test's own."""
    application.app.extensions[EXTENSION].graph = graph
    return application


def authorise(accounts: Accounts, actor: str) -> dict[str, str]:
    whole = Scope(frozenset(Kind), frozenset(Verb))
    return {"Authorization": f"Bearer {accounts.access.tokens.make(accounts.numbers[actor], 'test', whole)}"}


@pytest.mark.parametrize("what", NEW)
@pytest.mark.parametrize("actor", ACTORS)
def test_a_record_is_made_by_whom_the_table_lets(accounts: Accounts, graph: LiveGraph, actor: str, what: str) -> None:
    table = "assessments" if what == "own" else what
    revision = graph.get_snapshot().revision
    response = accounts.app.test_client().post(f"/api/{table}", json=NEW[what], headers=authorise(accounts, actor))
    may = actor in MAKES[what]
    assert (response.status_code == 201) is may, response.text
    assert (graph.get_snapshot().revision > revision) is may
    if not may:
        # whom one may not see nobody is
        assert response.status_code in (403, 422), response.text


@pytest.mark.parametrize(
    ("actor", "person", "change", "status"),
    [
        ("employee", "p1", {"study_hours_per_week": 7}, 200),
        ("employee", "p1", {"role": "chief"}, 403),
        ("employee", "p3", {"study_hours_per_week": 7}, 403),
        ("lead", "p3", {"study_hours_per_week": 7}, 200),
        ("lead", "p3", {"team": "office"}, 403),
        ("lead", "p3", {"name": "Somebody Else"}, 403),
        ("architect", "p3", {"role": "operator"}, 403),
        ("architect with purpose", "p3", {"role": "operator"}, 200),
        ("administrator", "p3", {"study_hours_per_week": 7}, 403),
    ],
)
def test_columns_of_a_person_are_changed_by_whose_they_are(
    accounts: Accounts, writer: FlaskClient, actor: str, person: str, change: dict[str, Any], status: int
) -> None:
    client, headers, owner = accounts.app.test_client(), authorise(accounts, actor), writer
    read = owner.get(f"/api/people/{person}")
    body = {name: value for name, value in read.get_json().items() if value is not None} | change
    headers |= {"If-Match": read.headers["ETag"]}
    response = client.put(f"/api/people/{person}", json=body, headers=headers)
    assert response.status_code in ((status,) if status == 200 else (status, 412)), response.text
    after = owner.get(f"/api/people/{person}").get_json()
    assert all((after[name] == value) is (status == 200) for name, value in change.items())


def test_nobody_signs_for_someone_else_and_nobody_assesses_themselves(accounts: Accounts) -> None:
    lead = authorise(accounts, "lead")
    client = accounts.app.test_client()
    forged = client.post("/api/assessments", json=NEW["assessments"] | {"assessor": "p1"}, headers=lead)
    assert (forged.status_code, "signs for someone else" in forged.text) == (403, True)
    own = client.post("/api/assessments", json=NEW["assessments"] | {"person": "p2"}, headers=lead)
    assert own.status_code == 403
    word = client.post("/api/assessments", json=NEW["own"] | {"person": "p3"}, headers=lead)
    assert word.status_code == 403, "what someone says of themselves nobody says for them"


def test_what_is_in_use_is_told_without_who_uses_it(accounts: Accounts) -> None:
    headers = authorise(accounts, "architect") | {"If-Match": "*"}
    refused = accounts.app.test_client().delete("/api/competencies/pump", headers=headers)
    assert refused.status_code == 409
    assert "p1" not in refused.text
    assert "more" in refused.get_json()["detail"]
    assert not any(one.startswith("assessments") for one in refused.get_json()["referrers"])


def test_a_plan_is_agreed_by_whoever_leads_the_person_and_by_nobody_for_themselves(
    accounts: Accounts, graph: LiveGraph
) -> None:
    client, agreed = accounts.app.test_client(), len(graph.get_snapshot().agreed_plans)
    sent = {"act": "agree", "agreed_with": "the lead", "note": "", "revision": str(graph.get_snapshot().revision)}
    for actor in ("reader", "employee", "other lead", "architect", "assessor", "administrator"):
        for person in ("p1", "p3"):
            address = f"/people/{person}/schedule?role=operator"
            refused = client.post(address, data=sent, headers=authorise(accounts, actor))
            assert refused.status_code in (403, 404), (actor, person)
    assert len(graph.get_snapshot().agreed_plans) == agreed
    for actor, address, is_offered in (
        ("employee", "/people/p1/schedule?role=operator", False),
        ("lead", "/people/p3/schedule?role=operator", True),
    ):
        page = accounts.sign_in(actor).get(address, follow_redirects=True).text
        assert ('value="agree"' in page) is is_offered, actor
    address = "/people/p3/schedule?role=operator"
    done = client.post(address, data=sent, headers=authorise(accounts, "lead"))
    assert done.status_code == 303, done.text
    assert [plan.person for plan in graph.get_snapshot().agreed_plans.values()].count("p3") == 1


def test_what_someone_shows_is_looked_at_and_not_changed(accounts: Accounts, graph: LiveGraph) -> None:
    today = dt.datetime.now(dt.UTC).date()
    accounts.access.shares.show("p1", "/people/p1/routes?to=chief", today + dt.timedelta(days=3), today)
    revision = graph.get_snapshot().revision
    client, headers = accounts.app.test_client(), authorise(accounts, "lead") | {"If-Match": "*"}
    assert client.get("/api/people/p1/routes?to=chief", headers=headers).status_code == 200
    assert client.get("/api/people/p1/routes?to=operator", headers=headers).status_code == 403
    assert client.delete("/api/people/p1", headers=headers).status_code == 403
    assert graph.get_snapshot().revision == revision


def test_an_employee_has_no_sheet_of_their_team(accounts: Accounts) -> None:
    assert accounts.sign_in("employee").get("/teams/works/assess").status_code == 404
    assert accounts.sign_in("lead").get("/teams/works/assess").status_code == 200
