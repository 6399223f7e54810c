"""An administrator erases a person through the server: shown first, the password again, nothing kept in memory."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from rest_company import build_company
from signed_in import House

from api.access.accounts import Grant
from api.access.actor import Role
from api.access.erasure_requests import WAITS_S
from api.desk.history import read_one_commit
from api.http.context import EXTENSION
from api.settings import Settings
from api.site.confirm import AGAIN
from ontology.live.live_graph import LiveGraph
from ontology.rdf.namespaces import Quad


@pytest.fixture
def house() -> Iterator[House]:
    graph: LiveGraph = build_company()
    yield House(graph)
    graph.close()


def test_it_is_shown_first_and_then_done(house: House) -> None:
    admin, name = house.open("Admin"), house.graph.get_snapshot().people["p2"].name
    assert "Erase a person" in admin.get("/accounts").text
    shown = admin.get("/accounts/erasure?person=p2")
    assert name in shown.text
    assert "would go" in shown.text
    assert "1 account" in shown.text
    house.open("Employee")
    number, desk = house.number("Employee"), house.app.extensions[EXTENSION]
    assert house.access.sessions.list(number)
    assert desk.keep("tag", lambda: b"p2") == b"p2"

    def list_loaded() -> list[Quad]:
        return [quad for quad in read_one_commit(house.graph, desk.get_state(), 1).patch.added if "/p2" in str(quad)]

    assert list_loaded()
    done = admin.send("/accounts/erasure")
    assert (done.status_code, done.request.path) == (200, "/accounts/erasure")
    assert "The person is erased" in done.text
    assert name not in done.text
    assert "p2" not in house.graph.get_snapshot().people
    assert not house.access.sessions.list(number), "their session has ended with the account"
    assert desk.keep("tag", lambda: b"anew") == b"anew", "answers that were kept are let go of"
    assert not list_loaded(), "so are the commits that were read"
    latest = house.access.events.list(1)[0]
    assert (latest.what, latest.by) == ("person erased", "Admin")


def test_the_password_is_asked_again(house: House) -> None:
    admin = house.open("Admin")
    admin.get("/accounts/erasure?person=p2")
    house.clock.now += 700
    asked = admin.send("/accounts/erasure")
    assert asked.status_code == 403
    assert "p2" in house.graph.get_snapshot().people
    done = admin.send("/accounts/erasure", {AGAIN: "forty quiet herons over the weir"})
    assert "The person is erased" in done.text
    assert "p2" not in house.graph.get_snapshot().people


@pytest.fixture
def careful() -> Iterator[House]:
    """Where somebody else has to confirm an erasure."""
    graph: LiveGraph = build_company()
    yield House(graph, Settings(erasure_confirmers=1))
    graph.close()


def test_an_architect_confirms_what_an_administrator_asked_for(careful: House) -> None:
    name = careful.graph.get_snapshot().people["p2"].name
    admin, architect = careful.open("Admin"), careful.open("Architect")
    assert "confirms it within a week" in admin.get("/accounts/erasure?person=p2").text
    asked = admin.send("/accounts/erasure")
    assert "until then nothing is erased" in asked.text
    assert "p2" in careful.graph.get_snapshot().people
    own = admin.get("/account/erasures")
    assert admin.send("/account/erasures", {"person": "p2"}).status_code == 422, "who asked does not confirm"
    assert "p2" in careful.graph.get_snapshot().people
    assert "1 erasure waits to be confirmed" in architect.get("/account").text
    waits = architect.get("/account/erasures")
    for told in (own.text, waits.text):
        assert "Asked for by Admin" in told
        assert name not in told
        assert "p2" not in told, "nobody is told here who is to go"
    refused = []
    for one in ("p3", "pX"):
        architect.get("/account/erasures")
        refused.append(architect.send("/account/erasures", {"person": one}))
    assert [one.status_code for one in refused] == [422, 422]
    told = [re.sub(r'value="[^"]{20,}"|p3|pX', "", one.text) for one in refused]
    assert told[0] == told[1], "one who is there is told like nobody"
    architect.get("/account/erasures")
    assert "The person is erased" in architect.send("/account/erasures", {"person": "p2"}).text
    assert "p2" not in careful.graph.get_snapshot().people
    assert careful.access.erasures_asked.list() == ()
    told = [(event.what, event.by) for event in careful.access.events.list(20)]
    assert ("person erased", "Architect") in told
    assert ("erasure asked for", "Admin") in told


def test_what_is_withdrawn_or_too_old_is_not_confirmed_and_others_may_not_ask(careful: House) -> None:
    admin, architect = careful.open("Admin"), careful.open("Architect")
    for name in ("Reader", "Employee", "Lead"):
        assert careful.open(name).get("/account/erasures").status_code == 404, name
    requests, number = careful.access.erasures_asked, careful.number("Admin")
    requests.ask("p2", number)
    admin.get("/accounts/erasure")
    assert "Withdraw it" in admin.page.text
    admin.send("/accounts/erasure/withdraw", {"person": "p2"})
    assert requests.list() == ()
    requests.ask("p2", number)
    waiting = architect.get("/account/erasures")
    assert "1 erasure waits" in waiting.text
    careful.access.accounts.tie(careful.number("Architect"), "p2")
    architect = careful.open("Architect")
    architect.get("/account/erasures")
    assert architect.send("/account/erasures", {"person": "p2"}).status_code == 422, "nobody confirms their own"
    careful.clock.now += WAITS_S
    assert requests.list() == ()
    requests.ask("p2", number)
    assert len(requests.list()) == 1, "it can be asked for anew"
    assert "p2" in careful.graph.get_snapshot().people
    careful.access.accounts.make("Second", [Grant(Role.ADMINISTRATOR)])
    requests.require_confirmable("p2", careful.number("Second"), "")


def test_an_unknown_id_is_told_at_the_field_and_nobody_erases_themselves(house: House) -> None:
    admin = house.open("Admin")
    told = admin.get("/accounts/erasure?person=nobody")
    assert told.status_code == 422
    assert "There is no person" in told.text
    assert 'value="nobody"' in told.text
    house.access.accounts.tie(house.number("Admin"), "p2")
    admin = house.open("Admin")
    told = admin.get("/accounts/erasure?person=p2")
    assert told.status_code == 422, "theirs is the last account of an administrator"
