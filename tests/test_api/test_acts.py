"""An answer is carried out from its page: the seats and the plan that were seen, in one commit, or nothing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape

import pytest
from drawn_sessions import ON, build_snapshot, draw_session_rows
from flask.testing import FlaskClient

from api.app import create_app
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES

PLAN = f"/session-plan?until=2027-01-10&on={ON}"


@pytest.fixture
def graph() -> Iterator[LiveGraph]:
    live = LiveGraph.in_memory()
    records: dict[str, list[object]] = {}
    for name, record in build_snapshot(draw_session_rows(34)).iterate_records():
        records.setdefault(name, []).append(record)
    live.load(records, who="test", why="start")
    yield live
    live.close()


def read_offer(page: str) -> tuple[str, dict[str, str]]:
    """Return the address and the fields of the form that carries an answer out."""
    form = page.split('<form class="offer', 1)[1].split("</form>", 1)[0]
    action = re.findall(r'action="([^"]*)"', form)[0]
    return unescape(action), dict(re.findall(r'name="([^"]+)" value="([^"]*)"', form))


def load(client: FlaskClient, address: str) -> str:
    reply = client.get(address, follow_redirects=True)
    assert reply.status_code == 200
    return reply.text


def test_the_seats_seen_are_booked_in_one_commit_and_one_is_led_to_what_is_due(graph: LiveGraph) -> None:
    client = create_app(graph).test_client()
    before = graph.get_snapshot()
    address, fields = read_offer(load(client, PLAN))
    reply = client.post(address, data=fields)
    assert reply.status_code == 303
    assert reply.headers["Location"] == f"/company-obligations?on={ON}"
    after = graph.get_snapshot()
    assert after.revision == before.revision + 1
    table = before.get_table("bookings")
    new = [row for key, row in after.get_table("bookings").items() if table.get(key) != row]
    assert len(new) > 1
    assert {row.state for row in new} == {"booked"}
    # nothing is left to book, so nothing is offered; and the form sent twice is stale
    assert '<form class="offer' not in load(client, PLAN)
    assert client.post(address, data=fields).status_code == 412
    assert graph.get_snapshot().revision == after.revision


def test_data_that_changed_since_are_looked_at_again(graph: LiveGraph) -> None:
    client = create_app(graph).test_client()
    address, fields = read_offer(load(client, PLAN))
    graph.apply(Change(put=(("roles", TABLES["roles"].build(id="other", label="Other")),)), who="test", why="between")
    revision = graph.get_snapshot().revision
    assert client.post(address, data=fields).status_code == 412
    assert graph.get_snapshot().revision == revision


@pytest.mark.parametrize("wrong", [{"act": "burn"}, {"act": ""}, {"colour": "blue"}])
def test_what_no_act_is_called_and_what_none_says_is_refused(graph: LiveGraph, wrong: dict[str, str]) -> None:
    client = create_app(graph).test_client()
    address, fields = read_offer(load(client, PLAN))
    revision = graph.get_snapshot().revision
    assert client.post(address, data=fields | wrong).status_code == 422
    assert graph.get_snapshot().revision == revision


def test_a_page_of_another_site_carries_nothing_out(graph: LiveGraph) -> None:
    client = create_app(graph).test_client()
    address, fields = read_offer(load(client, PLAN))
    assert client.post(address, data=fields, headers={"Sec-Fetch-Site": "cross-site"}).status_code == 403
