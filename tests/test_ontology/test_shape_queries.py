"""The queries made from the shapes find what pySHACL finds, and no term of a shape is passed over."""

from __future__ import annotations

import re
from collections import Counter
from datetime import date
from typing import Any

import pytest
from companies import build_company
from effort import draws
from rdflib import RDF, SH, Graph
from shape_faults import N_COMPANIES, build_company_quads, build_faulty_quads, iri, number

from ontology.checks.changes import check_everything
from ontology.checks.shape_queries import Layout, build_shape_queries, get_known_terms
from ontology.checks.shape_runs import check_quads, check_store
from ontology.checks.shapes import build_shapes_graph, check_shapes
from ontology.errors import Finding, FindingsError
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import NODE_TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.store.engine import Store

LAYOUT = Layout(default=ns.GRAPH + "x")
QUERIES = build_shape_queries(build_shapes_graph(), LAYOUT)
ORDER_MESSAGES = {query.message for query in QUERIES if query.component == "lessThanOrEquals"}
NUMBER_OF_GRAPHS = 200
N_COMPARED = draws(NUMBER_OF_GRAPHS)
N_PARTS = 10
#: In one of so many graphs pySHACL looks at every node.
WHOLE_EACH = 10


COMPARED = {
    iri(column.iri): column.kind
    for table in NODE_TABLES.values()
    for column in table.columns
    if column.kind in ("integer", "date")
}


def has_order(quads: list[Quad]) -> bool:
    """Whether every value of a number or date column is one, so that it can be put in order."""
    for _, _, p, o in quads:
        kind = COMPARED.get(p)
        if kind is None:
            continue
        value, _, datatype = o.partition("^^")
        if datatype != iri(ns.XSD + kind):
            return False
        try:
            int(value[1:-1]) if kind == "integer" else date.fromisoformat(value[1:-1])
        except ValueError:
            return False
    return True


def find_at_fault(seed: int, quads: list[Quad]) -> set[str] | None:
    """Return the nodes that faults were put into and those that refer to them; None where any node may be concerned.

    What a shape says of a node hangs on what is said of the node itself, on the types of what it refers to, and on
    which class is part of which (SHACL, 2.1.3 and 4). All other nodes are those of a sound company, so pySHACL need
    not look at them; the queries look at all.
    """
    changed = set(quads) ^ set(build_company_quads(seed % N_COMPANIES))
    if seed % WHOLE_EACH == 0 or any(p == iri(ns.RDFS + "subClassOf") for _, _, p, _ in changed):
        return None
    nodes = {s for _, s, _, _ in changed}
    return nodes | {s for _, s, _, o in quads if o in nodes}


def require_same(quads: list[Quad], nodes: set[str] | None = None) -> list[Finding]:
    """Compare both ways; where a value has no order SHACL asks for a finding and pySHACL gives up on the order."""
    expected, found = check_shapes(quads, nodes), check_quads(quads)
    if not has_order(quads):
        on_order = [finding for finding in found if is_on_order(finding)]
        assert set(on_order) >= {finding for finding in expected if is_on_order(finding)}
        expected, found = ([f for f in part if not is_on_order(f)] for part in (expected, found))
    assert found == expected
    return found


def is_on_order(finding: Finding) -> bool:
    return any(finding.reason.endswith(f": {message}") for message in ORDER_MESSAGES)


@pytest.mark.parametrize("part", range(N_PARTS))
def test_mutated_companies_have_the_findings_of_pyshacl(part: int) -> None:
    n = N_COMPARED // N_PARTS
    faulty = {seed: build_faulty_quads(seed) for seed in range(part * n, (part + 1) * n)}
    found = [require_same(quads, find_at_fault(seed, quads)) for seed, quads in faulty.items()]
    assert sum(map(bool, found)) >= n // 3, "too few faults to mean anything"


def test_faults_break_every_kind_of_constraint_but_that_of_the_node_itself() -> None:
    missing = {(query.component, query.path == "") for query in QUERIES} - {("nodeKind", True)}
    for seed in range(NUMBER_OF_GRAPHS):
        if not missing:
            break
        store = Store.in_memory()
        store.fill(LAYOUT.default, build_faulty_quads(seed))
        missing -= {
            (query.component, query.path == "")
            for query in QUERIES
            if (query.component, query.path == "") in missing and store.select(query.text)
        }
    assert missing == set()


@pytest.mark.parametrize("seed", range(3))
def test_sound_company_has_no_findings(seed: int) -> None:
    assert check_quads(build_company_quads(seed)) == []


