"""Who asked a moment ago is known again, and a right that any process takes away is gone at the very next request."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

import pytest
from killed import do_and_die
from rest_company import build_company
from sqlalchemy import inspect, text

from api.access.access import Access
from api.access.accounts import Grant
from api.access.actor import Role
from api.access.database import Database
from api.access.looks import Looks
from api.access.rights_count import _COUNTED
from api.access.tables import TABLES
from api.app import create_app

LEVELS = "/api/people/p1/levels"
#: Takes every right away.
TAKE_ALL = (
    "from api.access.access import Access\nfrom api.access.tables import GRANTS\n"
    "Access(path).database.change(GRANTS.delete())"
)
#: What no actor is made of; and columns that say nothing of rights in tables that do.
OF_NO_RIGHTS = {
    *("attempts", "backups", "erased", "erasures_asked", "events", "invitations", "kept", "keys", "looked_at", "looks"),
    "provider_starts",
}
BESIDE_RIGHTS = {
    "accounts": {"folded", "password", "issuer", "subject", "made_at", "failures", "waits_until"},
    "sessions": {"seen_at", "about"},
    "tokens": {"name", "used_at"},
}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "store-access" / "access.sqlite"


def test_a_right_that_another_process_takes_away_is_gone_at_the_next_request(path: Path) -> None:
    access = Access(path)
    graph = build_company()
    client = create_app(graph, access=access).test_client()
    number = access.accounts.make("Lead", [Grant(Role.LEAD, "works")]).number
    client.set_cookie("newel", access.sessions.open(number))
    assert [client.get(LEVELS).status_code for _ in range(3)] == [200] * 3
    do_and_die(path, TAKE_ALL)
    assert client.get(LEVELS).status_code == 404
    assert client.get("/api/roles").status_code == 200
    Access(path).accounts.end(number)
    assert client.get("/api/roles").status_code == 401
    graph.close()


def test_where_a_change_was_stored_and_nobody_could_tell_it_the_database_is_asked(path: Path) -> None:
    """As when a process is killed after its commit: it had told before that it would change something."""
    here, elsewhere = Database(path), Database(path)
    with elsewhere.begin() as connection:
        connection.execute(text("UPDATE rights_changed SET times = 7"))
    assert [here.read_version() for _ in range(2)] == [7, 7]
    with sqlite3.connect(path) as stored, path.with_suffix(".changes").open("r+b") as board:
        os.pwrite(board.fileno(), b"a change of mine", 0)
        assert here.read_version() == 7, "not stored yet"
        stored.execute("UPDATE rights_changed SET times = 8")
        stored.commit()
        assert here.read_version() == 8
        stored.execute("UPDATE rights_changed SET times = 9")
        stored.commit()
    assert here.read_version() == 9
    Looks(elsewhere).write(1, "Lead", "standing", {"p1"})  # the next who changes anything tells it again
    assert here.read_version() == 9


def test_what_changes_nobodys_rights_is_not_counted(path: Path) -> None:
    access = Access(path)
    number = access.accounts.make("Lead").number
    secret = access.sessions.open(number)
    begun = access.database.read_version()
    access.looks.write(number, "Lead", "standing", {"p1"})
    access.events.tell("signed in", number)
    access.database.change(text("UPDATE sessions SET seen_at = seen_at + 1"))
    access.sessions.open(number)
    assert access.database.read_version() == begun
    for change in (
        lambda: access.sessions.confirm(secret),
        lambda: access.sessions.end_number(number, 2),
        lambda: access.accounts.grant(number, [Grant(Role.LEAD, "works")]),
        lambda: access.accounts.tie(number, "p1"),
        lambda: access.accounts.end(number),
    ):
        change()
        assert access.database.read_version() > begun, "and each change on its own"
        begun = access.database.read_version()


def test_every_table_is_counted_or_said_to_make_nobody_another(path: Path) -> None:
    database = Database(path)
    counted = {table: dict(_split(changes)) for table, changes in _COUNTED}
    assert {table.name for table in TABLES} - OF_NO_RIGHTS == counted.keys()
    for table, changes in counted.items():
        assert {"DELETE", "UPDATE"} <= changes.keys()
        columns = {column["name"] for column in inspect(database._engine).get_columns(table)} - {"number"}
        watched = changes["UPDATE"] or columns
        assert columns - watched == BESIDE_RIGHTS.get(table, set()), table


def _split(changes: tuple[str, ...]) -> list[tuple[str, set[str]]]:
    words = [change.partition(" OF ") for change in changes]
    return [(kind, set(columns.split(", ")) - {""}) for kind, _, columns in words]
