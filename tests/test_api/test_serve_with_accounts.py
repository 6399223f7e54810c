"""`newel serve` with sign-in, and the demonstration with invitations: what is said, and what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from flask import Flask

from api.access.access import Access
from api.access.actor import Role
from api.access.database import find_database
from api.settings import Settings
from api.terminal.commands import serve
from api.terminal.listening import Listener
from api.terminal.program import program
from ontology.live.live_graph import LiveGraph


@pytest.fixture
def store(tmp_path: Path) -> Path:
    folder = tmp_path / "store"
    LiveGraph.open(folder, create=True).close()
    return folder


def test_without_an_administrator_the_command_to_run_is_told(store: Path) -> None:
    with pytest.raises(Exception, match="newel accounts invite NAME --administrator") as caught:
        serve._require_accounts(store, Settings(public_url="https://skills.example.org"))
    told = str(caught.value)
    assert "--public-url https://skills.example.org" in told
    assert f"--store {store}" in told
    assert getattr(caught.value, "exit_code", None) == 1


def test_an_administrator_who_was_invited_is_enough_to_start(store: Path) -> None:
    """Or nobody could ever open the invitation."""
    words = ["accounts", "invite", "Head", "--administrator", "--store", str(store)]
    assert CliRunner().invoke(program, words).exit_code == 0
    accounts = serve._require_accounts(store, Settings(purpose_reasons="audit; drill"))
    access = accounts._access
    assert access.purposes.reasons == ("audit", "drill")
    number = access.accounts.list()[0].number
    assert access.accounts.list()[0].grants[0].role is Role.ADMINISTRATOR
    access.accounts.end(number)
    with pytest.raises(Exception, match="Nobody administers"):
        serve._require_accounts(store, Settings())


def run_serve(store: Path, *words: str) -> Result:
    return CliRunner().invoke(program, ["serve", "--store", str(store), *words])


def test_where_there_is_no_store_none_is_made(tmp_path: Path) -> None:
    with pytest.raises(Exception, match="There is no store"):
        serve._require_accounts(tmp_path / "nowhere", Settings())
    assert not (tmp_path / "nowhere-access").exists()


def test_open_is_for_this_machine_alone(store: Path) -> None:
    refused = run_serve(store, "--open", "--host", "0.0.0.0", "--public-url", "https://skills.example.org")
    assert (refused.exit_code, "serves this machine only" in refused.output) == (2, True)


def test_accounts_lie_beside_the_store_for_their_owner_alone(store: Path) -> None:
    path = find_database(store)
    assert path is not None
    Access(path)
    assert path.parent.stat().st_mode & 0o777 == 0o700
    assert path.stat().st_mode & 0o777 == 0o600
    assert not list(store.glob("*access*"))


@pytest.mark.parametrize(("proxy", "seen"), [("", "127.0.0.1"), ("127.0.0.1", "192.0.2.7")])
def test_only_a_proxy_that_is_named_says_from_where_a_request_came(proxy: str, seen: str) -> None:
    """OWASP ASVS 5.0.0, V4.1.3."""
    import urllib.request

    from flask import request

    app = Flask("addresses")
    app.add_url_rule("/", "address", lambda: f"{request.remote_addr} {request.host}")
    listener = Listener(app, "127.0.0.1", 0, Settings(trusted_proxy=proxy))
    try:
        asked = urllib.request.Request(
            f"http://127.0.0.1:{listener.port}/",
            headers={"X-Forwarded-For": "192.0.2.7", "X-Forwarded-Host": "example.org", "Host": "localhost"},
        )
        with urllib.request.urlopen(asked, timeout=20) as told:
            assert told.read().decode() == f"{seen} localhost"
    finally:
        listener.stop(1)


def test_events_are_printed_a_line_each(store: Path) -> None:
    run = CliRunner().invoke
    run(program, ["accounts", "invite", "Head", "--administrator", "--store", str(store)])
    told = run(program, ["accounts", "events", "--store", str(store)]).output.splitlines()
    assert [line.split("\t")[1:] for line in told] == [
        ["Head", "invited", ""],
        ["Head", "rights changed", ""],
        ["Head", "account made", ""],
    ]
    assert len(run(program, ["accounts", "events", "--most", "1", "--store", str(store)]).output.splitlines()) == 1
