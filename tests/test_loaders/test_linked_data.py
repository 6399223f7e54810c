"""Linked data in and out: formats, what is refused, records of ours, and foreign SKOS kept beside them."""

from __future__ import annotations

import json
import socket
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from rdflib import Graph
from rdflib.compare import isomorphic
from small_company import build_competencies, build_scale, build_snapshot

from loaders.linked_data import LINKED_DATA_SUFFIXES, load_linked_data
from loaders.linked_data_writer import export_linked_data
from loaders.report import Loaded
from ontology import namespaces as ns
from ontology.errors import FileFormatError
from ontology.graph.live import LiveGraph
from ontology.tables import TABLES
from ontology.terms import build_graph
from ontology.writer import Quad

PREFIXES = (
    f"@prefix nw: <{ns.NW}> .\n@prefix skos: <{ns.SKOS}> .\n@prefix id: <{ns.ID}> .\n@prefix org: <{ns.ORG}> .\n"
    f"@prefix schema: <{ns.SCHEMA}> .\n@prefix dcterms: <{ns.DCTERMS}> .\n@prefix xsd: <{ns.XSD}> .\n"
)
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


def load(tmp_path: Path, text: str, name: str = "file.ttl", *, prefixed: bool = True) -> Loaded:
    path = tmp_path / name
    is_turtle = name.endswith(".ttl") and prefixed
    path.write_text((PREFIXES if is_turtle else "") + text, encoding="utf-8")
    return load_linked_data(path)


def tell(loaded: Loaded) -> list[tuple[str, str, str]]:
    return [(finding.severity, finding.column, finding.value) for finding in loaded.findings]


def build_rows() -> dict[str, list[dict[str, Any]]]:
    return {
        "scales": [
            *build_scale(),
            {"scale": "two", "rank": 1, "label": "No"},
            {"scale": "two", "rank": 2, "label": "Yes"},
        ],
        "competencies": [
            *build_competencies("weld read"),
            {
                "id": "licence",
                "label": 'Größe "A" \\ <tag> & 50 % |\n\tnext ü 😀',
                "scale": "two",
                "broader": ("read", "weld"),
                "kind": "certificate",
                "validity_months": 24,
                "safety": True,
                "alt_labels": ("B", "C"),
                "exact_match": ("http://other.example/x#1",),
                "assessment_hours": 0.25,
            },
        ],
        "roles": [{"id": "fitter", "label": "Fitter", "family": "metal", "months_to_full": 6}],
        "requirements": [
            {
                "role": "fitter",
                "competency": "weld",
                "level": 3,
                "entry_level": 2,
                "weight": 4.5,
                "measured_level": 2.75,
            },
            {"role": "fitter", "competency": "licence", "level": 2, "necessity": "blocking", "learned_on_job": False},
        ],
        "courses": [{"id": "k1", "label": "Course", "hours": 7.5, "strand": "formal", "seats": 8, "weeks": 2.0}],
        "outcomes": [{"course": "k1", "competency": "licence", "level": 2, "renews": True}],
        "entry_conditions": [{"course": "k1", "competency": "weld", "level": 1}],
        "teams": [{"id": "t", "label": "Team"}, {"id": "u", "label": "Part", "part_of": "t"}],
        "shifts": [{"id": "early", "team": "t", "label": "Early"}],
        "people": [
            {
                "id": "p1",
                "name": "Ada Quill",
                "team": "t",
                "shift": "early",
                "role": "fitter",
                "start_date": date(2020, 1, 1),
            }
        ],
        "absences": [{"person": "p1", "from_date": date(2026, 1, 5), "to_date": date(2026, 1, 9)}],
        "assessments": [
            {"person": "p1", "competency": "weld", "level": 2, "date": date(2026, 1, 2), "assessor": "Dr. O~X / y"}
        ],
        "cover_needs": [{"team": "t", "competency": "weld", "level": 2, "applies": "early", "together": "a b"}],
        "places": [{"id": "bench", "team": "t", "role": "fitter", "shift": "early", "count": 2}],
    }


FOREIGN: list[Quad] = [
    (ns.GRAPH_FRAMEWORK, "<http://other.example/x>", LABEL, '"über"@de-at'),
    (ns.GRAPH_FRAMEWORK, f"<{ns.ID}competency/weld>", f"<{ns.SKOS}related>", f"<{ns.ID}competency/licence>"),
    (ns.GRAPH_PEOPLE, f"<{ns.ID}person/p1>", f"<{ns.SKOS}note>", '"left-handed tools"'),
]


