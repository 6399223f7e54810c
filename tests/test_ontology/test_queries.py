"""Queries from outside see three graphs and nothing else, take no more than they may, and leave nothing behind.

The attacks are those of W3C SPARQL 1.1 Query Language, sections 13 (RDF datasets) and 16 (forms), SPARQL 1.1 Federated
Query and SPARQL 1.1 Update; which of them an engine falls for is measured, not read.
"""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from threading import Thread

import pyoxigraph as ox
import pytest
from rest_company import build_company

from ontology.errors import MalformedQueryError, QueryLimitError, QueryProcessesBusyError
from ontology.rdf import namespaces as ns
from ontology.store.engine import Store
from ontology.store.query_process import Query, QueryAnswer, QueryLimits
from ontology.store.query_results import ROW_FORMS
from ontology.store.query_text import find_refusal
from ontology.store.queryable import ASKED_GRAPHS

#: Stands in no other text: a name, who changed it, why.
CANARY = "Zqanna Zqbird"
PERSON = ns.record_iri("person", "zqp001x")
LIMITS = QueryLimits(seconds=20)
ALL = "?s ?p ?o"
PEOPLE, TEAMS = ns.GRAPH_PEOPLE, ns.GRAPH_TEAMS


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """The company on disk, with somebody whose name stands in no other text, in its history too."""
    graph = build_company()
    store = Store.open(tmp_path_factory.mktemp("queries") / "store", create=True)
    quads = [quad for name in ns.DATA_GRAPHS for quad in graph.store.read_graph(name)]
    graph.close()
    name = (PEOPLE, ns.iri_term(PERSON), ns.iri_term(ns.SKOS + "prefLabel"), ns.text_term(CANARY))
    store.commit([*quads, name], [], who=CANARY, why=CANARY)
    store.commit([(TEAMS, *name[1:])], [name], who=CANARY, why=CANARY)
    store.commit([name], [(TEAMS, *name[1:])], who=CANARY, why=CANARY)
    yield store
    store.close()


def ask(store: Store, text: str, limits: QueryLimits = LIMITS, form: str = "json") -> QueryAnswer:
    graph_form = form if form in ("turtle", "n-triples") else "n-triples"
    rows_form = form if form in ROW_FORMS else "json"
    return store.queries.ask(Query(text, ASKED_GRAPHS, ASKED_GRAPHS, rows_form, graph_form), limits)


ATTACKS = [
    f"SELECT * {{ {ALL} }}",
    f"SELECT * {{ GRAPH ?g {{ {ALL} }} }}",
    f"SELECT * {{ GRAPH <{PEOPLE}> {{ {ALL} }} }}",
    f"SELECT * {{ VALUES ?g {{ <{PEOPLE}> <{TEAMS}> <{ns.GRAPH_HISTORY}> }} GRAPH ?g {{ {ALL} }} }}",
    f"SELECT * FROM <{PEOPLE}> {{ {ALL} }}",
    f"SELECT * FROM NAMED <{PEOPLE}> {{ GRAPH ?g {{ {ALL} }} }}",
    f"CONSTRUCT {{ {ALL} }} FROM <{PEOPLE}> {{ {ALL} }}",
    f"SELECT * {{ {{ SELECT * {{ GRAPH ?g {{ {ALL} }} }} }} }}",
    f"SELECT * {{ ?x ?y ?z FILTER EXISTS {{ GRAPH <{PEOPLE}> {{ {ALL} }} }} }}",
    f"SELECT * {{ <{PERSON}> (<a:b>|!<a:b>)* ?o }}",
    f"SELECT * {{ GRAPH ?g {{ <{PERSON}> (<a:b>|!<a:b>|^<a:b>|!^<a:b>)+ ?o }} }}",
    f"DESCRIBE <{PERSON}>",
    "DESCRIBE ?s { GRAPH ?g { ?s ?p ?o } }",
    f"CONSTRUCT {{ {ALL} }} {{ GRAPH ?g {{ {ALL} }} }}",
    f"CONSTRUCT WHERE {{ {ALL} }}",
    f"SELECT * {{ GRAPH ?g {{ ?s <{ns.SKOS}prefLabel> '{CANARY}' }} }}",
    f"SELECT * {{ GRAPH <{ns.GRAPH_STORE}> {{ {ALL} }} }}",
    f"SELECT * {{ {{ GRAPH ?g {{ {ALL} }} }} MINUS {{ GRAPH ?h {{ ?s ?p ?q }} FILTER(?h = <{TEAMS}>) }} }}",
    f"SELECT (GROUP_CONCAT(?o) AS ?all) {{ GRAPH ?g {{ {ALL} }} }}",
]
UPDATES = [
    "INSERT DATA { <a:a> <a:b> <a:c> }",
    "DELETE WHERE { ?s ?p ?o }",
    "DROP ALL",
    "SELECT * {} ; CLEAR ALL",
    "LOAD <file:///etc/passwd>",
]