def without_names(findings: list[Finding]) -> set[tuple[str, ...]]:
    """Leave out the names of blank nodes: they are an engine's own."""
    return {
        (f.source, f.column, re.sub("^_:.*", "_:", f.value), f.reason.partition(": ")[2], *f.about) for f in findings
    }


def test_blank_nodes_have_the_findings_of_pyshacl() -> None:
    quads = build_company_quads(1)
    requirement = next(quad[1] for quad in quads if "/requirement/" in quad[1])
    renamed = [(g, "_:x" if s == requirement else s, p, o) for g, s, p, o in quads]
    found = check_quads(renamed)
    assert without_names(found) == without_names(check_shapes(renamed))
    assert "A requirement is a node with an IRI." in {finding.reason.partition(": ")[2] for finding in found}
    referring = [(g, s, p, "_:x" if p.endswith("#role>") else o) for g, s, p, o in quads]
    assert without_names(check_quads(referring)) == without_names(check_shapes(referring))


@pytest.mark.parametrize("value", [number("many"), number("2", "decimal"), '"x"', iri("urn:x"), "_:x"])
def test_value_without_an_order_is_out_of_order(value: str) -> None:
    # SHACL 4.5.4: "where the two values cannot be compared, there is a validation result"; 2.0 compares with 1
    quads = build_company_quads(1)
    person = next(quad[1] for quad in quads if "/person/" in quad[1])
    quads = [quad for quad in quads if quad[1] != person or "Date>" not in quad[2]]
    quads += [
        ("g", person, iri(ns.NW + "startDate"), number("2026-01-01", "date")),
        ("g", person, iri(ns.NW + "endDate"), value),
    ]
    assert [f.column for f in check_quads(quads) if is_on_order(f)] == ["start_date"]


@pytest.mark.parametrize("lexical", ["1" + "0" * 30, "0.0000000000000000000000001", "3." + "3" * 40])
def test_number_beyond_the_range_of_the_engine_is_sound(lexical: str) -> None:
    quads = build_company_quads(1)
    course = next(quad[1] for quad in quads if "/course/" in quad[1])
    quads = [quad for quad in quads if quad[1:3] != (course, iri(ns.NW + "hours"))]
    assert check_quads([*quads, ("g", course, iri(ns.NW + "hours"), number(lexical, "decimal"))]) == []
    below = number(f"-{lexical}", "decimal")
    assert [f.column for f in check_quads([*quads, ("g", course, iri(ns.NW + "hours"), below)])] == ["hours"]


def test_references_can_be_left_to_the_store() -> None:
    quads = [quad for quad in build_company_quads(1) if "/role/" not in quad[1]]
    assert {finding.column for finding in check_quads(quads)} == {"role"}
    assert check_quads(quads, with_references=False) == []
    types = [quad for quad in build_company_quads(1) if "/role/" in quad[1] and quad[2] == ns.RDF_TYPE]
    assert check_quads(quads, types) == []


def test_every_constraint_of_the_shapes_has_its_query() -> None:
    shapes = build_shapes_graph()
    tops = [*shapes.subjects(RDF.type, SH.NodeShape), *shapes.objects(None, SH.property)]
    notes = {SH[name] for name in ("name", "order", "message", "defaultValue", "property", "path", "targetClass")}
    wanted = Counter(
        str(term).removeprefix(ns.SH)
        for node in tops
        for term in shapes.predicates(node)
        # the shape of a qualified count is a parameter of it
        if term not in {*notes, RDF.type, SH.qualifiedValueShape}
    )
    assert Counter(query.component for query in QUERIES) == wanted
    used = {str(term) for term in shapes.predicates() if str(term).startswith(ns.SH)}
    assert used == get_known_terms()


def test_every_query_names_its_graph() -> None:
    for query in QUERIES:
        assert re.findall(r"GRAPH (\S+)", query.text)
        # nothing but filters and sub-selects stands outside a named graph
        outside = re.sub(r"GRAPH <[^>]+> \{[^{}]*\}", "", query.text)
        assert not re.search(r"\?\w+ (a\b|<h)", outside), query.text


SHAPE = """
@prefix sh: <http://www.w3.org/ns/shacl#> . @prefix xsd: <http://www.w3.org/2001/XMLSchema#> . @prefix x: <urn:x:> .
x:S a sh:NodeShape ; sh:targetClass x:C ; sh:property [ sh:path x:p ; sh:message "m" ; %s ] . %s
"""


