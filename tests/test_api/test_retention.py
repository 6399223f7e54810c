"""What was kept for long enough goes from every place, and the past tells that it did."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from erased_company import read_bytes
from sqlalchemy import insert, select

from api.access.accounts import Accounts
from api.access.database import Database, find_database
from api.access.erasure import Erasure
from api.access.looks import Looks
from api.access.passwords import Passwords
from api.access.retention import carry_out_retention, plan_retention
from api.access.tables import EVENTS, PURPOSES
from api.app import create_app
from api.desk.history import count_commits
from api.desk.states import StateAsked, choose_state
from api.settings import Settings
from api.terminal.daily import let_go, start_daily
from api.terminal.program import program
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES

TODAY = dt.datetime.now(dt.UTC).date()
NOW = dt.datetime.now(dt.UTC).timestamp()
_YEAR_S = 366 * 86_400.0
EVIDENCE = "binder seventeen"
ROWS: dict[str, list[dict[str, Any]]] = {
    "scales": [{"scale": "s3", "rank": rank, "label": f"Level {rank}"} for rank in (1, 2, 3)],
    "competencies": [{"id": "pump", "label": "Pump", "scale": "s3"}],
    "people": [
        {"id": "here", "name": "Still Here"},
        {"id": "gone-9", "name": "Longago Gone", "end_date": TODAY - dt.timedelta(days=500)},
    ],
    "assessments": [
        {"person": "here", "competency": "pump", "date": dt.date(2015, 5, 1), "level": 1, "source": "assessor",
         "assessor": "gone-9", "evidence": EVIDENCE},
        {"person": "here", "competency": "pump", "date": dt.date(2016, 5, 1), "level": 2, "source": "assessor",
         "assessor": "gone-9"},
    ],
}  # fmt: skip


@pytest.fixture
def store(tmp_path: Path) -> Path:
    graph = LiveGraph.open(tmp_path / "store", create=True)
    graph.load({name: [TABLES[name].build(**row) for row in rows] for name, rows in ROWS.items()}, who="w", why="first")
    graph.close()
    database = Database(find_database(tmp_path / "store"))
    for age in (0.1, 1.0, 2.5, 4.0):
        Looks(database, lambda age=age: NOW - age * _YEAR_S).write(1, f"Lead {age}", "levels", ["here"])
    for at, what in ((NOW - _YEAR_S, "wrong password"), (NOW, "wrong password"), (NOW - _YEAR_S, "rights changed")):
        database.change(insert(EVENTS).values(at=at, what=what))
    return tmp_path / "store"


@pytest.fixture
def graph(store: Path) -> Iterator[LiveGraph]:
    graph = LiveGraph.open(store)
    yield graph
    graph.close()


def test_all_that_is_due_goes_and_nothing_else(graph: LiveGraph, store: Path) -> None:
    database = Database(find_database(store))
    before = count_commits(graph, graph.past.list_commits(1))[1]
    plan = plan_retention(graph, database, Settings(), TODAY)
    assert plan == carry_out_retention(graph, database, Settings(), TODAY, "daily")
    assert (plan.overdue.people, plan.years, plan.looks, plan.tries) == (("gone-9",), ((2015, 1),), 2, 1)
    snapshot = graph.get_snapshot()
    assert set(snapshot.people) == {"here"}
    assert [(one.level, one.assessor) for one in snapshot.get_assessments("here", "pump")] == [(2, "erased")]
    assert [look.by for look in Looks(database).list("here")] == ["Lead 1.0", "Lead 0.1"]
    assert sorted(row.what for row in database.ask(select(EVENTS))) == [
        "person erased",
        "rights changed",
        "wrong password",
    ]
    assert Erasure(database).build_test()("gone-9")
    assert plan_retention(graph, database, Settings(), TODAY).is_empty
    content = read_bytes(store.parent)
    for text in ("gone-9", "Longago", EVIDENCE, "Lead 2.5", "2015-05-01"):
        assert text.encode() not in content, text
    assert b"Still Here" in content
    assert b"Lead 1.0" in content
    assert count_commits(graph, graph.past.list_commits(3))[1] == before, "what was done stays counted"
    assert graph.past.get_erasures().removed == ((2, "assessments", 2015, 1),)
    assert choose_state(graph, StateAsked("1"), TODAY).remarks == (
        "1 person is missing here: erased since.",
        "Assessments whose time to be kept has passed are missing here.",
    )


def test_nought_keeps_without_end(graph: LiveGraph, store: Path) -> None:
    settings = Settings(
        retention_people_months=0,
        retention_assessments_months=0,
        retention_looks_months=0,
        retention_attempts_days=0,
    )
    assert carry_out_retention(graph, Database(find_database(store)), settings, TODAY, "daily").is_empty
    assert graph.get_snapshot().revision == 1


def test_a_purpose_stays_while_a_look_tells_of_it(graph: LiveGraph, store: Path) -> None:
    database, old = Database(find_database(store)), NOW - 5 * _YEAR_S
    number = Accounts(database, Passwords()).make("Architect").number
    for words in ("of a look", "of none"):
        row = {"account": number, "team": "works", "person": "", "reason": "audit", "words": words}
        database.change(insert(PURPOSES).values(**row, made_at=old, ends_at=old))
    Looks(database).write(number, "Architect", "gap", ["here"], purpose=1)
    carry_out_retention(graph, database, Settings(), TODAY, "daily")
    assert [row.words for row in database.ask(select(PURPOSES))] == ["of a look"]


def test_the_command_tells_first(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(store.parent)
    words = ["retention", "--store", str(store)]
    told = CliRunner().invoke(program, [*words, "--dry-run"], prog_name="newel").output
    assert "Would go:" in told
    assert "1 person who left: gone-9" in told
    assert "1 assessment that has long ceased to count: 1 of 2015" in told
    assert "2 looks at people" in told
    done = CliRunner().invoke(program, words, prog_name="newel").output
    assert done == told.replace("Would go:", "Gone:")
    again = CliRunner().invoke(program, words, prog_name="newel").output
    assert again == "Nothing was kept for long enough to go.\n"
    kept = CliRunner().invoke(program, words, prog_name="newel", env={"NEWEL_RETENTION_LOOKS_MONTHS": "6"}).output
    assert kept == "Gone:\n  1 look at a person\n"


def test_a_server_lets_go_each_day_where_it_is_set(graph: LiveGraph, store: Path) -> None:
    settings = Settings(retention_daily=1)
    app = create_app(graph, settings)
    app.extensions["newel"].keep("tag", lambda: b"old")
    assert start_daily(app, graph, Settings(), None) is None
    assert let_go(app, graph, settings, Database(find_database(store)))
    assert app.extensions["newel"].keep("tag", lambda: b"anew") == b"anew"
    assert graph.past.list_commits(3)[-1].who == "daily retention"
    assert not let_go(app, graph, settings, Database(find_database(store)))
