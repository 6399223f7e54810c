"""Input made to mislead: each is refused with its address, or comes back from every export as it went in."""

from __future__ import annotations

import warnings
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from workbook_parts import write_sheet

from api.terminal.program import program
from loaders.linked_data.linked_data import load_linked_data
from loaders.linked_data.writer import export_linked_data
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import DATA_GRAPHS, Quad

BASE = {"scales": "scale,rank,label\ns,1,One\n", "roles": "id,label\nr,R\n", "competencies": "id,label,scale\nc,C,s\n"}


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("hostile")
    (folder / "base").mkdir()
    for name, content in BASE.items():
        (folder / "base" / f"{name}.csv").write_text(content, encoding="utf-8")
    assert run("load", folder / "base", store=folder / "store").exit_code == 0
    return folder / "store"


def run(command: str, path: Path, store: Path) -> Result:
    return CliRunner().invoke(program, [command, str(path), "--store", str(store)], prog_name="newel")


def read_all(store: Path) -> set[Quad]:
    graph = LiveGraph.open(store)
    try:
        return {quad for name in DATA_GRAPHS for quad in graph.store.read_graph(name)}
    finally:
        graph.close()


LONG = "1" * 5_000
TURTLE = f"@prefix skos: <{ns.SKOS}> .\n"


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("requirements.csv", f"role,competency,level\nr,c,{LONG}\n", "row 2, level: too large"),
        ("requirements.csv", f"role,competency,level\nr,c,{LONG}.0\n", "row 2, level: too large"),
        (
            "competencies.csv",
            "id,label,scale,exact_match\nq,Q,s,http://[bad\n",
            "row 2, exact_match: 'http://[bad' is no",
        ),
        (
            "competencies.csv",
            "id,label,scale,exact_match\nq,Q,s,urn:x|http://a/%zz\n",
            "'http://a/%zz' is not an absolute IRI",
        ),
        ("competencies.csv", "id,label,scale,exact_match\nq,Q,s,http://a/\u00a0b\n", "is not an absolute IRI"),
        (
            "a.jsonld",
            '{"@id": "urn:a",\n "urn:p": "x",\n "urn:p": "y"}',
            "row 3: bad JSON: the name 'urn:p' stands twice",
        ),
        ("a.jsonld", '{"@id": "urn:a",\n "urn:p": NaN}', "row 2: bad JSON: NaN is not a JSON number"),
        (
            "a.jsonld",
            f'{{"@id": "urn:a",\n "urn:p": {LONG}}}',
            "row 2: bad JSON: 1111111111111111111… is not a",
        ),
        ("a.jsonld", "null", "row 1: not JSON-LD"),
        ("a.json", '"text"', "row 1: not JSON-LD"),
        ("a.ttl", '"x" <urn:p> <urn:o> .', "is a text as the subject"),
        ("a.ttl", "<urn:a> <urn:p> <http://a/\u00a0b> .", "is not an absolute IRI"),
        (
            "a.nt",
            '<urn:a> <urn:b> "x" .\r\n\r\n# c\r\n<urn:a> <urn:b>\r\n<urn:a> <urn:b> "y" .\r\n',
            "row 4: bad syntax",
        ),
        ("a.nq", '<urn:a> <urn:b> "x" <urn:g> .\n<urn:a> <urn:b> <urn:c> "g" .\n', "row 2: bad syntax"),
        (
            "a.rdf",
            f'<rdf:RDF xmlns:rdf="{ns.RDF}">\n<rdf:Description rdf:ID="1 2"/></rdf:RDF>',
            "row 2: bad syntax: rdf:ID value",
        ),
    ],
)
def test_what_could_mislead_is_one_addressed_error(
    name: str, content: str, words: str, tmp_path: Path, store: Path
) -> None:
    before = read_all(store)
    (tmp_path / name).write_bytes(content.encode())
    result = run("load", tmp_path / name, store)
    assert result.exit_code == 1
    assert isinstance(result.exception, SystemExit)
    assert result.stdout.startswith(f"error: {name}, ") or result.stdout.startswith(f"error: {name}: ")
    assert words in result.stdout
    assert len(result.stdout.splitlines()) == 1
    assert read_all(store) == before