def store_company() -> tuple[LiveGraph, list[Quad]]:
    rows = build_rows()
    rows["competencies"][2]["broader"] = ("read",)
    snapshot = build_snapshot(**rows)
    graph = LiveGraph.in_memory()
    graph.load({name: list(snapshot.get_table(name).values()) for name in TABLES}, FOREIGN, who="test", why="load")
    return graph, read_all(graph)


def read_all(graph: LiveGraph) -> list[Quad]:
    return sorted(quad for name in ns.DATA_GRAPHS for quad in graph.store.read_graph(name))


# ---- formats ----


@pytest.mark.parametrize("suffix", sorted(LINKED_DATA_SUFFIXES))
def test_every_format_is_read(tmp_path: Path, suffix: str) -> None:
    loaded = load(tmp_path, ONE[suffix], f"one{suffix}", prefixed=False)
    assert loaded.findings == []
    assert loaded.extra == [(ns.GRAPH_FRAMEWORK, "<urn:a>", "<http://p.example/q>", '"x"@en')]
    assert loaded.label == f"one{suffix}"


def test_unknown_suffix_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileFormatError, match=r"\.ttl"):
        load(tmp_path, "x", "file.doc")


def test_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileFormatError, match="cannot be read"):
        load_linked_data(tmp_path / "nothing.ttl")


@pytest.mark.parametrize(
    ("name", "text", "line"),
    [
        ("a.ttl", "<urn:a> <urn:b> <urn:c> .\n\n<urn:a> <urn:b> .\n", 3),
        ("a.ttl", "<urn:a> nope:b <urn:c> .", 1),
        ("a.nt", "<urn:a> <urn:b> <urn:c> .\n<urn:a> <urn:b> <urn:c\n", 2),
        ("a.nq", "<urn:a> <urn:b> <urn:c> <urn:g> .\n<urn:a> b .\n", 2),
        ("a.trig", "<urn:g> {\n <urn:a> <urn:b>\n}\n", 3),
        ("a.jsonld", '{"@id": "urn:a",\n "http://p/": }', 2),
        ("a.rdf", f'<rdf:RDF xmlns:rdf="{ns.RDF}">\n<a></rdf:RDF>', 2),
    ],
)
def test_syntax_error_is_an_error_with_its_line(tmp_path: Path, name: str, text: str, line: int) -> None:
    loaded = load(tmp_path, text, name, prefixed=False)
    assert [(f.severity, f.source, f.row) for f in loaded.findings] == [("error", name, line)]
    assert loaded.extra == []


def test_file_that_is_not_utf8_is_an_error_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "latin.ttl"
    path.write_bytes(b'# first\n<urn:a> <urn:b> "caf\xe9" .')
    (finding,) = load_linked_data(path).findings
    assert (finding.row, "UTF-8" in finding.reason) == (2, True)


@pytest.mark.parametrize(("name", "text"), [("e.ttl", ""), ("e.json", "{}"), ("e.nt", "\n# nothing\n")])
def test_file_without_statements_is_an_error(tmp_path: Path, name: str, text: str) -> None:
    (finding,) = load(tmp_path, text, name).findings
    assert (finding.severity, finding.reason) == ("error", "holds no statements")


def test_byte_order_mark_is_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "bom.ttl"
    path.write_bytes(b"\xef\xbb\xbf<urn:a> <urn:b> <urn:c> .")
    assert load_linked_data(path).findings == []


def test_relative_iris_do_not_tell_where_the_file_lies(tmp_path: Path) -> None:
    loaded = load(tmp_path, "<Thing> skos:broader <Other> .")
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
    (finding,) = load(tmp_path, json.dumps(document), "a.jsonld").findings
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
    (finding,) = load(tmp_path, text, "bomb.rdf").findings
    assert (finding.severity, finding.row) == ("error", 2)
    assert words in finding.reason


def test_imports_of_an_ontology_are_not_followed(tmp_path: Path, no_network: None) -> None:
    loaded = load(tmp_path, f"<urn:o> <{ns.OWL}imports> <http://fetch.example/o.ttl> .")
    assert len(loaded.extra) == 1