@pytest.mark.parametrize("text", ATTACKS)
def test_nobody_stands_in_what_is_found(store: Store, text: str) -> None:
    answer = ask(store, text)
    told = answer.content.decode()
    bound = told.replace(f"'{CANARY}'", "")
    for trace in (CANARY, "zqp001x", "/id/person/", "/id/assessment/", "/id/team/", "/history"):
        assert trace not in bound, trace
    if " ?g " in text and text.startswith("SELECT * { GRAPH ?g"):
        graphs = {row["g"].value for row in ox.parse_query_results(answer.content, format=ox.QueryResultsFormat.JSON)}  # type: ignore[union-attr]
        assert graphs <= set(ASKED_GRAPHS)


def test_the_three_graphs_are_there_whole(store: Store) -> None:
    """What is seen is not just nothing: every triple of the framework and the offers, and the vocabulary."""
    for graph in ASKED_GRAPHS:
        text = f"SELECT (COUNT(*) AS ?n) {{ GRAPH <{graph}> {{ {ALL} }} }}"
        n = int(ask(store, text, form="csv").content.split(b"\r\n")[1])
        assert n == store.count(graph) if graph != ns.GRAPH_VOCABULARY else n > 500
        assert n > 0


@pytest.mark.parametrize("text", UPDATES)
def test_nothing_is_changed(store: Store, text: str) -> None:
    revision = store.revision
    with pytest.raises(MalformedQueryError):
        ask(store, text)
    assert store.revision == revision


@pytest.mark.parametrize("silent", ["", "SILENT "])
def test_no_host_is_asked_even_where_the_word_is_not_found(store: Store, silent: str) -> None:
    """The words are looked for before; this is what holds where they were hidden well enough."""
    with socket.create_server(("127.0.0.1", 0)) as listening:
        listening.settimeout(0.3)
        address = f"http://127.0.0.1:{listening.getsockname()[1]}/"
        text = f"SELECT * {{ SERVICE {silent}<{address}> {{ {ALL} }} }}"
        if silent:
            ask(store, text)
        else:
            with pytest.raises(MalformedQueryError, match="open files"):
                ask(store, text)
        with pytest.raises(TimeoutError):
            listening.accept()


HIDDEN = [
    "SELECT * { SERVICE <http://a.example/> { ?s ?p ?o } }",
    "SELECT * { ?s ?p 'x\\'' . service<http://a.example/> { ?s ?p ?o } }",
    "SELECT * { ?s ?p '''it's''' . SERVICE ?x { ?s ?p ?o } }",
    "SELECT * # 'comment\n{ Service Silent <http://a.example/> { ?s ?p ?o } } # '",
    'SELECT * { ?s ?p """a "" b""" SERVICE <http://a.example/#x> { ?s ?p ?o } }',
    "PREFIX e: <http://e.example/> SELECT * { ?s e:a\\#b 1 . SERVICE e:x { ?s ?p ?o } }",
    "PREFIX e: <http://e.example/> SELECT * { ?s e:a\\'b 1 . SERVICE e:x { ?s ?p e:c\\'d } }",
    "SELECT * { ?s ?p ?o FILTER(?o<1)SERVICE<http://a.example/>{?s ?p ?o} }",
    "SELECT *\nFROM <http://a.example/> { ?s ?p ?o }",
    "SELECT * from named <http://a.example/> { ?s ?p ?o }",
]
HARMLESS = [
    "SELECT * { ?s ?p 'SERVICE', \"from\", '''FROM\n''' } # SERVICE FROM",
    "SELECT * { <http://a.example/service#from> ?from ?service }",
    "PREFIX from: <http://e.example/> SELECT * { ?s from:service ?o . ?o $from _:service }",
    "SELECT * { ?s <http://schema.example/servicefrom> ?o . ?o ?p 'it\\'s FROM' }",
]


def test_words_are_found_where_they_stand_bare_and_only_there() -> None:
    assert [text for text in HIDDEN if not find_refusal(text)] == []
    assert [text for text in HARMLESS if find_refusal(text)] == []
    engine = ox.Store()
    for text in HARMLESS:
        engine.query(text)  # sound for the engine, too


