"""Who changed something: an account by its number, called as it is called now; never whom somebody only looks as."""

from __future__ import annotations

import getpass
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from html_forms import read_page
from rest_company import build_company
from signed_in import House

from api.access.accounts import Accounts, Grant
from api.access.actor import Role
from api.access.database import Database, find_database
from api.access.erasing import erase
from api.access.passwords import Passwords
from api.app import create_app
from api.http.actors import COOKIE
from api.terminal.program import program
from api.terminal.who import get_who
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES
from ontology.store.history import read_commits


@pytest.fixture
def graph() -> Iterator[LiveGraph]:
    graph = build_company()
    yield graph
    graph.close()


def change_course(house: House, name: str) -> None:
    browser = house.open(name)
    browser.get("/edit/roles/operator")
    browser.send("/edit/roles/operator", {"label": "Operator of the works"})


def test_an_account_stands_by_its_number_and_is_told_by_its_name(graph: LiveGraph) -> None:
    house = House(graph)
    change_course(house, "Architect")
    number = house.number("Architect")
    assert read_commits(graph.store)[-1].who == f"account {number}"
    admin = house.open("Architect")
    assert json.loads(admin.get("/api/history").data)[0]["who"] == "Architect"
    assert len(json.loads(admin.get("/api/history?who=Architect").data)) == 1
    assert "by Architect" in admin.get("/history/roles/operator").text
    assert f"account {number}" not in admin.get("/history/roles/operator").text


def test_an_erased_account_is_told_without_a_name(graph: LiveGraph) -> None:
    house = House(graph)
    house.access.accounts.grant(house.number("Employee"), [Grant(Role.ARCHITECT)])
    change_course(house, "Employee")
    commit = read_commits(graph.store)[-1]
    assert graph.past.name_authors([commit])[0].who == "Employee"
    erase(graph, house.access.database, ["p2"], "administrator")
    assert graph.past.name_authors([commit])[0].who == commit.who.replace("account", "erased")


def test_where_nobody_signs_in_it_is_the_local_owner_whoever_they_look_as(graph: LiveGraph) -> None:
    client = create_app(graph).test_client()
    client.set_cookie(COOKIE, "p2")
    form = next(one for one in read_page(client.get("/edit/roles/operator").text).forms if one.method == "post")
    client.post(form.action, data=form.fields | {"label": "Another"})
    assert read_commits(graph.store)[-1].who == "local owner"


def test_the_command_line_is_the_user_of_the_machine(tmp_path: Path) -> None:
    table = tmp_path / "scales.csv"
    table.write_text("scale,rank,label\ns1,1,One\n", "utf-8")
    words = ["--store", str(tmp_path / "store")]
    assert CliRunner().invoke(program, ["load", str(table), *words], prog_name="newel").exit_code == 0
    told = CliRunner().invoke(program, ["history", "--json", *words], prog_name="newel").output
    assert json.loads(told)[0]["who"] == get_who() == f"command line, {getpass.getuser()}"


def test_the_command_line_calls_accounts_by_their_names(tmp_path: Path) -> None:
    graph = LiveGraph.open(tmp_path / "store", create=True)
    graph.apply(Change((("teams", TABLES["teams"].build(id="t", label="T")),)), who="account 1", why="a team")
    graph.close()
    words = ["history", "--json", "--store", str(tmp_path / "store")]
    told = CliRunner().invoke(program, words, prog_name="newel").output
    assert json.loads(told)[0]["who"] == "account 1", "there is no database"
    Accounts(Database(find_database(tmp_path / "store")), Passwords()).make("Ada Example")
    told = CliRunner().invoke(program, words, prog_name="newel").output
    assert json.loads(told)[0]["who"] == "Ada Example"
