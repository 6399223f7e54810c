"""Commands write down whom they tell of, where there is a database; what cannot be written down is not told."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner
from rest_company import ROWS

from api.access.access import Access
from api.access.database import Database, find_database
from api.access.looks import Looks
from api.app import create_app
from api.http.context import get_desk
from api.settings import Settings
from api.terminal.answering import answer_call
from api.terminal.call import Call, write_call
from api.terminal.program import program
from api.terminal.served_note import ADDRESS, SECRET, make_note
from api.terminal.who import get_who
from api.terminal.window import build_window
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("made") / "store"
    graph = LiveGraph.open(folder, create=True)
    graph.load({name: [TABLES[name].build(**row) for row in rows] for name, rows in ROWS.items()}, who="t", why="t")
    graph.close()
    return folder


@pytest.fixture
def store(made: Path, tmp_path: Path) -> Path:
    shutil.copytree(made, tmp_path / "store")
    return tmp_path / "store"


def run(store: Path, *words: str, code: int = 0) -> str:
    result = CliRunner().invoke(program, [*words, "--store", str(store)], prog_name="newel")
    assert result.exit_code == code, result.output
    return result.output


def list_looks(store: Path, person: str) -> list[tuple[str, str]]:
    return [(look.by, look.kind) for look in Looks(Database(find_database(store))).list(person)]


def test_without_a_database_none_is_made(store: Path) -> None:
    run(store, "levels", "p1")
    assert not Path(f"{store}-access").exists()


def test_whoever_is_told_of_is_written_down(store: Path) -> None:
    Database(find_database(store))
    run(store, "levels", "p1")
    assert [by for by, _ in list_looks(store, "p1")] == [get_who()]
    assert list_looks(store, "p2") == []
    told = json.loads(run(store, "coverage", "works", "--on", "2026-11-24", "--json"))
    assert "p2" in json.dumps(told)
    assert [by for by, _ in list_looks(store, "p2")] == [get_who()]
    run(store, "history", "people", "p3")
    run(store, "export", str(store.parent / "all.xlsx"))
    kinds = [kind for _, kind in list_looks(store, "p3")]
    assert {"Export of everything", "History of a record"} <= set(kinds)


def test_of_the_framework_nothing_is_written_down(store: Path) -> None:
    Database(find_database(store))
    run(store, "history", "roles", "operator")
    assert all(list_looks(store, person) == [] for person in ("p1", "p2", "p3"))


def test_what_cannot_be_written_down_is_not_told(store: Path) -> None:
    path = find_database(store)
    assert path is not None
    path.parent.mkdir()
    path.write_bytes(b"no database" * 500)
    assert "nothing about people is told" in run(store, "levels", "p1", code=3)


def test_a_served_store_answers_who_may_read_its_folder_and_writes_it_down(store: Path) -> None:
    graph, access = LiveGraph.open(store), Access(None)
    app = create_app(graph, Settings(), access)
    note = make_note("127.0.0.1", 1)
    app.register_blueprint(build_window(note))
    call = Call(question="levels", table="people", subject="p1", asked={}, form="json")
    replied = app.test_client().post(ADDRESS, data=write_call(call), headers={SECRET: note.secret})
    assert replied.status_code == 200, replied.text
    assert json.loads(replied.data)["person"] == "p1"
    assert [look.by for look in access.looks.list("p1")] == [get_who()]
    with app.test_request_context(), pytest.raises(Exception, match="p1"):
        answer_call(get_desk(), call)  # nobody has signed in: for the server's own desk there is no such person
    graph.close()
