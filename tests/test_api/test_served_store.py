"""A store that is being served can be asked by commands all the same, and says the same to the byte."""

from __future__ import annotations

import http.client
import json
import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from loopback import serve
from scenario import SCENARIO, add_neighbour, begin_draft
from scenario_questions import WORDS

from api.app import create_app
from api.terminal.program import program
from api.terminal.served_note import ADDRESS, SECRET, ServedNote, leaving_note, make_note, read_note
from api.terminal.window import build_window
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph
from ontology.store.backups import copy_store
from ontology.store.folder import SERVED_NOTE

GAP = ("gap", *WORDS["gap"])
#: What is asked, with errors among it: of the name, of the parameter, of both together.
ASKED = (
    *((name, *WORDS[name]) for name in ("find", "gap", "coverage", "learning-path", "training-timetable", "headcount")),
    (*GAP, "--json"),
    ("gap", "Mirela Tanakka", "treatment-operator"),
    ("gap", "Mirela Tanakka", "treatment-operator", "--json"),
    ("gap", "p008", "operator", "--json"),
    ("coverage", "treatment", "--away", "nobody"),
    ("cross-training", "treatment", "--on", "2026-11-24", "--by", "2026-11-01", "--json"),
)
FILES = (("gap", "html"), ("coverage", "xlsx"), ("development-plan", "ics"), ("development-plan", "html"))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("served") / "store"
    graph = LiveGraph.open(folder, create=True)
    load_paths(graph, [SCENARIO])
    add_neighbour(graph)
    begin_draft(graph)
    graph.close()
    return folder


@contextmanager
def serving(folder: Path) -> Iterator[ServedNote]:
    """Serve a store in a thread of this process, as `newel serve` does in one of its own."""
    graph = LiveGraph.open(folder)
    app = create_app(graph)
    try:
        with serve(app, threads=20) as port:
            ours = make_note("127.0.0.1", port)
            app.register_blueprint(build_window(ours))
            with leaving_note(folder, ours):
                yield ours
    finally:
        graph.close()


def run(folder: Path, *words: str) -> tuple[int, str, str]:
    result = CliRunner().invoke(program, [*words, "--store", str(folder)], prog_name="newel")
    return result.exit_code, result.stdout, result.stderr


def post(note: ServedNote, headers: dict[str, str], body: bytes = b"{}") -> tuple[int, str]:
    connection = http.client.HTTPConnection(note.host, note.port, timeout=10)
    try:
        connection.request("POST", ADDRESS, body, headers)
        response = connection.getresponse()
        return response.status, response.read().decode()
    finally:
        connection.close()


def test_what_is_printed_is_the_same_whether_the_store_is_served_or_not(folder: Path) -> None:
    alone = {words: run(folder, *words) for words in ASKED}
    assert {status for status, _, _ in alone.values()} == {0, 1, 2}
    with serving(folder):
        for words in ASKED:
            assert run(folder, *words) == alone[words], words


@pytest.mark.parametrize(("name", "form"), FILES)
def test_files_are_the_same_too(folder: Path, tmp_path: Path, name: str, form: str) -> None:
    paths = [tmp_path / f"{which}.{form}" for which in ("alone", "served")]
    assert run(folder, name, *WORDS[name], "--to", str(paths[0]))[0] == 0
    with serving(folder):
        assert run(folder, name, *WORDS[name], "--to", str(paths[1]))[0] == 0
    assert paths[0].read_bytes() == paths[1].read_bytes()


def test_the_note_can_be_read_by_its_owner_alone_and_goes_with_the_server(folder: Path) -> None:
    path = folder / SERVED_NOTE
    with serving(folder) as note:
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
        assert path.stat().st_uid == os.getuid()
        assert read_note(folder) == note
        assert len(note.secret) >= 43  # 32 random bytes
    assert not path.exists()
    with serving(folder) as another:
        assert another.secret != note.secret


@pytest.mark.parametrize("secret", [None, "", "wrong"])
def test_without_the_secret_there_is_nothing_at_the_address(folder: Path, secret: str | None) -> None:
    with serving(folder) as note:
        status, text = post(note, {} if secret is None else {SECRET: secret})
        assert (status, "Mirela" in text) == (404, False)
        assert post(note, {SECRET: note.secret, "Sec-Fetch-Site": "cross-site"})[0] == 403
        assert post(note, {SECRET: note.secret})[0] == 422  # it opens, but {} is no call


def test_a_call_of_another_version_is_refused_in_words(folder: Path) -> None:
    with serving(folder) as note:
        for body in (
            b"no json",
            b"[]",
            b'{"question": "gap"}',
            b'{"question": 1, "table": "", "subject": "", "asked": {}}',
        ):
            status, text = post(note, {SECRET: note.secret}, body)
            assert (status, json.loads(text)["exit_code"]) == (422, 2)
        unknown: dict[str, Any] = {"question": "fortune", "table": "people", "subject": "p008", "asked": {}}
        assert "fortune" in json.loads(post(note, {SECRET: note.secret}, json.dumps(unknown).encode())[1])["detail"]


def test_a_wrong_secret_a_stale_note_or_none_leave_the_store_locked(folder: Path) -> None:
    told = f"newel: Another process has the store in {folder} open.\n"
    with serving(folder) as note:
        path = folder / SERVED_NOTE
        for content in (
            {"host": note.host, "port": note.port, "secret": "wrong"},
            {"host": note.host, "port": 1, "secret": note.secret},
            {"host": note.host},
            "no note",
        ):
            path.write_text(json.dumps(content), "utf-8")
            assert run(folder, *GAP) == (3, "", told), content
        path.unlink()
        assert run(folder, *GAP) == (3, "", told)


def test_a_note_left_behind_leads_nowhere_and_is_removed_by_who_opens_the_store(folder: Path) -> None:
    path = folder / SERVED_NOTE
    path.write_text(json.dumps({"host": "127.0.0.1", "port": 1, "secret": "old"}), "utf-8")
    assert run(folder, *GAP)[0] == 0
    assert not path.exists()


def test_a_backup_takes_no_note_and_a_folder_with_one_may_become_a_store(folder: Path, tmp_path: Path) -> None:
    graph = LiveGraph.open(folder)
    with leaving_note(folder, make_note("127.0.0.1", 1)):
        copy_store(graph.store, tmp_path / "copy")
    graph.close()
    assert not list((tmp_path / "copy").rglob(f"{SERVED_NOTE}*"))
    (tmp_path / "new").mkdir()
    (tmp_path / "new" / SERVED_NOTE).write_text("{}", "utf-8")
    LiveGraph.open(tmp_path / "new", create=True).close()