@pytest.mark.parametrize(
    "constraint",
    [
        "sh:minExclusive 1", "sh:uniqueLang false",
        "sh:qualifiedValueShape [ sh:datatype xsd:string ] ; sh:qualifiedMinCount 2",
        "sh:severity sh:Warning", "sh:deactivated true", "sh:minCount 2",
        'sh:pattern "a" ; sh:flags "i"', "sh:datatype xsd:time", "sh:nodeKind sh:Literal", "sh:node x:T",
        "sh:property [ sh:path x:q ; sh:minCount 1 ]", "sh:or ( [ sh:class x:C ] )", "sh:not [ sh:minCount 1 ]",
        "sh:or ( [ ] )", "sh:targetClass x:D", "x:unheard-of 1",
    ],
)  # fmt: skip
def test_unknown_term_is_refused(constraint: str) -> None:
    build_shape_queries(Graph().parse(data=SHAPE % ("sh:minCount 1", ""), format="turtle"), LAYOUT)
    with pytest.raises(ValueError, match=r"no query|says nothing"):
        build_shape_queries(Graph().parse(data=SHAPE % (constraint, ""), format="turtle"), LAYOUT)


@pytest.mark.parametrize(
    ("more", "match"),
    [
        ("x:T a sh:PropertyShape ; sh:path x:q ; sh:minCount 1 .", "no node shape"),
        ("x:T a sh:NodeShape ; sh:targetNode x:n .", "target class"),
        ("x:T a sh:NodeShape ; sh:targetClass x:D ; sh:nodeKind sh:IRI .", "no message"),
        ('x:T a sh:NodeShape ; sh:targetClass x:D ; sh:property [ sh:path (x:p x:q) ; sh:minCount 1 ] .', "path"),
    ],
)  # fmt: skip
def test_shape_of_an_unknown_form_is_refused(more: str, match: str) -> None:
    with pytest.raises(ValueError, match=match):
        build_shape_queries(Graph().parse(data=SHAPE % ("sh:minCount 1", more), format="turtle"), LAYOUT)


# ---- a store's own graphs, and loads ----


@pytest.mark.parametrize("seed", range(0, 40, 2))
def test_store_has_the_findings_of_pyshacl_over_its_graphs(seed: int) -> None:
    store = Store.in_memory()
    graph_of = {quad[1]: quad[0] for quad in build_company_quads(seed % N_COMPANIES)}
    quads = [(graph_of.get(s, ns.GRAPH_FRAMEWORK), s, p, o) for _, s, p, o in build_faulty_quads(seed)]
    # a node whose class was changed stands in a graph where no record of that class is looked for
    is_moved = any(TYPES[o] != graph for graph, _, p, o in quads if p == ns.RDF_TYPE and o in TYPES)
    store.commit(quads, (), who="test", why="test")
    if has_order(quads) and not is_moved and not any(o == iri("urn:part") for *_, o in quads):
        assert check_store(store) == check_shapes(quads)


TYPES = {iri(table.class_iri): table.graph for table in NODE_TABLES.values()} | {
    iri(ns.NW + "Scale"): ns.GRAPH_FRAMEWORK
}


def test_load_that_breaks_a_shape_is_refused() -> None:
    graph = LiveGraph.in_memory()
    for name, value in (("prefLabel", ns.text_term("second")), ("definition", number("2026-01-02", "date"))):
        more = (ns.GRAPH_FRAMEWORK, iri(ns.ID + "role/r0"), iri(ns.SKOS + name), value)
        with pytest.raises(FindingsError) as caught:
            graph.load(build_company(1), [more], who="test", why="test")
        column = {"prefLabel": "label"}.get(name, name)
        assert ("roles", column, ("roles", "r0")) in {(f.source, f.column, f.about) for f in caught.value.findings}
    assert graph.store.revision == 0


def test_load_may_refer_to_what_the_store_holds() -> None:
    graph = LiveGraph.in_memory()
    records = build_company(1)
    later: dict[str, Any] = {name: records.pop(name) for name in ("people", "absences", "assessments", "places")}
    graph.load(records, who="test", why="framework")
    # what others say of a role that is there already does not hide its type
    said = [(ns.GRAPH_FRAMEWORK, iri(ns.ID + "role/r0"), ns.RDF_TYPE, iri(ns.SKOS + "Concept"))]
    graph.load(later, said, who="test", why="people")
    assert graph.store.revision == 2
    for is_full in (False, True):
        findings = check_everything(graph.store, graph.get_snapshot(), is_full=is_full)
        assert [finding for finding in findings if finding.severity == "error"] == []


def test_store_on_disk_cannot_be_filled(tmp_path: Any) -> None:
    store = Store.open(tmp_path / "store", create=True)
    with pytest.raises(ValueError, match="commit"):
        store.fill(ns.GRAPH_FRAMEWORK, [])
    store.close()
