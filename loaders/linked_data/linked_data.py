"""Linked data in: our own classes become records, everything else (foreign SKOS) is kept as it is.

Formats: Turtle, N-Triples, N-Quads, TriG, JSON-LD, RDF/XML, by suffix.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Final

from loaders.linked_data.blank_nodes import is_blank, name_blank_nodes
from loaders.linked_data.languages import say_plainly
from loaders.linked_data.parser import FORMATS, RawQuad, parse_file
from loaders.linked_data.records import (
    OwnNodes,
    add_narrower,
    build_own_records,
    check_terms,
    get_consumed,
    list_language_losses,
)
from loaders.linked_data.scale import add_scale
from loaders.report import Loaded
from loaders.tables.cells import make_printable
from ontology.checks.shape_runs import check_quads
from ontology.checks.shapes import shorten_iri
from ontology.checks.skos import check_skos
from ontology.errors import FileFormatError, Finding, LimitError
from ontology.mapping.retired_marks import MARKS
from ontology.model.columns import camel_case
from ontology.model.retirable import RETIRABLE
from ontology.model.tables import PERSONAL_TABLES, REFUSED_COLUMNS
from ontology.rdf import namespaces as ns
from ontology.rdf.entailment import FIRST, MEMBER, MEMBER_LIST, REST, walk_list
from ontology.rdf.namespaces import Quad
from ontology.rdf.terms import Triple, get_plain_value
from ontology.rdf.vocabulary_terms import get_standard_types, get_terms

LINKED_DATA_SUFFIXES: Final = frozenset(FORMATS)
#: Above this many triples of ours the shapes are left to a full check: the columns are judged one by one anyway.
SHAPES_LIMIT: Final = 10_000
#: Graphs the store keeps for itself: what a file says in them is passed over.
_KEPT_BY_STORE: Final = (ns.GRAPH_STORE, ns.GRAPH_HISTORY, ns.GRAPH_VOCABULARY)
_RANK: Final = ns.iri_term(ns.NW + "rank")
_REFUSED: Final = {camel_case(name).lower(): reason for name, reason in REFUSED_COLUMNS.items()}


def load_linked_data(path: Path, as_scale: str | None = None) -> Loaded:
    """Load one file of linked data without storing anything.

    Parameters
    ----------
    path : Path
        The suffix tells the format: `LINKED_DATA_SUFFIXES`.
    as_scale : str, optional
        IRI of a SKOS concept scheme in the file; an ordered scale is made of its concepts, by notation.

    Returns
    -------
    Loaded
        Records of our own classes, `extra` quads of others in their graph, and every finding. Faulty records are
        left out; where the file breaks a SKOS integrity condition no quads of others are handed over.

    Raises
    ------
    FileFormatError
        The suffix is unknown, or the file cannot be read at all.
    LimitError
        The file is larger than allowed, or its blank nodes cannot be told apart in reasonable time.
    """
    if path.suffix.lower() not in FORMATS:
        raise FileFormatError(
            f"{make_printable(path.name)} is not linked data by its ending; known are {' '.join(sorted(FORMATS))}.",
            path=str(path),
        )
    loaded = Loaded(label=make_printable(path.name))
    raw, findings = parse_file(path)
    loaded.findings += findings
    if not raw:
        if not findings:
            loaded.findings.append(Finding("error", loaded.label, 0, "", "", "holds no statements"))
        return loaded
    quads, guesses = say_plainly(_leave_out_store(_name_blanks(raw, path), loaded), loaded.label)
    loaded.findings += guesses
    triples = list(dict.fromkeys(quad[1:] for quad in quads))
    loaded.findings += _check_refused(triples, loaded.label)
    loaded.findings += _check_vocabulary(triples, loaded.label)
    nodes = OwnNodes(triples)
    add_narrower(nodes)
    loaded.findings += check_terms(nodes, loaded.label)
    loaded.findings += list_language_losses(nodes, loaded.label)
    faulty = _check_own_shapes(nodes, triples, loaded)
    lists = _read_scale_lists(nodes, triples)
    loaded.findings += _check_scale_order(nodes, lists, triples, loaded.label)
    renamed = build_own_records(nodes, faulty, loaded)
    violations = [replace(finding, source=loaded.label) for finding in check_skos(triples)]
    loaded.findings += violations
    if not violations:
        loaded.extra += _get_extra(quads, nodes, lists, renamed)
    if as_scale is not None:
        add_scale(triples, as_scale, loaded)
    loaded.extra = sorted(set(loaded.extra))
    return loaded


def _name_blanks(raw: list[RawQuad], path: Path) -> list[RawQuad]:
    try:
        names = name_blank_nodes(quad[1:] for quad in raw)
    except LimitError as error:
        raise LimitError(f"{make_printable(path.name)}: {error.detail}", path=str(path)) from error
    return sorted({(g, names.get(s, s), p, names.get(o, o)) for g, s, p, o in raw})


def _leave_out_store(quads: list[RawQuad], loaded: Loaded) -> list[RawQuad]:
    kept = [quad for quad in quads if quad[0] not in _KEPT_BY_STORE and not _is_history(quad[0])]
    if len(kept) < len(quads):
        reason = f"{len(quads) - len(kept)} statements about a store, its history or our vocabulary are ignored"
        loaded.findings.append(Finding("remark", loaded.label, 0, "", "", reason))
    return kept


def _is_history(graph: str) -> bool:
    return graph.startswith((ns.HISTORY, ns.PERSONAL_HISTORY))


def _check_refused(triples: Iterable[Triple], label: str) -> list[Finding]:
    """Return what says of a person what must not be kept: by the local name of the property, whatever vocabulary."""
    rows = list(triples)
    own = OwnNodes(rows)
    people = {node for node, table in own.tables.items() if table.name in PERSONAL_TABLES}
    standard = get_standard_types()[ns.iri_term(ns.NW + "Person")]
    people |= {s for s, p, o in rows if p == ns.RDF_TYPE and o in standard}
    counts: Counter[str] = Counter()
    for s, p, _ in rows:
        if _get_refusal(p) and (s in people or p.startswith(f"<{ns.NW}")):
            counts[p] += 1
    # once for each property, and never with what it says of somebody
    return [
        Finding("error", label, 0, _show(p), "", f"this property is refused: {_get_refusal(p)} ({n:,} times)")
        for p, n in counts.items()
    ]


def _get_refusal(predicate: str) -> str:
    """Return why a property is refused, or the empty string."""
    return _REFUSED.get(get_plain_value(predicate).replace("#", "/").rsplit("/", 1)[-1].lower(), "")


def _check_vocabulary(triples: Iterable[Triple], label: str) -> list[Finding]:
    """Return the terms of our namespace that are used but do not exist: a misspelled one would be lost in silence."""
    known = get_terms()
    used: set[str] = set()
    for _, p, o in triples:
        used.add(p)
        if p == ns.RDF_TYPE:
            used.add(o)
    return [
        Finding("error", label, 0, _show(term), "", f"{_show(term)} is not a term of our vocabulary")
        for term in sorted(used - known)
        if term.startswith(f"<{ns.NW}") and get_plain_value(term).rsplit("#", 1)[-1].lower() not in _REFUSED
    ]


def _check_own_shapes(nodes: OwnNodes, triples: list[Triple], loaded: Loaded) -> set[str]:
    """Add what breaks a shape to the findings and return the nodes that do; references are left to the store."""
    own = [("", *triple) for triple in triples if triple[0] in nodes.tables or triple[0] in nodes.scales]
    if not own or len(own) > SHAPES_LIMIT:
        return set()
    findings = check_quads(own, with_references=False)
    loaded.findings += [replace(finding, source=loaded.label) for finding in findings]
    broken = {finding.reason.partition(": ")[0] for finding in findings}
    return {node for node in nodes.tables if _show(node) in broken}


def _read_scale_lists(nodes: OwnNodes, triples: Iterable[Triple]) -> dict[str, list[str]]:
    """Return scale node -> its list cells in order."""
    firsts: dict[str, str] = {}
    rests: dict[str, str] = {}
    heads: dict[str, str] = {}
    for s, p, o in triples:
        if p == FIRST:
            firsts[s] = o
        elif p == REST:
            rests[s] = o
        elif p == MEMBER_LIST and s in nodes.scales:
            heads[s] = o
    chain = {cell: (cell, rests.get(cell, "")) for cell in firsts}
    return {scale: walk_list(chain, head) for scale, head in heads.items()}


def _check_scale_order(
    nodes: OwnNodes, lists: dict[str, list[str]], triples: Iterable[Triple], label: str
) -> list[Finding]:
    """Return the scales whose list is not in the order of ranks: the two would say different things."""
    firsts = {s: o for s, p, o in triples if p == FIRST}
    ranks = {s: get_plain_value(o) for s, p, o in triples if p == _RANK}
    findings = []
    for scale, cells in sorted(lists.items()):
        found = [ranks.get(firsts[cell], "?") for cell in cells]
        if found != [str(rank) for rank in range(1, len(found) + 1)]:
            shown = ", ".join(found)
            reason = f"{_show(scale)}: its member list has the ranks {shown}; they must run 1 to {len(found)}"
            findings.append(Finding("error", label, 0, "skos:memberList", shown, reason))
    return findings


def _get_extra(
    quads: Iterable[RawQuad], nodes: OwnNodes, lists: dict[str, list[str]], renamed: dict[str, str]
) -> list[Quad]:
    """Return what no record carries, in its graph: what is said of a record of ours stays beside it."""
    consumed = get_consumed(nodes, get_standard_types())
    cells = {cell for group in lists.values() for cell in group}
    scale_types = get_standard_types()[ns.iri_term(ns.NW + "Scale")] | {ns.iri_term(ns.NW + "Scale")}
    extra: list[Quad] = []
    for graph, s, p, o in quads:
        if (s, p, o) in consumed or (s in cells and p in (FIRST, REST)):
            continue
        is_made_by_writer = p in (MEMBER, MEMBER_LIST) or (p == ns.RDF_TYPE and o in scale_types)
        if s in nodes.scales and is_made_by_writer:
            continue
        if s in nodes.tables and (s not in renamed or (p in MARKS and nodes.tables[s].name in RETIRABLE)):
            continue  # its record was left out, or tells the same
        target = graph if graph in ns.DATA_GRAPHS else ns.GRAPH_FRAMEWORK
        if s in nodes.tables:
            target = nodes.tables[s].graph
        extra.append((target, renamed.get(s, s), p, renamed.get(o, o)))
    return extra


def _show(term: str) -> str:
    return term if is_blank(term) else shorten_iri(get_plain_value(term))