def test_an_exact_match_that_is_a_text_is_refused_where_no_shape_is_looked_at(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("loaders.linked_data.linked_data.SHAPES_LIMIT", 0)
    (tmp_path / "a.ttl").write_text(
        f"{TURTLE}<{ns.ID}competency/q> a <{ns.NW}Competency> ; <{ns.NW}scale> <{ns.ID}scale/s> ; "
        'skos:prefLabel "Q" ; skos:exactMatch "foo" .'
    )
    (finding,) = load_linked_data(tmp_path / "a.ttl").findings
    assert (finding.column, finding.value) == ("exact_match", "foo")
    assert "must be an IRI" in finding.reason


def test_only_texts_of_columns_are_said_to_lose_their_language(tmp_path: Path) -> None:
    (tmp_path / "a.ttl").write_text(
        f"{TURTLE}<{ns.ID}competency/q> a <{ns.NW}Competency> ; <{ns.NW}scale> <{ns.ID}scale/s> ; "
        'skos:prefLabel "Q" ; skos:note "kept"@en, "behalten"@de .'
    )
    loaded = load_linked_data(tmp_path / "a.ttl")
    assert loaded.findings == []
    assert len(loaded.extra) == 2


@pytest.mark.parametrize("name", ["o.ttl", "o.nt", "o.nq", "o.trig", "o.jsonld", "o.json", "o.rdf", "o.owl"])
def test_iris_that_look_like_prefixed_names_and_texts_in_many_languages_come_back(name: str, tmp_path: Path) -> None:
    content = (
        f"{TURTLE}<urn:a> a skos:Concept ; skos:prefLabel 'tea'@en, 'чай'@ru, 'شاي'@ar, '茶'@zh-hant-tw ;\n"
        "  skos:altLabel '=1+1'@de, '\\t@x' ; <urn:n> 00.50, -0.0e0, true, '2026-01-01Z'^^<urn:t> .\n"
        "<skos:foo> <org:bar> <schema:baz> ; skos:note <skos:y>, 'n', ' \\r\\n ' .\n"
        "<http://é/ö%20?q=1&b=2#f> <urn:q> 1 .\n"
    )
    (tmp_path / "a.ttl").write_text(content, encoding="utf-8")
    first, second = LiveGraph.in_memory(), LiveGraph.in_memory()
    load_paths(first, [tmp_path / "a.ttl"])
    quads = {quad for graph in DATA_GRAPHS for quad in first.store.read_graph(graph)}
    assert len(quads) == 16
    export_linked_data(quads, tmp_path / name)
    load_paths(second, [tmp_path / name])
    assert {quad for graph in DATA_GRAPHS for quad in second.store.read_graph(graph)} == quads


def test_a_container_with_one_name_twice_is_refused(tmp_path: Path, store: Path) -> None:
    path = write_sheet(tmp_path / "book.xlsx", [["id", "label"], ["t", "T"]], "teams")
    with warnings.catch_warnings(), zipfile.ZipFile(path, "a") as archive:
        warnings.simplefilter("ignore", UserWarning)
        archive.writestr("XL/WORKBOOK.XML", "<workbook/>")
    result = run("load", path, store)
    assert result.exit_code == 1
    assert "book.xlsx is damaged: it holds xl/workbook.xml twice" in result.stderr


def test_tables_say_what_they_leave_out(tmp_path: Path, store: Path) -> None:
    (tmp_path / "a.ttl").write_text('<urn:a> <urn:p> "x"@en, "y"@de .')
    result = run("export", tmp_path / "tables", store)
    assert "Left out" not in result.stdout
    assert run("load", tmp_path / "base", store).exit_code == 1  # not there: nothing changes
    other = tmp_path / "other"
    assert run("load", tmp_path / "tables", other).exit_code == 0
    assert run("load", tmp_path / "a.ttl", other).exit_code == 0
    for name in ("again", "again.xlsx"):
        assert "Left out: 2 triples of others" in run("export", tmp_path / name, other).stdout
    assert "Left out" not in run("export", tmp_path / "again.ttl", other).stdout


def test_an_export_into_the_store_itself_is_refused(store: Path) -> None:
    for name in ("out.ttl", "deep/out.xlsx", "."):
        result = run("export", store / name, store)
        assert result.exit_code == 2
        assert "lies in the store itself" in result.stderr
    assert len(read_all(store)) > 10
