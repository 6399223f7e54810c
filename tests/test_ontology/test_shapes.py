"""The SHACL shapes: they agree with the tables, use SHACL Core only, and every fault comes back with its address."""

from __future__ import annotations

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from typing import Any

import pyshacl
import pytest
from rdflib import RDF, RDFS, SH, XSD, Graph, URIRef
from rdflib.collection import Collection
from shape_faults import build_faulty_quads
from small_company import build_competencies, build_scale, build_snapshot

from ontology.checks.shapes import SHAPES_FOLDER, _get_shapes_given, build_shapes_graph, check_shapes
from ontology.errors import Finding
from ontology.mapping.writer import build_quads, build_scale_quads
from ontology.model.columns import Column, Table
from ontology.model.tables import NODE_TABLES, TABLES
from ontology.model.translated import find_translated_column
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.rdf.terms import build_graph

#: SHACL Core (W3C Recommendation, 20 July 2017), chapters 2 to 4: the part of it that we use.
CORE = {
    "targetClass", "property", "path", "name", "order", "message", "minCount", "maxCount", "datatype", "nodeKind",
    "class", "in", "minInclusive", "maxInclusive", "minLength", "pattern", "hasValue", "lessThanOrEquals", "or", "not",
    "defaultValue", "uniqueLang", "qualifiedValueShape", "qualifiedMinCount", "qualifiedMaxCount",
}  # fmt: skip
DATATYPES = {
    "integer": {XSD.integer},
    "number": {XSD.decimal, XSD.integer, XSD.double},
    "flag": {XSD.boolean},
    "date": {XSD.date},
    "text": {XSD.string, RDF.langString},
    "texts": {XSD.string, RDF.langString},
    "id": {XSD.string},
}
#: Texts that no language has: who made it, which language it is in, under which terms, and where it stands.
IN_NO_LANGUAGE = {("framework", name) for name in ("creator", "publisher", "language", "licence", "homepage")}
COLUMNS = [(table, column) for table in NODE_TABLES.values() for column in table.columns]


@pytest.fixture(scope="module")
def shapes() -> Graph:
    return build_shapes_graph()


def build_company_quads() -> list[Quad]:
    snapshot = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("weld read")
        + build_competencies("licence", kind="certificate", broader=("read",)),
        roles=[{"id": "fitter", "label": "Fitter"}],
        requirements=[
            {"role": "fitter", "competency": "weld", "level": 3, "entry_level": 2, "weight": 4.5},
            {"role": "fitter", "competency": "licence", "level": 1, "necessity": "blocking", "learned_on_job": False},
        ],
        courses=[{"id": "k1", "label": "Course", "hours": 7.5, "strand": "formal", "seats": 8}],
        outcomes=[{"course": "k1", "competency": "weld", "level": 2}],
        entry_conditions=[{"course": "k1", "competency": "weld", "level": 1}],
        teams=[{"id": "t", "label": "Team"}, {"id": "u", "label": "Part", "part_of": "t"}],
        shifts=[{"id": "early", "team": "t", "label": "Early"}],
        people=[{"id": "p1", "name": "Ada Quill", "team": "t", "shift": "early", "role": "fitter"}],
        absences=[{"person": "p1", "from_date": date(2026, 1, 5), "to_date": date(2026, 1, 9)}],
        assessments=[
            {"person": "p1", "competency": "weld", "level": 2, "date": date(2026, 1, 2), "source": "assessor"}
        ],
        cover_needs=[{"team": "t", "competency": "weld", "level": 2, "applies": "early", "criticality": 5}],
        places=[{"id": "bench", "team": "t", "role": "fitter", "shift": "early", "count": 2}],
    )
    quads = [quad for name, record in snapshot.iterate_records() for quad in build_quads(TABLES[name], record)]
    return quads + build_scale_quads("s5", snapshot.scales["s5"])


def find_property_shapes(shapes: Graph, table: Table, column: Column) -> list[Any]:
    shape = next(shapes.subjects(SH.targetClass, URIRef(table.class_iri)))
    return [
        node
        for node in shapes.objects(shape, SH.property)
        if shapes.value(node, SH.path) == URIRef(column.iri) and shapes.value(node, SH.order) is not None
    ]


