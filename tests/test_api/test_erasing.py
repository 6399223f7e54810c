"""A person is erased everywhere: from the store, from the database beside it, and from what is put back later."""

from __future__ import annotations

import datetime as dt
import random
import shutil
import sys
from pathlib import Path

import pytest
from access_parts import Clock, Parts
from click.testing import CliRunner
from erased_company import CANARIES, CONTROL, NAME, PERSON, build_past, find_canaries, read_bytes
from killed_eraser import PHASES, kill_in
from sqlalchemy import select

from api.access.accounts import Accounts, Grant
from api.access.actor import Role, Scope
from api.access.database import Database, find_database
from api.access.erasing import catch_up, erase, plan_erasure
from api.access.erasure import Erasure, KeptAbout
from api.access.erasure_requests import ErasureRequests
from api.access.kept import KeptWays
from api.access.looks import Looks
from api.access.passwords import Passwords
from api.access.purposes import Purposes
from api.access.rights import Kind, Verb
from api.access.sessions import Sessions
from api.access.shares import Shares
from api.access.tables import ACCOUNTS, LOOKS
from api.access.tokens import Tokens
from api.desk.sparql import answer_query
from api.settings import Settings
from api.terminal.program import program
from ontology.errors import ConflictError
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES


def open_database(store: Path) -> Database:
    return Database(find_database(store))


