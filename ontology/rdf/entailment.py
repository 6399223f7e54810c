"""What a SKOS graph entails, computed by us: the axioms as tables and one forward chaining.

SKOS Reference (W3C Recommendation, 18 August 2009). The clause stands beside each axiom. owl:sameAs, and
rdfs:subPropertyOf and rdfs:subClassOf found in the data, are followed too. Left out on purpose: clauses that
conclude nothing inside SKOS (annotation properties, S31, S32) and S35, whose functional property would equate lists.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Final

from ontology.rdf import namespaces as ns
from ontology.rdf.terms import Triple

TYPE: Final = ns.RDF_TYPE
SAME_AS: Final = f"<{ns.OWL}sameAs>"
SUBPROPERTY_OF: Final = f"<{ns.RDFS}subPropertyOf>"
SUBCLASS_OF: Final = f"<{ns.RDFS}subClassOf>"
FIRST: Final = f"<{ns.RDF}first>"
REST: Final = f"<{ns.RDF}rest>"
NIL: Final = f"<{ns.RDF}nil>"


def skos(local: str) -> str:
    """Return the N-Triples text of a SKOS term."""
    return f"<{ns.SKOS}{local}>"


CONCEPT: Final = skos("Concept")
SCHEME: Final = skos("ConceptScheme")
COLLECTION: Final = skos("Collection")
ORDERED_COLLECTION: Final = skos("OrderedCollection")
BROADER_TRANSITIVE: Final = skos("broaderTransitive")
NARROWER_TRANSITIVE: Final = skos("narrowerTransitive")
EXACT_MATCH: Final = skos("exactMatch")
MEMBER: Final = skos("member")
MEMBER_LIST: Final = skos("memberList")

_SUBPROPERTIES: Final = {
    "topConceptOf": ("inScheme",),  # S7
    "broader": ("broaderTransitive",),  # S22
    "narrower": ("narrowerTransitive",),  # S22
    "broaderTransitive": ("semanticRelation",),  # S21
    "narrowerTransitive": ("semanticRelation",),  # S21
    "related": ("semanticRelation",),  # S21
    "mappingRelation": ("semanticRelation",),  # S39
    "closeMatch": ("mappingRelation",),  # S40
    "broadMatch": ("mappingRelation", "broader"),  # S40, S41
    "narrowMatch": ("mappingRelation", "narrower"),  # S40, S41
    "relatedMatch": ("mappingRelation", "related"),  # S40, S41
    "exactMatch": ("closeMatch",),  # S42
}
_INVERSES: Final = {
    "topConceptOf": "hasTopConcept",  # S8
    "broader": "narrower",  # S25
    "broaderTransitive": "narrowerTransitive",  # S26
    "broadMatch": "narrowMatch",  # S43
}
_SYMMETRIC: Final = ("related", "relatedMatch", "closeMatch", "exactMatch")  # S23, S44
_DOMAINS: Final = {
    "hasTopConcept": "ConceptScheme",  # S5
    "semanticRelation": "Concept",  # S19
    "member": "Collection",  # S31
    "memberList": "OrderedCollection",  # S33
}
_RANGES: Final = {
    "inScheme": "ConceptScheme",  # S4
    "hasTopConcept": "Concept",  # S6
    "semanticRelation": "Concept",  # S20
}
_SUPERCLASSES: Final = {ORDERED_COLLECTION: (COLLECTION,)}  # S29
#: Our own classes are standard ones too; the vocabulary says so, and a test holds this to it.
OWN_SUPERCLASSES: Final = {
    f"<{ns.NW}Scale>": (ORDERED_COLLECTION,),
    f"<{ns.NW}Level>": (CONCEPT,),
    f"<{ns.NW}Competency>": (CONCEPT,),
    f"<{ns.NW}Role>": (CONCEPT,),  # through org:Role
    f"<{ns.ORG}Role>": (CONCEPT,),
}


class Axioms:
    """The axioms of SKOS together with the subproperties and subclasses that the data declare."""

    def __init__(self, triples: Iterable[Triple] = ()) -> None:
        self.superproperties: defaultdict[str, set[str]] = defaultdict(set)
        self.superclasses: defaultdict[str, set[str]] = defaultdict(set)
        for child, parents in _SUBPROPERTIES.items():
            self.superproperties[skos(child)].update(map(skos, parents))
        for classes in (_SUPERCLASSES, OWN_SUPERCLASSES):
            for name, more in classes.items():
                self.superclasses[name].update(more)
        self.inverses = {skos(a): skos(b) for a, b in _INVERSES.items()}
        self.inverses |= {b: a for a, b in self.inverses.items()}
        self.inverses |= {skos(name): skos(name) for name in _SYMMETRIC}
        self.domains = {skos(name): skos(kind) for name, kind in _DOMAINS.items()}
        self.ranges = {skos(name): skos(kind) for name, kind in _RANGES.items()}
        for s, p, o in triples:
            if p == SUBPROPERTY_OF:
                self.superproperties[s].add(o)
            elif p == SUBCLASS_OF:
                self.superclasses[s].add(o)

    def is_known(self, predicate: str) -> bool:
        """Whether a triple with this predicate can entail anything."""
        tables = (self.superproperties, self.inverses, self.domains, self.ranges)
        return any(predicate in table for table in tables)

    def derive(self, triple: Triple) -> list[Triple]:
        """Return what one triple entails in one step (transitivity and lists apart)."""
        s, p, o = triple
        if p == TYPE:
            return [(s, TYPE, kind) for kind in self.superclasses.get(o, ())]
        derived = [(s, parent, o) for parent in self.superproperties.get(p, ())]
        if p in self.inverses:
            derived.append((o, self.inverses[p], s))
        if p in self.domains:
            derived.append((s, TYPE, self.domains[p]))
        if p in self.ranges:
            derived.append((o, TYPE, self.ranges[p]))
        return derived


def saturate(triples: Iterable[Triple]) -> set[Triple]:
    """Return the triples with all they entail, except what needs S24 and S45 (transitivity).

    Notes
    -----
    Each triple is derived from once: O(n) for n triples and the fixed number of axioms. That is all the
    integrity conditions need, since they follow the two transitive relations themselves.
    """
    given = _merge_same(list(triples))
    axioms = Axioms(given)
    lists = _read_lists(given)
    known: set[Triple] = set(given)
    waiting = [triple for triple in known if triple[1] == TYPE or axioms.is_known(triple[1])]
    while waiting:
        triple = waiting.pop()
        derived = axioms.derive(triple)
        if triple[1] == MEMBER_LIST:
            derived += [(triple[0], MEMBER, item) for item in walk_list(lists, triple[2])]  # S36
        for new in derived:
            if new not in known:
                known.add(new)
                waiting.append(new)
    return known


def entail(triples: Iterable[Triple]) -> set[Triple]:
    """Return the triples with all they entail, the transitive relations included.

    Notes
    -----
    The closure of S24 alone may hold n squared triples for n concepts: for tests, and for small graphs.
    """
    given = list(triples)
    known = saturate(given)
    for relation in (BROADER_TRANSITIVE, EXACT_MATCH):  # S24, S45
        reach = build_index(known, relation)
        for start in list(reach):
            for end in get_reachable(reach, start):
                known.add((start, relation, end))
    # S45 adds exact matches; what they entail in turn (S42, S44 ...) and the inverses of S24 follow
    known = saturate(known)
    return _spread_same(known, given)


def build_index(triples: Iterable[Triple], predicate: str) -> dict[str, list[str]]:
    """Return subject -> objects of one predicate."""
    index: defaultdict[str, list[str]] = defaultdict(list)
    for s, p, o in triples:
        if p == predicate:
            index[s].append(o)
    return dict(index)


def get_reachable(index: Mapping[str, Iterable[str]], start: str) -> set[str]:
    """Return every node one or more steps from `start` (so `start` itself only where a cycle leads back)."""
    seen: set[str] = set()
    waiting = list(index.get(start, ()))
    while waiting:
        node = waiting.pop()
        if node not in seen:
            seen.add(node)
            waiting.extend(index.get(node, ()))
    return seen


def _read_lists(triples: Iterable[Triple]) -> dict[str, tuple[str, str]]:
    firsts: dict[str, str] = {}
    rests: dict[str, str] = {}
    for s, p, o in triples:
        if p == FIRST:
            firsts[s] = o
        elif p == REST:
            rests[s] = o
    return {cell: (item, rests.get(cell, NIL)) for cell, item in firsts.items()}


def walk_list(lists: Mapping[str, tuple[str, str]], cell: str) -> list[str]:
    """Return the items of a list in order; a list that bites its tail ends there."""
    items: list[str] = []
    seen: set[str] = set()
    while cell in lists and cell not in seen:
        seen.add(cell)
        item, cell = lists[cell]
        items.append(item)
    return items


def _find_same(triples: Iterable[Triple]) -> dict[str, str]:
    """Return node -> the smallest of the nodes it is the same as (union-find over owl:sameAs)."""
    parents: dict[str, str] = {}

    def find(node: str) -> str:
        while parents.setdefault(node, node) != node:
            parents[node] = parents[parents[node]]
            node = parents[node]
        return node

    for s, p, o in triples:
        if p == SAME_AS:
            low, high = sorted((find(s), find(o)))
            parents[high] = low
    return {node: find(node) for node in parents}


def _merge_same(triples: list[Triple]) -> list[Triple]:
    same = _find_same(triples)
    if not same:
        return triples
    return [(same.get(s, s), same.get(p, p), same.get(o, o)) for s, p, o in triples if p != SAME_AS]


def _spread_same(known: set[Triple], given: Iterable[Triple]) -> set[Triple]:
    same = _find_same(given)
    if not same:
        return known
    groups: defaultdict[str, list[str]] = defaultdict(list)
    for node, leader in same.items():
        groups[leader].append(node)
    spread = {
        (s2, p2, o2)
        for s, p, o in known
        for s2 in groups.get(s, [s])
        for p2 in groups.get(p, [p])
        for o2 in groups.get(o, [o])
    }
    return spread | {(a, SAME_AS, b) for group in groups.values() for a in group for b in group}