def test_every_class_has_one_shape_in_a_file_of_its_own(shapes: Graph) -> None:
    targets = Counter(str(node) for node in shapes.objects(None, SH.targetClass))
    assert targets == Counter([*(table.class_iri for table in NODE_TABLES.values()), ns.NW + "Scale"])
    assert len(list(SHAPES_FOLDER.glob("*.ttl"))) == len(targets)


@pytest.mark.parametrize(("table", "column"), COLUMNS, ids=[f"{t.name}-{c.name}" for t, c in COLUMNS])
def test_shape_says_what_the_table_says(shapes: Graph, table: Table, column: Column) -> None:
    found = find_property_shapes(shapes, table, column)
    assert len(found) == 1
    node = found[0]

    def get(name: str) -> Any:
        value = shapes.value(node, SH[name])
        return None if value is None else value.toPython() if hasattr(value, "toPython") else value

    assert get("name") == column.name
    # the identifier is the last part of the IRI, so it need not be written
    fewest = 1 if column.is_required and column.kind != "id" else None
    most = None if column.kind in ("refs", "texts", "iris") else 1
    if find_translated_column(table.name, column.name) and most:
        # one plain text, and one in each other language: SHACL Core 4.4.5 and 4.7.3
        assert (get("qualifiedMinCount"), get("qualifiedMaxCount"), get("uniqueLang")) == (fewest, 1, True)
        counted = shapes.value(node, SH.qualifiedValueShape)
        assert list(shapes.predicate_objects(counted)) == [(SH.datatype, XSD.string)]
        fewest = most = None
    assert (get("minCount"), get("maxCount")) == (fewest, most)
    assert get("minInclusive") == column.minimum
    assert get("maxInclusive") == column.maximum
    if column.refers_to:
        kind = ns.NW + "Scale" if column.refers_to == "scales" else TABLES[column.refers_to].class_iri
        assert shapes.value(node, SH["class"]) == URIRef(kind)
        assert shapes.value(node, SH.nodeKind) == SH.IRI
    if column.choices:
        assert [str(item) for item in Collection(shapes, shapes.value(node, SH["in"]))] == list(column.choices)
    if column.kind in ("iri", "iris"):
        assert shapes.value(node, SH.nodeKind) == SH.IRI
    if column.kind in DATATYPES:
        alternatives = shapes.value(node, SH["or"])
        if alternatives is None:
            allowed = {shapes.value(node, SH.datatype)}
        else:
            allowed = {shapes.value(item, SH.datatype) for item in Collection(shapes, alternatives)}
        assert allowed == ({XSD.string} if (table.name, column.name) in IN_NO_LANGUAGE else DATATYPES[column.kind])
    written = get("defaultValue")
    if written is not None:
        assert type(column.default)(written) == column.default


def test_shapes_use_shacl_core_only_and_every_constraint_has_a_message(shapes: Graph) -> None:
    terms = {str(p).removeprefix(ns.SH) for p in shapes.predicates() if str(p).startswith(ns.SH)}
    assert terms <= CORE
    for node in set(shapes.objects(None, SH.property)):
        message = shapes.value(node, SH.message)
        assert message is not None
        assert str(message).endswith(".")


def test_shapes_are_themselves_valid_shapes(shapes: Graph) -> None:
    # the SHACL Recommendation's own shapes for shapes (appendix C), as pySHACL ships them
    conforms, _, text = pyshacl.validate(Graph(), shacl_graph=shapes, meta_shacl=True)
    assert conforms, text


def test_what_the_writer_writes_fits_the_shapes() -> None:
    assert check_shapes(build_company_quads()) == []


W = "<https://newel.example/id/requirement/fitter~weld>"
P = "<https://newel.example/id/person/p1>"
N = "<https://newel.example/id/cover-need/t~weld~2~early>"
XSD_INTEGER = f"^^<{ns.XSD}integer>"


