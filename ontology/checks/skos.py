"""The six integrity conditions of SKOS, each under its clause.

SKOS Reference (W3C Recommendation, 18 August 2009): S9, S13, S14, S27, S37, S46. Cycles, a concept broader or
related than itself, several parents, and top concepts with a broader one are consistent in SKOS and stay silent here;
a rule of our own (`ontology.checks.framework`) remarks cycles and says that it is ours.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Final, TypeAlias

from rdflib import Graph

from ontology.checks.shapes import shorten_iri
from ontology.errors import Finding
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.entailment import (
    BROADER_TRANSITIVE,
    COLLECTION,
    CONCEPT,
    EXACT_MATCH,
    SCHEME,
    TYPE,
    build_index,
    get_reachable,
    saturate,
    skos,
)
from ontology.rdf.terms import get_language, get_plain_value, iterate_triples

SOURCE: Final = "SKOS integrity condition"
LABELS: Final = ("prefLabel", "altLabel", "hiddenLabel")


class SkosFacts:
    """The statements of a graph with what they entail (transitivity apart), ready for the six checks.

    Triples, or quads whose graph is dropped, are in N-Triples text.
    """

    def __init__(self, triples: Iterable[tuple[str, ...]]) -> None:
        self.triples = saturate((row[-3], row[-2], row[-1]) for row in triples)

    def get_instances(self, kind: str) -> set[str]:
        """Return the nodes of a class, those that the entailments make so included."""
        return {s for s, p, o in self.triples if p == TYPE and o == kind}

    def get_pairs(self, predicate: str) -> list[tuple[str, str]]:
        """Return subject and object of a predicate, sorted."""
        return sorted((s, o) for s, p, o in self.triples if p == predicate)

    def get_index(self, predicate: str) -> dict[str, list[str]]:
        """Return subject -> objects of a predicate."""
        return build_index(self.triples, predicate)


#: An rdflib graph, triples or quads in N-Triples text, or facts that were gathered already.
SkosInput: TypeAlias = Graph | SkosFacts | Iterable[tuple[str, ...]]


def gather_facts(graph: SkosInput) -> SkosFacts:
    """Return the facts of a graph, computing what is entailed once for all six checks."""
    if isinstance(graph, SkosFacts):
        return graph
    return SkosFacts(iterate_triples(graph) if isinstance(graph, Graph) else graph)


def check_s9(graph: SkosInput) -> list[Finding]:
    """S9: skos:ConceptScheme is disjoint with skos:Concept."""
    facts = gather_facts(graph)
    both = facts.get_instances(SCHEME) & facts.get_instances(CONCEPT)
    return [
        _build("S9", node, "is a concept and a concept scheme; it can be only one of the two") for node in sorted(both)
    ]


def check_s13(graph: SkosInput) -> list[Finding]:
    """S13: skos:prefLabel, skos:altLabel and skos:hiddenLabel are pairwise disjoint."""
    facts = gather_facts(graph)
    uses: defaultdict[tuple[str, str], list[str]] = defaultdict(list)
    for label in LABELS:
        for node, text in facts.get_pairs(skos(label)):
            uses[node, text].append(label)
    return [
        _build("S13", node, f"has {text} as {' and '.join(labels)}; a label must be in one of them only")
        for (node, text), labels in sorted(uses.items())
        if len(labels) > 1
    ]


def check_s14(graph: SkosInput) -> list[Finding]:
    """S14: at most one skos:prefLabel per language tag (en and en-GB are different), and one without a tag."""
    facts = gather_facts(graph)
    labels: defaultdict[tuple[str, str], list[str]] = defaultdict(list)
    for node, text in facts.get_pairs(skos("prefLabel")):
        labels[node, get_language(text)].append(get_plain_value(text))
    return [
        _build("S14", node, f"has {_count(texts)} preferred labels {_describe(language)}: {', '.join(texts)}; keep one")
        for (node, language), texts in sorted(labels.items())
        if len(texts) > 1
    ]


def check_s27(graph: SkosInput) -> list[Finding]:
    """S27: skos:related is disjoint with skos:broaderTransitive.

    Notes
    -----
    Works from the related pairs, so the transitive closure is never built: one walk upwards from each concept that
    is related to another, O(r (n + m)) at worst for r such concepts; usually the few ancestors of each.
    """
    facts = gather_facts(graph)
    upwards = facts.get_index(BROADER_TRANSITIVE)
    partners: defaultdict[str, list[str]] = defaultdict(list)
    for a, b in facts.get_pairs(skos("related")):  # symmetric by S23, so both directions are there
        partners[a].append(b)
    findings = []
    for node in sorted(partners):
        ancestors = get_reachable(upwards, node)
        findings += [
            _build(
                "S27", node, f"is related to {show(other)}, which is also broader than it, directly or through others"
            )
            for other in sorted(partners[node])
            if other in ancestors
        ]
    return findings


def check_s37(graph: SkosInput) -> list[Finding]:
    """S37: skos:Collection is disjoint with skos:Concept and with skos:ConceptScheme."""
    facts = gather_facts(graph)
    collections = facts.get_instances(COLLECTION)
    findings = []
    for kind, words in ((CONCEPT, "a concept"), (SCHEME, "a concept scheme")):
        findings += [
            _build("S37", node, f"is a collection and {words}; put its members into relations, not the collection")
            for node in sorted(collections & facts.get_instances(kind))
        ]
    return findings


def check_s46(graph: SkosInput) -> list[Finding]:
    """S46: skos:exactMatch is disjoint with skos:broadMatch and with skos:relatedMatch.

    Notes
    -----
    exactMatch is symmetric (S44) and transitive (S45), so it holds within the components of its links: one pass.
    """
    facts = gather_facts(graph)
    component = _find_components(facts.get_index(EXACT_MATCH))
    findings = []
    for name in ("broadMatch", "relatedMatch"):
        findings += [
            _build("S46", a, f"has {show(b)} as exactMatch and as {name}; the same is neither broader nor only related")
            for a, b in facts.get_pairs(skos(name))
            if a in component and component[a] == component.get(b)
        ]
    return findings


CHECKS: Final[Mapping[str, Callable[[SkosInput], list[Finding]]]] = {
    "S9": check_s9,
    "S13": check_s13,
    "S14": check_s14,
    "S27": check_s27,
    "S37": check_s37,
    "S46": check_s46,
}


def check_skos(graph: SkosInput) -> list[Finding]:
    """Return what breaks any of the six conditions, in the order of clauses and nodes.

    Parameters
    ----------
    graph : rdflib.Graph, or triples or quads in N-Triples text, or SkosFacts

    Returns
    -------
    list[Finding]
        Errors: `column` is the clause ("S14"), `value` the node, and the reason what it says.

    Examples
    --------
    >>> love = [("<urn:love>", skos("prefLabel"), text) for text in ('"love"', '"joy"')]
    >>> [finding.column for finding in check_skos(love)]
    ['S14']
    """
    facts = gather_facts(graph)
    return [finding for check in CHECKS.values() for finding in check(facts)]


def show(node: str) -> str:
    """Return a node as people read it: ours without its start, known vocabularies with their prefix."""
    return shorten_iri(get_plain_value(node))


def _build(clause: str, node: str, reason: str) -> Finding:
    return Finding("error", SOURCE, 0, clause, show(node), f"{show(node)} {reason} (SKOS {clause}).", find_record(node))


def find_record(node: str) -> tuple[str, ...]:
    """Return the table and the parts of the key of one of our records, or () where the node is another's."""
    iri = get_plain_value(node)
    if not iri.startswith(ns.ID):
        return ()
    segment = iri[len(ns.ID) :].partition("/")[0]
    names = [name for name, table in TABLES.items() if table.segment == segment]
    return (names[0], *ns.key_from_iri(iri)) if names else ()


def _count(texts: list[str]) -> str:
    return {2: "two", 3: "three"}.get(len(texts), str(len(texts)))


def _describe(language: str) -> str:
    return f"in {language}" if language else "without a language"


def _find_components(links: Mapping[str, Iterable[str]]) -> dict[str, int]:
    component: dict[str, int] = {}
    for number, start in enumerate(sorted(links)):
        if start not in component:
            component.update(dict.fromkeys(_walk(links, start), number))
    return component


def _walk(links: Mapping[str, Iterable[str]], start: str) -> Iterator[str]:
    yield start
    yield from get_reachable(links, start)