@pytest.mark.parametrize(
    "text",
    [
        '{"@id": "urn:a", "http://p.example/q": {"@id": "no scheme"}}',
        '{"@id": "http://a.example/<x>", "http://p.example/q": "v"}',
        '{"@id": "urn:a", "http://p.example/q": "\\ud800"}',
    ],
)
def test_term_that_no_store_can_hold_is_an_error(tmp_path: Path, text: str) -> None:
    loaded = load(tmp_path, text, "a.jsonld")
    assert {finding.severity for finding in loaded.findings} == {"error"} or all(
        " " not in quad[1] + quad[3] for quad in loaded.extra
    )
    graph = LiveGraph.in_memory()
    graph.load(loaded.records, loaded.extra, who="test", why="it must not break the store")


# ---- foreign SKOS ----


def test_foreign_skos_is_kept_as_it_is(tmp_path: Path) -> None:
    loaded = load(tmp_path, '<urn:a> a skos:Concept ; skos:prefLabel "A"@en-GB ; skos:broader <urn:b> .')
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
    loaded = load(tmp_path, text)
    assert [(f.severity, f.source, f.column) for f in loaded.findings if f.severity == "error"] == [
        ("error", "file.ttl", clause)
    ] * len(loaded.findings)
    assert loaded.findings
    assert loaded.extra == []


def test_cycle_of_foreign_concepts_is_no_error(tmp_path: Path) -> None:
    # SKOS Reference, example 37: consistent
    loaded = load(tmp_path, "<urn:a> skos:broader <urn:b> . <urn:b> skos:broader <urn:a> .")
    assert loaded.findings == []


def test_blank_nodes_get_the_same_iris_whatever_they_are_called(tmp_path: Path) -> None:
    one = load(tmp_path, '<urn:a> skos:note [ skos:example "x" ; skos:note [ skos:example "y" ] ] .', "one.ttl")
    two = load(
        tmp_path, '_:q skos:note _:r . _:r skos:example "y" . _:q skos:example "x" . <urn:a> skos:note _:q .', "two.ttl"
    )
    assert one.extra == two.extra
    assert all("_:" not in quad[1] + quad[3] for quad in one.extra)
    assert sum(quad[1].startswith(f"<{ns.ID}node/") for quad in one.extra) == 3


# ---- records of ours ----

SCALE = (
    "<http://acme.example/s#lv> a nw:Scale , skos:OrderedCollection ; skos:memberList ( <http://acme.example/s#1> <http://acme.example/s#2> ) .\n"
    '<http://acme.example/s#1> a nw:Level ; nw:scale <http://acme.example/s#lv> ; nw:rank 1 ; skos:prefLabel "Low"@en .\n'
    '<http://acme.example/s#2> a nw:Level ; nw:scale <http://acme.example/s#lv> ; nw:rank 2 ; skos:prefLabel "High"@en .\n'
)


def test_records_under_iris_of_others_get_ids_and_competencies_keep_their_iri(tmp_path: Path) -> None:
    loaded = load(
        tmp_path,
        SCALE
        + '<http://acme.example/c/weld> a nw:Competency ; skos:prefLabel "Weld" ; nw:scale <http://acme.example/s#lv> .\n'
        + '<http://acme.example/r/1> a nw:Role ; dcterms:identifier "fitter" ; skos:prefLabel "Fitter" .\n'
        + "[] a nw:Requirement ; nw:role <http://acme.example/r/1> ; nw:competency <http://acme.example/c/weld> ; nw:level 2 ; nw:weight 4 .\n"
        + "<urn:note> skos:related <http://acme.example/c/weld> .\n",
    )
    assert [finding for finding in loaded.findings if finding.severity == "error"] == []
    assert [(level.scale, level.rank, level.label) for level in loaded.records["scales"]] == [
        ("lv", 1, "Low"),
        ("lv", 2, "High"),
    ]
    (competency,) = loaded.records["competencies"]
    assert (competency.id, competency.scale, competency.exact_match) == ("weld", "lv", ("http://acme.example/c/weld",))
    assert loaded.records["roles"][0].id == "fitter"
    assert loaded.records["requirements"] == [
        TABLES["requirements"].build(role="fitter", competency="weld", level=2, weight=4.0)
    ]
    assert loaded.extra == [(ns.GRAPH_FRAMEWORK, "<urn:note>", f"<{ns.SKOS}related>", f"<{ns.ID}competency/weld>")]
    graph = LiveGraph.in_memory()
    assert graph.load(loaded.records, loaded.extra, who="test", why="acme").remarks == ()


def test_language_tag_of_a_label_of_ours_is_remarked(tmp_path: Path) -> None:
    loaded = load(tmp_path, SCALE)
    assert [(f.severity, f.reason[:12]) for f in loaded.findings] == [("remark", "2 record(s) ")]