@pytest.mark.parametrize(
    ("subject", "predicate", "value", "address"),
    [
        (W, "level", f'"0"{XSD_INTEGER}', ("requirements", "level", "0")),
        (W, "level", '"3"', ("requirements", "level", "3")),
        (W, "level", None, ("requirements", "level", "")),
        (W, "entryLevel", f'"4"{XSD_INTEGER}', ("requirements", "entry_level", "4")),
        (W, "unsupervisedLevel", f'"5"{XSD_INTEGER}', ("requirements", "unsupervised_level", "5")),
        (W, "weight", f'"5.1"^^<{ns.XSD}decimal>', ("requirements", "weight", "5.1")),
        (W, "necessity", '"nice"', ("requirements", "necessity", "nice")),
        (W, "learnedOnJob", '"yes"', ("requirements", "learned_on_job", "yes")),
        (W, "role", "<https://newel.example/id/role/nobody>", ("requirements", "role", ns.ID + "role/nobody")),
        (W, "role", "<https://newel.example/id/competency/weld>", ("requirements", "role", ns.ID + "competency/weld")),
        (W, "role", '"fitter"', ("requirements", "role", "fitter")),
        (P, "startDate", '"2026-01-01"', ("people", "start_date", "2026-01-01")),
        (N, "target", f'"0"{XSD_INTEGER}', ("cover_needs", "target", "0")),
        (N, "criticality", f'"6"{XSD_INTEGER}', ("cover_needs", "criticality", "6")),
    ],
)
def test_fault_is_found_with_its_address(
    subject: str, predicate: str, value: str | None, address: tuple[str, str, str]
) -> None:
    wanted = f"<{ns.NW}{predicate}>"
    quads = [quad for quad in build_company_quads() if (quad[1], quad[2]) != (subject, wanted)]
    if value is not None:
        quads.append(("g", subject, wanted, value))
    findings = check_shapes(quads)
    found = {(f.source, f.column, f.value): f for f in findings}
    assert address in found
    # a wrong full level also leaves the entry level without one to be compared with
    assert {column for _, column, _ in found} <= {address[1], "entry_level" if predicate == "level" else address[1]}
    assert found[address].severity == "error"
    assert found[address].about[0] == address[0]
    assert found[address].reason.startswith(subject.removeprefix(f"<{ns.ID}").rstrip(">"))


@pytest.mark.parametrize("value", ['"soon"', f'"2026-13-40"^^<{ns.XSD}date>', "_:b", "<urn:x>", f'"3"{XSD_INTEGER}'])
def test_value_that_cannot_be_put_in_order_is_still_told(value: str) -> None:
    end = ("g", P, f"<{ns.NW}endDate>", value)
    start = ("g", P, f"<{ns.NW}startDate>", f'"2026-01-01"^^<{ns.XSD}date>')
    assert "end_date" in {finding.column for finding in check_shapes([*build_company_quads(), end, start])}
    assert "start_date" in {
        f.column for f in check_shapes([*build_company_quads(), (*start[:3], value), (*end[:3], start[3])])
    }


def test_second_value_of_a_single_column_is_a_fault() -> None:
    quads = [*build_company_quads(), ("g", W, f"<{ns.NW}level>", f'"2"{XSD_INTEGER}')]
    assert [(f.column, f.about) for f in check_shapes(quads)] == [("level", ("requirements", "fitter", "weld"))]


@pytest.mark.parametrize(
    ("later", "earlier", "subject", "column"),
    [
        (f"<{ns.NW}to>", "2026-01-04", "<https://newel.example/id/absence/p1~2026-01-05>", "from"),
        (f"<{ns.NW}validUntil>", "2026-01-01", None, "date"),
        (f"<{ns.NW}minimum>", None, N, "minimum"),
    ],
)
def test_order_within_a_record_is_kept(later: str, earlier: str | None, subject: str | None, column: str) -> None:
    quads = build_company_quads()
    subject = subject or next(quad[1] for quad in quads if "/assessment/" in quad[1])
    quads = [quad for quad in quads if (quad[1], quad[2]) != (subject, later)]
    if earlier is not None:
        quads.append(("g", subject, later, f'"{earlier}"^^<{ns.XSD}date>'))
    else:
        quads += [("g", subject, later, f'"4"{XSD_INTEGER}'), ("g", subject, f"<{ns.NW}target>", f'"3"{XSD_INTEGER}')]
    assert [finding.column for finding in check_shapes(quads)] == [column]


