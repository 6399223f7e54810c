"""Frameworks of others at every face: loaded by command, listed, compared with, let go; never asked as the own one."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from flask.testing import FlaskClient
from html_forms import list_links
from rest_company import build_company

from api.app import create_app
from api.terminal.program import program
from ontology.live.live_graph import LiveGraph

SCALES = "scale,rank,label\ncraft,1,able\ncraft,2,sure\n"
COMPETENCIES = "id,label,scale\npump,Pumps,craft\ngate,Sluice gates,craft\n"


def run(*words: object) -> Result:
    return CliRunner().invoke(program, [str(word) for word in words])


@pytest.fixture
def theirs(tmp_path: Path) -> Path:
    folder = tmp_path / "theirs"
    folder.mkdir()
    (folder / "scales.csv").write_text(SCALES, encoding="utf-8")
    (folder / "competencies.csv").write_text(COMPETENCIES, encoding="utf-8")
    return folder


@pytest.fixture
def store(tmp_path: Path) -> Path:
    graph = LiveGraph.open(tmp_path / "store", create=True)
    own = build_company().get_snapshot()
    graph.load({name: own.get_table(name).values() for name in ("scales", "competencies")}, who="t", why="w")
    graph.close()
    return tmp_path / "store"


def test_a_command_keeps_it_beside_and_the_own_framework_stays_as_it_is(store: Path, theirs: Path) -> None:
    kept = run("load", theirs, "--outside", "other", "--store", store)
    assert kept.exit_code == 0, kept.output
    assert kept.output == f"Stored 2 scales, 2 competencies. As other, beside {store}.\n"
    assert run("outside", "--store", store).output.startswith("other: other; 2 scales, 2 competencies; loaded ")
    graph = LiveGraph.open(store)
    try:
        # beside a store that is in use, too
        assert run("load", theirs, "--outside", "again", "--store", store).exit_code == 0
        assert run("outside", "--remove", "again", "--store", store).output == "again is gone.\n"
        assert run("outside", "--remove", "again", "--store", store).exit_code == 1
        assert graph.get_snapshot().revision == 1
        assert "gate" not in graph.get_snapshot().competencies
        client = create_app(graph).test_client()
        [told] = client.get("/api/outside").json or []
        assert (told["id"], told["counts"]) == ("other", {"scales": 2, "competencies": 2})
        assert client.get("/api/outside/other").json == told
        compared = client.get("/api/compare?from=outside:other&to=now").json or {}
        assert (compared["from"]["kind"], compared["from"]["text"]) == ("outside", "outside:other")
        assert {one["table"] for one in compared["tables"]} <= {"scales", "competencies"}
        assert "gate" in {row["id"] for row in compared["rows"] if row["change"] == "removed"}
        assert client.delete("/api/outside/other").status_code == 204
        assert client.get("/api/outside/other").status_code == 404
        assert client.get("/api/outside").json == []
    finally:
        graph.close()


def test_comparing_two_of_them_says_what_differs_and_an_unknown_one_says_which_there_are(
    store: Path, theirs: Path
) -> None:
    run("load", theirs, "--outside", "first", "--store", store)
    (theirs / "competencies.csv").write_text(COMPETENCIES.replace("Pumps", "Pump sets"), encoding="utf-8")
    run("load", theirs, "--outside", "second", "--store", store)
    told = run("compare", "outside:first", "outside:second", "--json", "--store", store)
    assert [row["words"] for row in json.loads(told.output)["rows"]] == ["renamed from Pumps to Pump sets"]
    (theirs / "roles.csv").write_text("id,label\nkeeper,Lock keeper\n", encoding="utf-8")
    run("load", theirs, "--outside", "third", "--store", store)
    for before, after, change in (("second", "third", "added"), ("third", "second", "removed")):
        told = run("compare", f"outside:{before}", f"outside:{after}", "--json", "--store", store)
        rows = [(row["table"], row["id"], row["change"]) for row in json.loads(told.output)["rows"]]
        assert rows == [("roles", "keeper", change)], "a table that one edition lacks is told"
    run("outside", "--remove", "third", "--store", store)
    shown = run("compare", "outside:first", "outside:second", "--store", store)
    assert "What changed from first to second" in shown.output
    unknown = run("compare", "outside:third", "outside:first", "--store", store)
    assert unknown.exit_code == 2
    assert "names no framework of others; loaded: outside:first, outside:second" in unknown.output


def test_what_is_read_calls_it_by_its_name(store: Path, theirs: Path) -> None:
    (theirs / "framework.csv").write_text("id,title\nthis,Skills of Hill\n", encoding="utf-8")
    run("load", theirs, "--outside", "other", "--store", store)
    graph = LiveGraph.open(store)
    try:
        client: FlaskClient = create_app(graph).test_client()
        proposed = client.get("/mappings/proposals?framework=other").text
        assert "<h1>What may be mapped to Skills of Hill</h1>" in proposed
        assert "of 2 competencies of Skills of Hill" in proposed
        assert (
            "<h1>What changed from Skills of Hill to now</h1>" in client.get("/compare?from=outside:other&to=now").text
        )
    finally:
        graph.close()


def test_a_trial_and_a_refused_one_change_nothing(store: Path, theirs: Path) -> None:
    run("load", theirs, "--outside", "other", "--store", store)
    (theirs / "competencies.csv").write_text("id,label,scale\nnew,New,craft\n", encoding="utf-8")
    tried = run("load", theirs, "--outside", "other", "--dry-run", "--store", store)
    assert tried.output.startswith("Checked, not stored:")
    (theirs / "teams.csv").write_text("id,label\nt,T\n", encoding="utf-8")
    refused = run("load", theirs, "--outside", "other", "--store", store)
    assert refused.exit_code == 2
    assert "competencies, roles and courses alone; here are teams" in refused.output
    told = run("compare", "outside:other", "outside:other", "--json", "--store", store)
    assert json.loads(told.output)["from"]["counts"] == {"scales": 2, "competencies": 2}


def test_no_answer_is_asked_of_it(store: Path, theirs: Path) -> None:
    run("load", theirs, "--outside", "other", "--store", store)
    graph = LiveGraph.open(store)
    try:
        client: FlaskClient = create_app(graph).test_client()
        assert client.get("/api/competencies?as_of=outside:other").status_code == 422
        assert client.get("/api/competencies/gate").status_code == 404
    finally:
        graph.close()


def test_pages_list_them_and_one_goes_at_the_second_press(store: Path, theirs: Path) -> None:
    run("load", theirs, "--outside", "other", "--store", store)
    graph = LiveGraph.open(store)
    try:
        client: FlaskClient = create_app(graph).test_client()
        read = client.get("/outside").text
        assert "1 framework of others stands beside yours." in read
        assert "2 scales, 2 competencies" in read
        links = set(list_links(read))
        assert {"/compare?from=outside%3Aother&to=now", "/mappings/proposals?framework=other"} <= links
        assert "/outside" in set(list_links(client.get("/framework").text))
        assert "/outside/other/removal" in links
        asked = client.get("/outside/other/removal")
        assert (asked.status_code, "It goes for good." in asked.text) == (200, True)
        assert graph.outside.list_ids() == ["other"]
        gone = client.post("/outside/other/removal")
        assert (gone.status_code, gone.headers["Location"]) == (303, "/outside")
        assert "No framework of others stands beside yours." in client.get("/outside").text
        assert client.get("/outside/other/removal").status_code == 404
    finally:
        graph.close()
