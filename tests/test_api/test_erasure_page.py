"""An administrator erases a person through the server: shown first, the password again, nothing kept in memory."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from rest_company import build_company
from signed_in import House

from api.http.context import EXTENSION
from api.site.confirm import AGAIN
from ontology.live.live_graph import LiveGraph


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
    done = admin.send("/accounts/erasure")
    assert (done.status_code, done.request.path) == (200, "/accounts/erasure")
    assert "The person is erased" in done.text
    assert name not in done.text
    assert "p2" not in house.graph.get_snapshot().people
    assert not house.access.sessions.list(number), "their session has ended with the account"
    assert desk.keep("tag", lambda: b"anew") == b"anew", "answers that were kept are let go of"
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