@pytest.mark.parametrize("kind", ["Concept", "ConceptScheme"])
def test_scale_that_is_also_a_concept_or_scheme_is_a_fault(kind: str) -> None:
    quads = [*build_company_quads(), ("g", f"<{ns.ID}scale/s5>", ns.RDF_TYPE, f"<{ns.SKOS}{kind}>")]
    assert any("S37" in finding.reason for finding in check_shapes(quads))


def test_focus_nodes_limit_what_is_checked() -> None:
    quads = [*build_company_quads(), ("g", W, f"<{ns.NW}weight>", '"heavy"'), ("g", P, f"<{ns.NW}shift>", '"late"')]
    assert {f.source for f in check_shapes(quads)} == {"requirements", "people"}
    assert {f.source for f in check_shapes(quads, [P])} == {"people"}
    assert {f.source for f in check_shapes(quads, [P[1:-1]])} == {"people"}
    assert check_shapes(quads, [f"{ns.ID}person/nobody"]) == []


def test_a_kind_of_value_inside_a_choice_of_kinds_is_looked_at_in_touched_nodes_too() -> None:
    # SHACL 4.6.3: sh:or holds of a value where one of its shapes does; to touch one node alone changes nothing of that
    wrong = ("g", P, f"<{ns.SCHEMA}name>", '"2026-01-01"^^<http://www.w3.org/2001/XMLSchema#date>')
    quads = [*(quad for quad in build_company_quads() if (quad[1], quad[2]) != (P, wrong[2])), wrong]
    assert [(f.source, f.column) for f in check_shapes(quads)] == [("people", "name")]
    assert check_shapes(quads, [P]) == check_shapes(quads)


def test_references_can_be_left_to_the_store() -> None:
    quads = [quad for quad in build_company_quads() if "/role/" not in quad[1]]
    assert {f.column for f in check_shapes(quads)} == {"role"}
    assert check_shapes(quads, with_references=False) == []


def test_checking_changes_neither_data_nor_shapes() -> None:
    graph = build_graph(build_company_quads())
    before = set(graph)
    shapes_before = len(build_shapes_graph())
    check_shapes(graph)
    assert set(graph) == before
    assert len(build_shapes_graph()) == shapes_before


def test_checks_in_several_threads_give_the_same_findings() -> None:
    quads = [*build_company_quads(), ("g", W, f"<{ns.NW}necessity>", '"nice"')]
    expected = check_shapes(quads)

    def check(_: int) -> list[Finding]:
        return check_shapes(quads)

    with ThreadPoolExecutor(4) as pool:
        assert all(found == expected for found in pool.map(check, range(8)))


def test_the_shapes_that_pyshacl_is_given_stay_as_they_are() -> None:
    quads = build_faulty_quads(3)
    wrong = [(g, s, p, '"x"' if p.endswith("rank>") else o) for g, s, p, o in quads]
    first = [check_shapes(quads), check_shapes(wrong)]
    given = [_get_shapes_given(None, has_order=has_order) for has_order in (True, False)]
    before = [frozenset(graph) for graph in given]
    assert [check_shapes(quads), check_shapes(wrong)] == first
    assert [frozenset(graph) for graph in given] == before
    own = {triple for graph in before for triple in graph if triple[1] == RDFS.subClassOf}
    assert before[0] - own == frozenset(build_shapes_graph()) - own


@pytest.mark.parametrize("seed", range(4))
def test_the_shapes_of_other_classes_say_nothing_of_the_nodes_that_are_looked_at(
    seed: int,
) -> None:
    quads = build_faulty_quads(seed)
    of_class: dict[str, set[str]] = {}
    for _, s, p, o in quads:
        if p == ns.RDF_TYPE:
            of_class.setdefault(o, set()).add(s)
    found = {finding for nodes in of_class.values() for finding in check_shapes(quads, nodes)}
    assert found == set(check_shapes(quads))
