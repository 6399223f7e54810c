"""One account may ask so much in a minute, and no other notices."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest
from access_parts import Clock
from rest_company import build_company
from signed_in import House

from api.access.actor import Scope
from api.access.rights import Kind, Verb
from api.http.rates import Rates
from api.settings import Settings
from ontology.live.live_graph import LiveGraph


@pytest.fixture(scope="module")
def graph() -> Iterator[LiveGraph]:
    graph = build_company()
    yield graph
    graph.close()


def test_so_many_pass_in_a_minute_and_the_wait_is_until_the_next() -> None:
    clock = Clock(1000.0)
    rates = Rates(clock)
    assert [rates.count(1, 3) for _ in range(3)] == [0, 0, 0]
    clock.now += 20
    assert rates.count(1, 3) == 40
    assert rates.count(2, 3) == 0
    clock.now += 40
    assert rates.count(1, 3) == 0


def test_side_by_side_none_is_lost() -> None:
    rates = Rates(Clock(0.0))
    threads = [threading.Thread(target=lambda: [rates.count(1, 10**6) for _ in range(500)]) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert rates.count(1, 8 * 500) > 0
    assert rates.count(2, 1) == 0


def test_a_program_gone_wild_is_told_to_wait_and_others_are_served(graph: LiveGraph) -> None:
    house = House(graph, Settings(requests_a_minute=30))
    scope = Scope(frozenset({Kind.FRAMEWORK}), frozenset({Verb.SEE}))
    secret = house.access.tokens.make(house.number("Architect"), "wild", scope)
    client, headers = house.app.test_client(), {"Authorization": f"Bearer {secret}"}
    statuses = [client.get("/api/roles", headers=headers).status_code for _ in range(40)]
    assert statuses == [200] * 30 + [429] * 10
    told = client.get("/api/roles", headers=headers)
    assert 1 <= int(told.headers["Retry-After"]) <= 60
    assert "as much as it may in a minute" in told.text
    browser = house.open("Lead")
    assert browser.get("/framework").status_code == 200
    assert house.open().get("/sign-in").status_code == 200
