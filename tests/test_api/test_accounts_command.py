"""`newel accounts`: what an administrator does beside a store, also while it is served."""

from __future__ import annotations

from pathlib import Path

import pytest
from access_parts import GOOD
from click.testing import CliRunner
from rest_company import ROWS

from api.access.accounts import Accounts, Grant
from api.access.actor import Role
from api.access.database import Database, find_database
from api.access.invitations import Invitations
from api.access.passwords import Passwords
from api.access.rights import Kind
from api.terminal.program import program
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES


@pytest.fixture
def store(tmp_path: Path) -> Path:
    folder = tmp_path / "store"
    graph = LiveGraph.open(folder, create=True)
    graph.load({name: [TABLES[name].build(**row) for row in rows] for name, rows in ROWS.items()}, who="t", why="t")
    graph.close()
    return folder


def run(store: Path, *words: str, code: int = 0) -> str:
    result = CliRunner().invoke(program, ["accounts", *words, "--store", str(store)], prog_name="newel")
    assert result.exit_code == code, result.output
    return result.output


def open_accounts(store: Path) -> tuple[Database, Accounts]:
    database = Database(find_database(store))
    return database, Accounts(database, Passwords())


def test_an_invitation_leads_to_an_account_that_can_sign_in(store: Path) -> None:
    told = run(store, "invite", "Head of Works", "--administrator", "--public-url", "https://newel.example/")
    link = told.splitlines()[-1]
    assert link.startswith("https://newel.example/invitations/")
    assert "(invited)" in run(store, "list")
    database, accounts = open_accounts(store)
    assert not accounts.has_administrator()
    Invitations(database, accounts).redeem(link.rpartition("/")[2], GOOD)
    assert accounts.has_administrator()
    assert accounts.check_password("head of works", GOOD) is not None
    assert run(store, "list") == "1  Head of Works  administrator\n"
    assert run(store, "invite", "head of WORKS", "--architect") != told, "a new link to the same account"
    assert run(store, "list") == "1  Head of Works  administrator  architect\n"


def test_an_account_is_tied_made_a_lead_and_ended_while_the_store_is_open(store: Path) -> None:
    graph = LiveGraph.open(store)
    try:
        run(store, "invite", "Ada Example")
        assert run(store, "tie", "Ada Example", "p1") == "Ada Example is p1.\n"
        assert (
            run(store, "lead", "Ada Example", "works", "office", "--with-below") == "Ada Example leads works, office.\n"
        )
        assert "person p1  lead of office and below  lead of works and below" in run(store, "list")
        run(store, "lead", "Ada Example", "works")
        _, accounts = open_accounts(store)
        assert accounts.get(1).grants == (Grant(Role.LEAD, "works"),)
        run(store, "free", "Ada Example")
        run(store, "tie", "Ada Example")
        assert accounts.get(1).person == ""
        run(store, "end", "Ada Example")
        assert "(ended)" in run(store, "list")
    finally:
        graph.close()


def test_a_name_without_an_account_and_a_folder_without_a_store_are_told(store: Path, tmp_path: Path) -> None:
    for words in (("tie", "Nobody", "p1"), ("lead", "Nobody", "works"), ("free", "Nobody"), ("end", "Nobody")):
        assert "There is no account 'Nobody'" in run(store, *words, code=1)
    assert "There is no store in" in run(tmp_path / "nowhere", "list", code=3)
    assert not (tmp_path / "nowhere-access").exists()


def test_no_password_is_ever_given_on_a_command_line() -> None:
    for name in ("invite", "list", "tie", "lead", "free", "end"):
        told = CliRunner().invoke(program, ["accounts", name, "--help"], prog_name="newel").output
        assert "--password" not in told


def test_the_table_of_rights_is_printed() -> None:
    told = CliRunner().invoke(program, ["accounts", "rights"], prog_name="newel").output
    assert len(told.splitlines()) == len(Kind) + 1
    assert "exploration" in told