def fill(database: Database) -> None:
    """Have the person sign in, keep a way, be looked at, and look at another; and somebody administer it all."""
    accounts = Accounts(database, Passwords())
    accounts.make("Head of Accounts", [Grant(Role.ADMINISTRATOR)])
    own = accounts.make(NAME, [Grant(Role.ARCHITECT)])
    accounts.tie(own.number, PERSON)
    Sessions(database).open(own.number, "a browser")
    Tokens(database).make(own.number, "weekly", Scope(frozenset({Kind.FRAMEWORK}), frozenset({Verb.SEE})))
    address = f"/people/{PERSON}/routes?to=operator"

    KeptWays(database).keep(PERSON, address, "to the glasshouse", dt.date(2026, 11, 1), 1)
    Shares(database).show(PERSON, address, dt.date(2027, 1, 1), dt.date(2026, 11, 1))
    purposes, looks = Purposes(database), Looks(database)
    purposes.state(own.number, "audit", f"{NAME} looks at the works", team="works")
    looks.write(own.number, NAME, "levels", ["p1"], own=PERSON, purpose=1)
    looks.write(1, "Head of Accounts", "levels", [PERSON, "p2"])
    looks.write(1, "Head of Accounts", "gap", [PERSON])
    ErasureRequests(database).ask(PERSON, 1)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with a past, and a database beside it; copied for each test."""
    folder = tmp_path_factory.mktemp("made")
    graph = LiveGraph.open(folder / "store", create=True)
    build_past(graph)
    graph.close()
    fill(open_database(folder / "store"))
    return folder


@pytest.fixture
def store(made: Path, tmp_path: Path) -> Path:
    for name in ("store", "store-access"):
        shutil.copytree(made / name, tmp_path / name)
    return tmp_path / "store"


def run(*words: str, code: int = 0) -> str:
    result = CliRunner().invoke(program, list(words), prog_name="newel")
    assert result.exit_code == code, result.output
    return result.output


def test_the_plan_counts_what_would_go(store: Path) -> None:
    graph, database = LiveGraph.open(store), open_database(store)
    plan = plan_erasure(graph, database, PERSON)
    assert dict(plan.records) == {
        "people": 1,
        "absences": 1,
        "assessments": 2,
        "agreed_plans": 1,
        "agreed_courses": 1,
    }
    assert dict(plan.named) == {"assessments": 2, "duties": 1, "orientation_items": 1}
    assert plan.about == KeptAbout(accounts=1, sessions=1, tokens=1, kept=1, shows=1, looks=2, purposes=0)
    assert (plan.commits, plan.spoken, plan.copies) == (4, (), ())
    graph.close()


def test_nothing_is_left_in_either_folder_and_a_copy_brings_nothing_back(store: Path) -> None:
    folder = store.parent
    run("backup", str(folder / "elsewhere" / "copy"), "--store", str(store))
    told = run("erase", PERSON, "--store", str(store))
    assert "Nothing was erased" in told
    assert set(find_canaries(store)) == set(CANARIES)
    told = run("erase", PERSON, "--yes", "--store", str(store))
    assert "2 assessments" in told
    assert str(folder / "elsewhere" / "copy") in told, "copies are named: they are the company's to delete"
    assert "revision 6" in told
    both = (store, Path(f"{store}-access"))
    assert find_canaries(*both) == []
    assert CONTROL.encode() in read_bytes(store)
    assert "no person" in run("erase", PERSON, "--store", str(store), code=1)
    run("backup", str(folder / "later" / "copy"), "--with-accounts", "--store", str(store))
    assert find_canaries(folder / "later") == []
    told = run("restore", str(folder / "elsewhere" / "copy"), "--store", str(store))
    assert "1 left out" in told
    assert find_canaries(*both) == []
    assert '"erased 1 person"' in run("history", "--json", "--store", str(store))


def test_accounts_of_a_backup_that_are_copied_back_by_hand_bring_nothing_back(store: Path) -> None:
    """The store tells by keys who was erased since: the next who opens both finds them, and their names elsewhere."""
    copy, beside = store.parent / "elsewhere" / "copy", Path(f"{store}-access")
    run("backup", str(copy), "--with-accounts", "--store", str(store))
    run("erase", PERSON, "--yes", "--store", str(store))
    for old in beside.iterdir():
        old.unlink()
    shutil.copy(Path(f"{copy}-access") / "access.sqlite", beside / "access.sqlite")
    assert NAME in find_canaries(beside)
    graph = LiveGraph.open(store)
    assert catch_up(graph, open_database(store)) == 1
    graph.close()
    assert find_canaries(store, beside) == []
    assert Erasure(open_database(store)).build_test()(PERSON)


def test_nothing_is_left_while_the_store_is_served(store: Path) -> None:
    """Copies that queries are answered from, kept states, frameworks of others: in no byte of any, then or later."""
    graph, database, both = LiveGraph.open(store), open_database(store), (store, Path(f"{store}-access"))
    rows = {"roles": [TABLES["roles"].build(id="r", label="R")]}
    graph.outside.replace("neighbour", lambda other: other.load(rows, who="somebody", why="theirs"))

    def count_triples() -> bytes:
        return answer_query(graph.store, Settings(), "SELECT (COUNT(*) AS ?n) { ?s ?p ?o }", rows_form="csv").content

    before = count_triples()
    assert set(CANARIES) <= set(find_canaries(store / "queries")), "a copy links all files of the store"
    assert PERSON in graph.past.get_snapshot(2, graph.get_snapshot()).people
    erase(graph, database, [PERSON], "administrator")
    assert find_canaries(*both) == []
    assert graph.outside.get("neighbour").counts == {"roles": 1}
    assert count_triples() == before, "the framework that may be asked is the same"
    assert find_canaries(*both) == []
    assert not ErasureRequests(database).list()
    graph.close()
    assert find_canaries(*both) == []
    assert CONTROL.encode() in read_bytes(store)


def test_what_others_are_told_stays_without_the_name(store: Path) -> None:
    graph, database = LiveGraph.open(store), open_database(store)
    erase(graph, database, [PERSON], "administrator")
    graph.close()
    (look,) = Looks(database).list("p1")
    assert (look.by, look.kind, look.reason) == ("erased", "levels", "audit")
    assert [one.by for one in Looks(database).list("p2")] == ["Head of Accounts"]
    assert len(database.ask(select(LOOKS))) == 2, "a look at nobody else goes as a whole"
    assert [(one.name, one.is_ended) for one in Accounts(database, Passwords()).list()] == [
        ("Head of Accounts", False),
        ("erased 2", True),
    ]
    assert Accounts(database, Passwords()).find(NAME) is None


def test_the_last_administrator_is_not_erased(store: Path) -> None:
    graph, database = LiveGraph.open(store), open_database(store)
    Accounts(database, Passwords()).tie(1, PERSON)
    with pytest.raises(ConflictError, match="last account"):
        plan_erasure(graph, database, PERSON)
    with pytest.raises(ConflictError, match="last account"):
        erase(graph, database, [PERSON], "administrator")
    graph.close()
    assert set(find_canaries(store)) == set(CANARIES)


def test_a_served_store_says_where_to_erase(store: Path) -> None:
    graph = LiveGraph.open(store)
    try:
        assert "/accounts/erasure" in run("erase", PERSON, "--yes", "--store", str(store), code=3)
    finally:
        graph.close()


def test_where_somebody_else_confirms_no_command_erases(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Accounts(open_database(store), Passwords()).keep_password(1, "what is kept of a password")
    monkeypatch.setenv("NEWEL_ERASURE_CONFIRMERS", "1")
    assert "Nothing was erased" in run("erase", PERSON, "--store", str(store))
    assert "somebody else" in run("erase", PERSON, "--yes", "--store", str(store), code=1)
    assert set(find_canaries(store)) == set(CANARIES)


def test_what_stands_on_the_list_is_known_by_its_key_alone() -> None:
    parts = Parts(Clock())
    one, other = Erasure(parts.database, parts.clock), Erasure(Database(None))
    assert one.make_key("p1") == Erasure(parts.database).make_key("p1") != other.make_key("p1")
    one.erase(["p1"])
    assert one.build_test()("p1")
    assert not one.build_test()("p2")
    assert "p1" not in "".join(one.list_keys())


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL")
@pytest.mark.parametrize("phase", PHASES[:-1])
def test_a_killed_erasure_leaves_the_person_whole_or_gone(phase: str, made: Path, tmp_path: Path) -> None:
    rng = random.Random(phase)
    for attempt in range(4):
        folder = tmp_path / str(attempt)
        for name in ("store", "store-access"):
            shutil.copytree(made / name, folder / name)
        kill_in(folder / "store", PERSON, phase, rng)
        graph, database = LiveGraph.open(folder / "store"), open_database(folder / "store")
        catch_up(graph, database)
        revision, erased = graph.get_snapshot().revision, Erasure(database)
        states = [graph.past.get_snapshot(one, graph.get_snapshot()) for one in range(1, 6)]
        graph.close()
        assert revision in ({5} if phase in ("begin", "write") else {6} if phase in PHASES[3:] else {5, 6})
        assert all(CONTROL in {one.name for one in state.people.values()} for state in states)
        if revision == 5:
            assert all(PERSON in state.people for state in states)
            assert erased.count(PERSON).looks == 2
            assert database.ask(select(ACCOUNTS).where(ACCOUNTS.c.person == PERSON))
            assert not erased.list_keys()
        else:
            assert find_canaries(folder) == []
            assert erased.list_keys() == {erased.make_key(PERSON)}