def test_narrower_between_competencies_is_read_as_broader(tmp_path: Path) -> None:
    # SKOS Reference, S25: narrower is the inverse of broader
    text = "".join(
        f'id:competency\\/{name} a nw:Competency ; skos:prefLabel "{name}" ; nw:scale id:scale\\/lv .\n'
        for name in "ab"
    )
    loaded = load(tmp_path, text + "id:competency\\/a skos:narrower id:competency\\/b .")
    assert [(c.id, c.broader) for c in loaded.records["competencies"]] == [("a", ()), ("b", ("a",))]


@pytest.mark.parametrize(
    ("statement", "column", "value"),
    [
        ("nw:level 0", "level", "0"),
        ('nw:level "3"', "level", "3"),
        ("nw:level 2 ; nw:level 3", "level", ""),
        ("nw:level 3 ; nw:weight 9", "weight", "9"),
        ('nw:level 3 ; nw:necessity "nice"', "necessity", "nice"),
        ("nw:level 2 ; nw:entryLevel 3", "entry_level", "3"),
        ("skos:note 1", "level", ""),
    ],
)
def test_broken_shape_is_an_error_of_the_file_and_its_record_is_left_out(
    tmp_path: Path, statement: str, column: str, value: str
) -> None:
    text = f"<{ns.ID}requirement/r~c> a nw:Requirement ; nw:role <{ns.ID}role/r> ; nw:competency <{ns.ID}competency/c> ; {statement} ."
    loaded = load(tmp_path, text)
    assert ("error", column, value) in tell(loaded)
    assert {finding.source for finding in loaded.findings} == {"file.ttl"}
    assert "requirements" not in loaded.records


@pytest.mark.parametrize(
    ("text", "column"),
    [
        (f'<{ns.ID}role/r> a nw:Role ; skos:prefLabel "R" ; nw:monthsTofull 3 .', "nw:monthsTofull"),
        (f'<{ns.ID}role/r> a nw:Role ; skos:prefLabel "R" ; nw:hours 3 .', "nw:hours"),
        (f'<{ns.ID}role/r> a nw:Rôle ; skos:prefLabel "R" .', "nw:Rôle"),
    ],
)
def test_term_of_ours_that_is_unknown_or_misplaced_is_an_error(tmp_path: Path, text: str, column: str) -> None:
    loaded = load(tmp_path, text)
    assert column in {finding.column for finding in loaded.findings if finding.severity == "error"}


@pytest.mark.parametrize(
    ("prefix", "local", "words"),
    [
        ("schema:", "birthDate", "age plays no part"),
        ("schema:", "gender", "sex plays no part"),
        ("schema:", "nationality", "origin plays no part"),
        ("nw:", "absenceReason", "dates are enough"),
        ("schema:", "healthCondition", ""),
    ],
)
def test_what_must_not_be_kept_of_people_is_refused_with_its_reason(
    tmp_path: Path, prefix: str, local: str, words: str
) -> None:
    loaded = load(tmp_path, f'<{ns.ID}person/p1> a nw:Person ; schema:name "Ada Quill" ; {prefix}{local} "x" .')
    reasons = [finding.reason for finding in loaded.findings if finding.severity == "error"]
    if words:
        assert any("refused" in reason and words in reason for reason in reasons)
    else:
        assert reasons == []


def test_iri_of_ours_and_properties_must_agree(tmp_path: Path) -> None:
    text = f"<{ns.ID}requirement/r~c> a nw:Requirement ; nw:role <{ns.ID}role/other> ; nw:competency <{ns.ID}competency/c> ; nw:level 2 ."
    loaded = load(tmp_path, text)
    assert any("must agree" in finding.reason for finding in loaded.findings)
    assert loaded.records == {}


def test_reference_to_something_else_is_an_error(tmp_path: Path) -> None:
    text = f"<{ns.ID}requirement/r~c> a nw:Requirement ; nw:role <{ns.ID}team/r> ; nw:competency <{ns.ID}competency/c> ; nw:level 2 ."
    assert ("error", "role", "team/r") in tell(load(tmp_path, text))


def test_two_records_with_one_key_are_told(tmp_path: Path) -> None:
    text = '<http://a.example/x> a nw:Role ; skos:prefLabel "A" . <http://b.example/x> a nw:Role ; skos:prefLabel "B" .'
    loaded = load(tmp_path, text)
    assert any("second record with the key x" in finding.reason for finding in loaded.findings)
    assert len(loaded.records["roles"]) == 1


