"""Linked data in: every format, what is refused and never fetched, and foreign SKOS kept as it is."""

from __future__ import annotations

import json
import socket
from pathlib import Path
from typing import Any

import pytest
from linked_files import load_text

from loaders.linked_data.linked_data import LINKED_DATA_SUFFIXES, load_linked_data
from ontology.errors import FileFormatError
from ontology.rdf import namespaces as ns

LABEL = f"<{ns.SKOS}prefLabel>"
ONE = {
    ".ttl": '<urn:a> <http://p.example/q> "x"@en .',
    ".nt": '<urn:a> <http://p.example/q> "x"@en .',
    ".nq": '<urn:a> <http://p.example/q> "x"@en <urn:g> .',
    ".trig": '<urn:g> { <urn:a> <http://p.example/q> "x"@en }',
    ".jsonld": '{"@id": "urn:a", "http://p.example/q": {"@value": "x", "@language": "en"}}',
    ".json": '{"@id": "urn:a", "http://p.example/q": {"@value": "x", "@language": "en"}}',
}
for _suffix in (".rdf", ".owl", ".xml"):
    ONE[_suffix] = (
        f'<rdf:RDF xmlns:rdf="{ns.RDF}" xmlns:p="http://p.example/"><rdf:Description rdf:about="urn:a">'
        '<p:q xml:lang="en">x</p:q></rdf:Description></rdf:RDF>'
    )


# ---- formats ----


@pytest.mark.parametrize("suffix", sorted(LINKED_DATA_SUFFIXES))
def test_every_format_is_read(tmp_path: Path, suffix: str) -> None:
    loaded = load_text(tmp_path, ONE[suffix], f"one{suffix}", prefixed=False)
    assert loaded.findings == []
    assert loaded.extra == [(ns.GRAPH_FRAMEWORK, "<urn:a>", "<http://p.example/q>", '"x"@en')]
    assert loaded.label == f"one{suffix}"


def test_unknown_suffix_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileFormatError, match=r"\.ttl"):
        load_text(tmp_path, "x", "file.doc")


def test_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileFormatError, match=r"no file or folder .*nothing\.ttl"):
        load_linked_data(tmp_path / "nothing.ttl")


@pytest.mark.parametrize(
    ("name", "text", "line"),
    [
        ("a.ttl", "<urn:a> <urn:b> <urn:c> .\n\n<urn:a> <urn:b> .\n", 3),
        ("a.ttl", "<urn:a> nope:b <urn:c> .", 1),
        ("a.nt", "<urn:a> <urn:b> <urn:c> .\n<urn:a> <urn:b> <urn:c\n", 2),
        ("a.nq", "<urn:a> <urn:b> <urn:c> <urn:g> .\n<urn:a> b .\n", 2),
        ("a.trig", "<urn:g> {\n <urn:a> <urn:b>\n}\n", 2),
        ("a.jsonld", '{"@id": "urn:a",\n "http://p/": }', 2),
        ("a.rdf", f'<rdf:RDF xmlns:rdf="{ns.RDF}">\n<a></rdf:RDF>', 2),
    ],
)
def test_syntax_error_is_an_error_with_its_line(tmp_path: Path, name: str, text: str, line: int) -> None:
    loaded = load_text(tmp_path, text, name, prefixed=False)
    assert [(f.severity, f.source, f.row) for f in loaded.findings] == [("error", name, line)]
    assert loaded.extra == []


def test_file_that_is_not_utf8_is_an_error_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "latin.ttl"
    path.write_bytes(b'# first\n<urn:a> <urn:b> "caf\xe9" .')
    (finding,) = load_linked_data(path).findings
    assert (finding.row, "UTF-8" in finding.reason) == (2, True)


@pytest.mark.parametrize(("name", "text"), [("e.ttl", ""), ("e.json", "{}"), ("e.nt", "\n# nothing\n")])
def test_file_without_statements_is_an_error(tmp_path: Path, name: str, text: str) -> None:
    (finding,) = load_text(tmp_path, text, name).findings
    assert (finding.severity, finding.reason) == ("error", "holds no statements")


def test_byte_order_mark_is_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "bom.ttl"
    path.write_bytes(b"\xef\xbb\xbf<urn:a> <urn:b> <urn:c> .")
    assert load_linked_data(path).findings == []


def test_relative_iris_do_not_tell_where_the_file_lies(tmp_path: Path) -> None:
    loaded = load_text(tmp_path, "<Thing> skos:broader <Other> .")
    assert loaded.extra[0][1] == f"<{ns.ID}file/file/Thing>"
    assert str(tmp_path) not in str(loaded.extra)


# ---- what is never done ----


