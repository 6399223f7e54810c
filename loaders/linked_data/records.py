"""From triples of our own classes back to records: class to table, properties to columns.

An IRI of ours gives the id and is taken as it is; an IRI of others gets an id made from its last part (or from
dcterms:identifier), and a competency keeps its official IRI as an exact match.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any, Final

from loaders.report import Loaded
from loaders.tables.cells import CellError, parse_cell, require_fit
from ontology.checks.shapes import shorten_iri
from ontology.errors import Finding
from ontology.mapping.tagged import get_tagged_columns, read_tagged_facts
from ontology.model.columns import ID_PATTERN, Column, Table
from ontology.model.keeping_tables import TRANSLATIONS
from ontology.model.several import join_values
from ontology.model.tables import NODE_TABLES, TABLES, get_reference_segment
from ontology.plurals import format_count
from ontology.rdf import namespaces as ns
from ontology.rdf.literals import has_language
from ontology.rdf.terms import Triple, get_plain_value

SCALE: Final = ns.iri_term(ns.NW + "Scale")
IDENTIFIER: Final = ns.iri_term(ns.DCTERMS + "identifier")
_EXACT_MATCH: Final = "exact_match"
_TABLES: Final = {ns.iri_term(table.class_iri): table for table in NODE_TABLES.values()}
_STARTS: Final = tuple(f"<{ns.ID}{table.segment}/" for table in NODE_TABLES.values())
_MANY: Final = ("refs", "texts", "iris")


class OwnNodes:
    """The nodes of a file that are records of ours, and what is said about each.

    The triples are in N-Triples text, blank nodes named already.
    """

    def __init__(self, triples: Iterable[Triple]) -> None:
        self.statements: defaultdict[str, list[tuple[str, str]]] = defaultdict(list)
        self.tables: dict[str, Table] = {}
        self.scales: set[str] = set()
        rows = list(triples)
        for s, p, o in rows:
            if p == ns.RDF_TYPE and o in _TABLES:
                self.tables[s] = _TABLES[o]
            elif p == ns.RDF_TYPE and o == SCALE:
                self.scales.add(s)
        for s, p, o in rows:
            if s in self.tables or s in self.scales:
                self.statements[s].append((p, o))

    def get_id(self, node: str) -> str:
        """Return the id of a record with a one-part key, or of a scale."""
        given = [get_plain_value(o) for p, o in self.statements.get(node, ()) if p == IDENTIFIER]
        if given:
            return given[0]
        return make_id(get_plain_value(node))

    def resolve(self, node: str, table_name: str) -> str | None:
        """Return the id of what a reference means, or None where it is nothing of that table."""
        is_scale = table_name == "scales"
        if (node in self.scales) if is_scale else (self.tables.get(node) is TABLES[table_name]):
            return self.get_id(node)
        start = f"{ns.ID}{get_reference_segment(table_name)}/"
        iri = get_plain_value(node)
        return ns.id_from_iri(iri) if iri.startswith(start) and node not in self.tables else None


def make_id(iri: str) -> str:
    """Return an id made of the last part of an IRI.

    Examples
    --------
    >>> make_id("urn:skill:000f-1"), make_id("urn:terms#Zug %26 Bus")
    ('000f-1', 'Zug-26-Bus')
    """
    if iri.startswith(ns.ID):
        return ns.id_from_iri(iri)
    last = re.split(r"[/#:]", iri.rstrip("/#:"))[-1]
    return re.sub(r"[^A-Za-z0-9._-]+", "-", last).strip("-._") or "x"


def build_own_records(nodes: OwnNodes, faulty: set[str], into: Loaded) -> dict[str, str]:
    """Turn the nodes into records and return node -> the node that our own writer would use.

    Parameters
    ----------
    faulty : nodes whose shape is broken; they are left out
    into : Loaded
        Receives records, findings and origins; `into.label` is the file.
    """
    renamed = {node: ns.iri_term(ns.record_iri("scale", nodes.get_id(node))) for node in nodes.scales}
    for node in sorted(nodes.tables):
        table = nodes.tables[node]
        if node in faulty:
            _remember_faulty(nodes, node, into)
            continue
        try:
            record = _build_record(nodes, node, table)
        except _FaultyColumn as fault:
            into.findings.append(
                Finding("error", into.label, 0, fault.column, fault.value, f"{_show(node)}: {fault.reason}")
            )
            _remember_faulty(nodes, node, into)
            continue
        key = table.get_key(record)
        own = ns.iri_term(table.get_iri(record))
        if is_ours(node) and node != own:
            reason = f"{_show(node)}: its properties make it {_show(own)}; IRI and properties must agree"
            into.findings.append(Finding("error", into.label, 0, "", _show(node), reason))
            continue
        if into.origins.get(table.name, key) is not None:
            reason = f"{_show(node)} is a second record with the key {'~'.join(map(str, key))}; keys must be unique"
            into.findings.append(Finding("error", into.label, 0, "", _show(node), reason))
            continue
        into.origins.add(table.name, key, into.label, 0)
        into.records.setdefault(table.name, []).append(record)
        renamed[node] = own
        _add_translations(nodes, node, table, own[1:-1], into)
    return renamed


def _add_translations(nodes: OwnNodes, node: str, table: Table, iri: str, into: Loaded) -> None:
    """Add the texts of a record in other languages than the main one."""
    for row in read_tagged_facts(table, iri, nodes.statements[node]):
        try:
            require_fit(row.joined)
        except CellError as error:
            name = f"{row.column}@{row.language}"
            into.findings.append(Finding("error", into.label, 0, name, row.joined[:40], f"{_show(node)}: {error}"))
            continue
        into.origins.add(TRANSLATIONS.name, TRANSLATIONS.get_key(row), into.label, 0)
        into.records.setdefault(TRANSLATIONS.name, []).append(row)


def is_ours(node: str) -> bool:
    """Whether a node has the IRI of a record of ours (the name of a blank node or a relative IRI has not)."""
    return node.startswith(_STARTS)


def _remember_faulty(nodes: OwnNodes, node: str, into: Loaded) -> None:
    """Keep the id of a record that is left out, so that what refers to it is not told as a second fault."""
    table = nodes.tables[node]
    if table.id_field:
        into.faulty[table.name, (nodes.get_id(node),)] = (into.label, 0)
    elif table.name == "scales":
        scales = [o for p, o in nodes.statements[node] if p == ns.iri_term(ns.NW + "scale")]
        into.faulty.update({("scales", (nodes.get_id(scale), 0)): (into.label, 0) for scale in scales})


class _FaultyColumn(Exception):
    def __init__(self, column: str, value: str, reason: str) -> None:
        super().__init__(reason)
        self.column = column
        self.value = value
        self.reason = reason


def _build_record(nodes: OwnNodes, node: str, table: Table) -> Any:
    values: dict[str, Any] = {}
    said: defaultdict[str, list[str]] = defaultdict(list)
    tagged = get_tagged_columns(table.name)
    for p, o in nodes.statements[node]:
        if p not in tagged or not has_language(o):
            said[p].append(o)
    for column in table.columns:
        terms = sorted(said.get(ns.iri_term(column.iri), ()))
        if column.kind == "id":
            values[column.attribute] = _require_id(column, nodes.get_id(node))
        elif column.kind in _MANY:
            parts = {_parse(nodes, column, term) for term in terms}
            if column.name == _EXACT_MATCH and not node.startswith(f"<{ns.ID}"):  # nor a blank node's name
                parts.add(get_plain_value(node))
            values[column.attribute] = tuple(sorted(parts - {""}))
            _require_room(column, values[column.attribute])
        elif len(terms) > 1:
            raise _FaultyColumn(column.name, get_plain_value(terms[1]), "has more than one value; there may be one")
        elif terms:
            values[column.attribute] = _parse(nodes, column, terms[0])
        elif column.is_required:
            raise _FaultyColumn(column.name, "", f"{column.name} is missing")
        else:
            values[column.attribute] = column.get_default(values)
    return table.record(**values)


def _require_room(column: Column, values: tuple[str, ...]) -> None:
    try:
        require_fit(join_values(values))
    except CellError as error:
        raise _FaultyColumn(column.name, values[0], f"its values together: {error}") from error


def _require_id(column: Column, text: str) -> str:
    if not ID_PATTERN.fullmatch(text):
        raise _FaultyColumn(column.name, text, "not a valid id: use letters, digits, point, hyphen and underscore")
    return text


def _parse(nodes: OwnNodes, column: Column, term: str) -> Any:
    if column.refers_to:
        found = nodes.resolve(term, column.refers_to)
        if found is None:
            raise _FaultyColumn(column.name, _show(term), f"names what is not one of {column.refers_to}")
        return found
    text = get_plain_value(term)
    if column.kind in ("iri", "iris"):
        if not term.startswith("<"):
            raise _FaultyColumn(column.name, text, "is a text; it must be an IRI")
        return text
    try:
        if column.kind not in ("text", "texts"):
            return parse_cell(column, text)
        # as a table has it: blanks around a text are no part of it
        text = text.strip()
        require_fit(text)
        if not text and column.is_required:
            raise CellError("must not be empty")
        return text
    except CellError as error:
        raise _FaultyColumn(column.name, text, str(error)) from error


def add_narrower(nodes: OwnNodes) -> None:
    """Read skos:narrower between competencies of ours as the broader it is the inverse of (S25)."""
    broader, narrower = ns.iri_term(ns.SKOS + "broader"), ns.iri_term(ns.SKOS + "narrower")
    competencies = {node for node, table in nodes.tables.items() if table.name == "competencies"}
    for node in sorted(competencies):
        for p, o in list(nodes.statements[node]):
            if p == narrower and o in competencies and (broader, node) not in nodes.statements[o]:
                nodes.statements[o].append((broader, node))


def list_language_losses(nodes: OwnNodes, label: str) -> list[Finding]:
    """Return one remark when texts of columns that no translation is of carry language tags: the text alone is kept."""
    tagged = []
    for node, table in sorted(nodes.tables.items()):
        known = {ns.iri_term(column.iri) for column in table.columns} - get_tagged_columns(table.name).keys()
        if any(p in known and has_language(o) for p, o in nodes.statements[node]):
            tagged.append(node)
    if not tagged:
        return []
    count = format_count(len(tagged), "record")
    reason = f"language tags are not kept, their texts are ({count})"
    return [Finding("remark", label, 0, "", _show(tagged[0]), reason)]


def check_terms(nodes: OwnNodes, label: str) -> list[Finding]:
    """Return what is said with terms of our namespace that do not exist or stand on the wrong class."""
    findings = []
    for node, table in sorted(nodes.tables.items()):
        known = {ns.iri_term(column.iri) for column in table.columns}
        for p, _ in sorted(set(nodes.statements[node])):
            if p.startswith(f"<{ns.NW}") and p not in known:
                names = ", ".join(column.name for column in table.columns)
                reason = f"{_show(node)}: {_show(p)} is not a property of {table.name}; its columns are {names}"
                findings.append(Finding("error", label, 0, _show(p), "", reason))
    return findings


def get_consumed(nodes: OwnNodes, standard_types: Mapping[str, frozenset[str]]) -> set[Triple]:
    """Return the triples that the records carry, so that everything else can be kept beside them."""
    consumed: set[Triple] = set()
    for node, table in nodes.tables.items():
        known = {ns.iri_term(column.iri) for column in table.columns} | {IDENTIFIER}
        types = standard_types.get(ns.iri_term(table.class_iri), frozenset()) | {ns.iri_term(table.class_iri)}
        for p, o in nodes.statements[node]:
            if p in known or (p == ns.RDF_TYPE and o in types):
                consumed.add((node, p, o))
    return consumed


def _show(term: str) -> str:
    return shorten_iri(get_plain_value(term))