def test_list_of_a_scale_must_be_in_the_order_of_ranks(tmp_path: Path) -> None:
    text = SCALE.replace(
        "( <http://acme.example/s#1> <http://acme.example/s#2> )",
        "( <http://acme.example/s#2> <http://acme.example/s#1> )",
    )
    assert ("error", "skos:memberList", "2, 1") in tell(load(tmp_path, text))


def test_statements_about_a_store_are_passed_over_with_a_remark(tmp_path: Path) -> None:
    text = f'<urn:x> <{ns.NW}revision> "7" <{ns.GRAPH_STORE}> .\n<urn:a> <urn:b> <urn:c> <{ns.HISTORY}3/people/added> .\n<urn:a> <urn:b> <urn:d> .\n'
    loaded = load(tmp_path, text, "dump.nq")
    assert [(f.severity, f.reason[:14]) for f in loaded.findings] == [("remark", "2 statements a")]
    assert loaded.extra == [(ns.GRAPH_FRAMEWORK, "<urn:a>", "<urn:b>", "<urn:d>")]


# ---- out and in again ----


@pytest.mark.parametrize("suffix", sorted(LINKED_DATA_SUFFIXES))
def test_export_and_load_give_the_same_store(tmp_path: Path, suffix: str) -> None:
    graph, quads = store_company()
    path = tmp_path / f"out{suffix}"
    export_linked_data(quads, path)
    loaded = load_linked_data(path)
    assert loaded.findings == []
    snapshot = graph.get_snapshot()
    for name in TABLES:
        assert sorted(map(repr, loaded.records.get(name, []))) == sorted(map(repr, snapshot.get_table(name).values()))
    assert loaded.extra == sorted(FOREIGN)
    again = LiveGraph.in_memory()
    again.load(loaded.records, loaded.extra, who="test", why="again")
    assert read_all(again) == quads


@pytest.mark.parametrize("suffix", sorted(LINKED_DATA_SUFFIXES))
def test_rdflib_reads_the_same_statements(tmp_path: Path, suffix: str) -> None:
    _, quads = store_company()
    path = tmp_path / f"out{suffix}"
    n_written = export_linked_data(quads, path, with_standard_types=False)
    assert n_written == len(quads)
    if suffix in (".nq", ".trig", ".jsonld", ".json"):
        return  # rdflib's Graph reads no named graphs; the round trip above holds them
    assert isomorphic(
        Graph().parse(path, format={".ttl": "turtle", ".nt": "nt"}.get(suffix, "xml")), build_graph(quads)
    )


@pytest.mark.parametrize("suffix", [".ttl", ".nq", ".trig", ".jsonld", ".rdf"])
def test_export_is_the_same_bytes_whatever_the_order(tmp_path: Path, suffix: str) -> None:
    _, quads = store_company()
    export_linked_data(quads, tmp_path / f"one{suffix}")
    export_linked_data(reversed(quads), tmp_path / f"two{suffix}")
    assert (tmp_path / f"one{suffix}").read_bytes() == (tmp_path / f"two{suffix}").read_bytes()
    assert sorted(p.name for p in tmp_path.iterdir()) == [f"one{suffix}", f"two{suffix}"]


def test_export_tells_other_tools_what_our_records_are(tmp_path: Path) -> None:
    _, quads = store_company()
    export_linked_data(quads, tmp_path / "out.ttl")
    graph = Graph().parse(tmp_path / "out.ttl")
    concepts = {
        str(s) for s in graph.subjects(None, next(iter(graph.objects(None, None))).__class__(ns.SKOS + "Concept"))
    }
    assert f"{ns.ID}competency/weld" in concepts
    assert f"{ns.ID}level/s5~1" in concepts
    assert f"{ns.ID}scale/s5" not in concepts


def test_export_to_rdf_xml_refuses_what_xml_cannot_hold(tmp_path: Path) -> None:
    with pytest.raises(FileFormatError, match="forbids"):
        export_linked_data([("", "<urn:a>", "<urn:b:c>", '"\\u0001"')], tmp_path / "a.rdf")
    with pytest.raises(FileFormatError, match="RDF/XML"):
        export_linked_data([("", "<urn:a>", "<urn:b:1>", '"x"')], tmp_path / "a.rdf")
    assert list(tmp_path.iterdir()) == []


def test_export_to_an_unknown_suffix_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileFormatError, match=r"\.jsonld"):
        export_linked_data([], tmp_path / "out.txt")