@pytest.fixture
def no_network(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("something was fetched")

    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    monkeypatch.setattr(socket.socket, "connect", refuse)


@pytest.mark.usefixtures("no_network")
@pytest.mark.parametrize(
    "document",
    [
        {"@context": "http://fetch.example/c.jsonld", "@id": "urn:a"},
        {"@context": [{"p": "urn:p"}, "http://fetch.example/c.jsonld"], "@id": "urn:a"},
        {"@context": {"@version": 1.1, "@import": "http://fetch.example/c.jsonld"}, "@id": "urn:a"},
        {"@context": {"t": {"@id": "urn:t", "@context": "http://fetch.example/c.jsonld"}}, "@id": "urn:a", "t": {}},
        {"@graph": [{"@id": "urn:a", "urn:p": {"@context": "http://fetch.example/c.jsonld", "@id": "urn:b"}}]},
    ],
)
def test_context_elsewhere_is_refused_and_not_fetched(tmp_path: Path, document: dict[str, Any]) -> None:
    (finding,) = load_text(tmp_path, json.dumps(document), "a.jsonld").findings
    assert finding.value == "http://fetch.example/c.jsonld"
    assert "nothing is fetched" in finding.reason
    assert finding.row == 1


BOMB = "<!DOCTYPE r [<!ENTITY a 'ha'><!ENTITY b '&a;&a;&a;'>]>"
FILE_ENTITY = "<!DOCTYPE r [<!ENTITY a SYSTEM 'file:///etc/hostname'>]>"
OUTSIDE = "<!DOCTYPE r SYSTEM 'http://fetch.example/r.dtd'>"


@pytest.mark.usefixtures("no_network")
@pytest.mark.parametrize(("doctype", "words"), [(BOMB, "entity"), (FILE_ENTITY, "entity"), (OUTSIDE, "elsewhere")])
def test_entities_and_outside_types_of_xml_are_refused(tmp_path: Path, doctype: str, words: str) -> None:
    text = f'<?xml version="1.0"?>\n{doctype}\n<rdf:RDF xmlns:rdf="{ns.RDF}"><rdf:Description/></rdf:RDF>'
    (finding,) = load_text(tmp_path, text, "bomb.rdf").findings
    assert (finding.severity, finding.row) == ("error", 2)
    assert words in finding.reason


def test_imports_of_an_ontology_are_not_followed(tmp_path: Path, no_network: None) -> None:
    loaded = load_text(tmp_path, f"<urn:o> <{ns.OWL}imports> <http://fetch.example/o.ttl> .")
    assert len(loaded.extra) == 1


@pytest.mark.parametrize(
    ("text", "value", "words"),
    [
        ('{"@id": "http://a.example/<x>", "http://p.example/q": "v"}', "http://a.example/<x>", "absolute IRI"),
        ('{"@id": "urn:a", "http://p.example/q": "\\ud800"}', "", "surrogate"),
    ],
)
def test_term_that_no_store_can_hold_is_an_error(tmp_path: Path, text: str, value: str, words: str) -> None:
    loaded = load_text(tmp_path, text, "a.jsonld")
    (finding,) = loaded.findings
    assert (finding.severity, finding.value) == ("error", value)
    assert words in finding.reason
    assert loaded.extra == []


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("deep.jsonld", "[" * 5000 + "]" * 5000),
        ("deep.ttl", "<urn:a> <urn:b> " + "[" * 5000 + "]" * 5000 + " ."),
        ("tag.jsonld", '{"@id": "urn:a", "http://p.example/q": {"@value": "x", "@language": "en_US!"}}'),
    ],
)
def test_whatever_cannot_be_read_is_one_error(tmp_path: Path, name: str, text: str) -> None:
    loaded = load_text(tmp_path, text, name, prefixed=False)
    assert [finding.severity for finding in loaded.findings] == ["error"]
    assert loaded.extra == []


# ---- foreign SKOS ----


def test_foreign_skos_is_kept_as_it_is(tmp_path: Path) -> None:
    loaded = load_text(tmp_path, '<urn:a> a skos:Concept ; skos:prefLabel "A"@en-GB ; skos:broader <urn:b> .')
    assert loaded.records == {}
    assert loaded.findings == []
    assert {quad[0] for quad in loaded.extra} == {ns.GRAPH_FRAMEWORK}
    assert (ns.GRAPH_FRAMEWORK, "<urn:a>", LABEL, '"A"@en-gb') in loaded.extra


@pytest.mark.parametrize(
    ("clause", "text"),
    [
        ("S9", "<urn:a> a skos:Concept , skos:ConceptScheme ."),
        ("S13", '<urn:a> skos:prefLabel "x" ; skos:altLabel "x" .'),
        ("S14", '<urn:a> skos:prefLabel "x"@en , "y"@en .'),
        ("S27", "<urn:a> skos:broader <urn:b> ; skos:related <urn:b> ."),
        ("S37", "<urn:a> a skos:Collection , skos:Concept ."),
        ("S46", "<urn:a> skos:exactMatch <urn:b> ; skos:broadMatch <urn:b> ."),
    ],
)
def test_broken_condition_is_an_error_and_nothing_foreign_is_handed_over(
    tmp_path: Path, clause: str, text: str
) -> None:
    loaded = load_text(tmp_path, text)
    assert [(f.severity, f.source, f.column) for f in loaded.findings if f.severity == "error"] == [
        ("error", "file.ttl", clause)
    ] * len(loaded.findings)
    assert loaded.findings
    assert loaded.extra == []


def test_cycle_of_foreign_concepts_is_no_error(tmp_path: Path) -> None:
    # SKOS Reference, example 37: consistent
    loaded = load_text(tmp_path, "<urn:a> skos:broader <urn:b> . <urn:b> skos:broader <urn:a> .")
    assert loaded.findings == []


def test_blank_nodes_get_the_same_iris_whatever_they_are_called(tmp_path: Path) -> None:
    one = load_text(tmp_path, '<urn:a> skos:note [ skos:example "x" ; skos:note [ skos:example "y" ] ] .', "one.ttl")
    two = load_text(
        tmp_path, '_:q skos:note _:r . _:r skos:example "y" . _:q skos:example "x" . <urn:a> skos:note _:q .', "two.ttl"
    )
    assert one.extra == two.extra
    assert all("_:" not in quad[1] + quad[3] for quad in one.extra)
    assert sum(quad[1].startswith(f"<{ns.ID}node/") for quad in one.extra) == 3
