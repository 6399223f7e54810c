"""Who asks much, or slowly, is no hindrance to others; what was taken away meanwhile is not told at the end."""

from __future__ import annotations

import http.client
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack

import pytest
from all_accounts import Accounts, People, build_accounts
from rest_company import build_company

from api.access.accounts import Grant
from api.access.actor import Role
from api.desk.answer import Answer, Enquiry
from api.desk.gate import EACH_MAX, SlowGate
from api.errors import BusyError
from api.http.actors import get_sight, note_look
from api.http.context import EXTENSION, RequestDesk
from api.settings import Settings
from api.terminal.listening import Listener

SLOW = "/teams/works/cross-training?hours_limit=500"
QUICK = "/api/teams/works/coverage"
#: What one account asks for at once, and connections that never say a whole request.
QUESTIONS, CONNECTIONS = 17, 200


class HeldDesk(RequestDesk):
    """A desk whose slow answers come when they are let."""

    may_end = threading.Event()

    def compute(self, enquiry: Enquiry) -> Answer:
        """Answer once it is let."""
        if enquiry.question.is_slow:
            assert self.may_end.wait(60)
        return super().compute(enquiry)


@pytest.fixture
def accounts(monkeypatch: pytest.MonkeyPatch) -> Iterator[Accounts]:
    monkeypatch.setattr("api.desk.computations.Computations.__init__.__kwdefaults__", {"patience_s": 0.1, "kept_s": 60})
    graph = build_company()
    accounts = build_accounts(graph, People("p1", "p2", "works", "office", "pump"))
    HeldDesk.may_end.clear()
    accounts.app.extensions[EXTENSION] = HeldDesk(graph, Settings(), "", get_sight, note_look)
    yield accounts
    HeldDesk.may_end.set()
    graph.close()


def test_seventeen_slow_questions_of_one_account_leave_others_served(accounts: Accounts) -> None:
    statuses: list[int] = []

    def ask(n: int) -> None:
        client = accounts.sign_in("lead")
        statuses.append(client.get(f"/api{SLOW}{n}").status_code)

    threads = [threading.Thread(target=ask, args=(n,)) for n in range(QUESTIONS)]
    for thread in threads:
        thread.start()
    deadline = time.monotonic() + 30
    while len(statuses) < QUESTIONS - EACH_MAX and time.monotonic() < deadline:
        time.sleep(0.01)
    other = accounts.sign_in("architect with purpose")
    assert other.get(QUICK).status_code == 200
    HeldDesk.may_end.set()
    assert other.get(f"/api{SLOW}").status_code == 200, "another account finds a place"
    for thread in threads:
        thread.join(60)
    assert sorted(set(statuses)) == [200, 503], statuses
    assert statuses.count(200) == EACH_MAX


def test_an_account_has_its_share_of_the_gate_and_no_more() -> None:
    gate = SlowGate(computing_max=5, waiting_max=0, patience_s=0.01)
    with ExitStack() as inside:
        for account in (7, 7, 8, 0, 0):
            inside.enter_context(gate.enter(account))
        with pytest.raises(BusyError), gate.enter(7):
            pytest.fail("a third one of the same account")
    with gate.enter(7):
        pass


def test_what_was_computed_is_told_by_the_rights_of_the_moment_it_is_fetched(accounts: Accounts) -> None:
    lead, number = accounts.sign_in("lead"), accounts.numbers["lead"]
    begun = lead.get(SLOW)
    assert begun.status_code == 303
    assert lead.get(begun.headers["Location"]).status_code == 202
    accounts.access.accounts.grant(number, [Grant(Role.LEAD, "office")])
    assert lead.get(begun.headers["Location"]).headers["Location"].startswith("/sign-in"), "the session has ended too"
    HeldDesk.may_end.set()
    again = accounts.sign_in("lead")
    for _ in range(500):
        page = again.get(begun.headers["Location"])
        if page.status_code != 202:
            break
        time.sleep(0.01)
    for address in (begun.headers["Location"], SLOW, f"/api{SLOW}"):
        told = again.get(address, follow_redirects=True)
        assert told.status_code in (403, 404), address
        assert "p3" not in told.text


def test_slow_connections_leave_quick_answers_quick(accounts: Accounts) -> None:
    listener = Listener(accounts.app, "127.0.0.1", 0, Settings(threads=20))
    try:
        cookie = f"newel={accounts.access.sessions.open(accounts.numbers['lead'])}"
        alone = _measure(listener.port, cookie)
        with ExitStack() as open_ones:
            for _ in range(CONNECTIONS):
                one = open_ones.enter_context(socket.create_connection(("127.0.0.1", listener.port), timeout=10))
                one.sendall(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Slow: ")
            beside = _measure(listener.port, cookie)
        # each holds a socket and no thread; were it one, nothing would be answered before they are closed
        assert beside < 20 * alone + 2
    finally:
        listener.stop(5)


def _measure(port: int, cookie: str) -> float:
    """Return the seconds of the quickest of a few quick answers."""
    taken = []
    for _ in range(5):
        begun = time.perf_counter()
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
        connection.request("GET", QUICK, headers={"Cookie": cookie})
        assert connection.getresponse().status == 200
        connection.close()
        taken.append(time.perf_counter() - begun)
    return min(taken)