def test_time_memory_and_bytes_are_limits_and_cost_that_query_only(store: Store) -> None:
    hard = f"SELECT * {{ {ALL} . ?a ?b ?c . ?d ?e ?f }} ORDER BY ?s ?f"
    ask(store, "ASK {}")
    began = time.monotonic()
    with pytest.raises(QueryLimitError) as told:
        ask(store, hard, replace(LIMITS, seconds=0.3))
    assert told.value.context["limit"] == "time"
    assert time.monotonic() - began < 5
    with pytest.raises(QueryLimitError) as told:
        ask(store, f"SELECT * {{ {ALL} }}", replace(LIMITS, answer_bytes=1000))
    assert told.value.context["limit"] == "bytes"
    nested = "SELECT * {" + "{" * 20_000 + ALL + "}" * 20_000 + "}"
    with pytest.raises(QueryLimitError) as told:
        ask(store, nested)
    assert told.value.context["limit"] == "memory"
    assert ask(store, "ASK {}").content == b'{"head":{},"boolean":true}'


def test_rows_are_cut_and_it_is_said(store: Store) -> None:
    for text in (f"SELECT * {{ {ALL} }}", f"CONSTRUCT WHERE {{ {ALL} }}"):
        whole = ask(store, text)
        assert not whole.is_cut
        cut = ask(store, text, replace(LIMITS, rows=whole.n_rows - 1))
        assert (cut.n_rows, cut.is_cut) == (whole.n_rows - 1, True)
        assert not ask(store, text, replace(LIMITS, rows=whole.n_rows)).is_cut


def test_a_commit_is_seen_by_the_next_query_and_old_copies_go(store: Store) -> None:
    mark = (ns.GRAPH_FRAMEWORK, "<https://x.example/a>", "<https://x.example/b>", ns.text_term("new"))
    text = "ASK { <https://x.example/a> ?p 'new' }"
    assert b"false" in ask(store, text).content
    for added, removed, expected in (([mark], [], b"true"), ([], [mark], b"false")):
        revision = store.commit(added, removed, who="test", why="test")
        answer = ask(store, text)
        assert (expected in answer.content, answer.revision) == (True, revision)
        assert store.path is not None
        assert len(list((store.path / "queries").iterdir())) == 1


def test_more_at_once_than_may_is_told_and_the_rest_goes_on(store: Store) -> None:
    hard, told = f"SELECT * {{ {ALL} . ?a ?b ?c . ?d ?e ?f }} ORDER BY ?s ?f", []
    limits = replace(LIMITS, seconds=3)

    def spend() -> None:
        with pytest.raises(QueryLimitError) as error:
            ask(store, hard, limits)
        told.append(error.value)

    threads = [Thread(target=spend) for _ in range(limits.processes)]
    for thread in threads:
        thread.start()
    end = time.monotonic() + 20
    while store.queries._n_busy < limits.processes and time.monotonic() < end:
        time.sleep(0.005)
    with pytest.raises(QueryProcessesBusyError):
        ask(store, "ASK {}", limits)
    for thread in threads:
        thread.join()
    assert len(told) == limits.processes
    assert b"true" in ask(store, "ASK {}").content


def test_nothing_is_left_behind(tmp_path: Path) -> None:
    """No copy and no process: after closing, after being killed in the middle, and of a store in memory."""
    folder = tmp_path / "store"
    program = (
        "import sys, os\nfrom pathlib import Path\nfrom ontology.store.engine import Store\n"
        "from ontology.store.query_process import Query, QueryLimits\n"
        "from ontology.store.queryable import ASKED_GRAPHS\n"
        "store = Store.open(Path(sys.argv[1]), create=True)\n"
        "store.queries.ask(Query('ASK {}', ASKED_GRAPHS, ASKED_GRAPHS), QueryLimits(seconds=20))\n"
        "print(*(process._process.pid for process in store.queries._running), flush=True)\n"
        "os._exit(1) if sys.argv[2] == 'killed' else store.close()\n"
    )
    for how, left in (("killed", True), ("closed", False)):
        done = subprocess.run([sys.executable, "-c", program, str(folder), how], capture_output=True, text=True)
        numbers = [int(word) for word in done.stdout.split()]
        assert len(numbers) == 1, done.stderr
        assert (folder / "queries").exists() == left
        latest = time.monotonic() + 10
        while any(map(_runs, numbers)) and time.monotonic() < latest:
            time.sleep(0.02)
        assert not any(map(_runs, numbers))
    store = Store.in_memory()
    home = store.queries._home
    assert b"true" in ask(store, "ASK {}").content
    assert home.exists()
    store.close()
    assert not home.exists()


def _runs(number: int) -> bool:
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    return True
