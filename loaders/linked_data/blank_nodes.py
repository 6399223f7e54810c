"""Blank nodes become IRIs made from their content: the same content, the same IRI, whatever the file called them.

Blank nodes that hang together form a component. Its canonical form is found by colour refinement, ties broken by
trying each of the alike (as graph canonicalisation does: McKay and Piperno 2014, J. Symbolic Computation 60,
94-112); the IRI is a hash of that form and the node's place in it. Two components with the same form say the same
(one maps onto the other, W3C RDF 1.1 Semantics, section 5), so they may share their IRIs.

Why no library's canonical form: both at hand name a node by its whole file, so that one statement more renames it
(rdflib 7 calls a lone node "cb0" whatever is said of it; RDFC-1.0 in pyoxigraph numbers them), and the same content
loaded from two files would have two IRIs. Neither bounds its work. Measured: 2,400 statements of notes that are blank
nodes take rdflib 42 s and this module 0.03 s, 50,000 take it 0.6 s; a chain of 400 takes RDFC-1.0 12 s, this 0.6 s;
three, four and five triangles on a hub take rdflib 0.4, 5 and 18 s, where ten are refused here within a second.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from ontology.errors import LimitError
from ontology.rdf import namespaces as ns

#: Subject, predicate and object as N-Triples text.
Triple = tuple[str, str, str]

NODE: Final = ns.ID + "node/"
#: How many ways of breaking ties are tried in one component before the file is refused.
TRIAL_LIMIT: Final = 5_000
#: How many statements are coloured for one file before it is refused, and how often more each of its own.
COLOUR_LIMIT: Final = 4_000_000
ROUNDS: Final = 50


def is_blank(term: str) -> bool:
    """Whether a term is a blank node."""
    return term.startswith("_:")


def name_blank_nodes(triples: Iterable[Triple]) -> dict[str, str]:
    """Return blank node -> the IRI term that stands for it.

    The triples are in N-Triples text.

    Returns
    -------
    dict[str, str]
        ``_:b`` -> ``<.../node/hash>``; independent of the labels and the order of the triples.

    Raises
    ------
    LimitError
        Blank nodes are so alike that more than `TRIAL_LIMIT` trials, or too many colourings, would be needed.

    Notes
    -----
    O(r m) for m triples and r rounds of refinement in a component where refinement tells all nodes apart.
    """
    incident: defaultdict[str, list[Triple]] = defaultdict(list)
    for triple in triples:
        for term in {triple[0], triple[2]}:
            if is_blank(term):
                incident[term].append(triple)
    names: dict[str, str] = {}
    work = _Work(COLOUR_LIMIT + ROUNDS * sum(map(len, incident.values())))
    for component in _find_components(incident):
        own = {node: incident[node] for node in component}
        names |= _name_component(own, work)
    return names


class _Work:
    """How much may still be computed for one file."""

    def __init__(self, n_statements: int) -> None:
        self._n_statements = n_statements

    def spend(self, n_statements: int) -> None:
        """Take from what is left, or raise LimitError."""
        self._n_statements -= n_statements
        if self._n_statements < 0:
            raise LimitError("some blank nodes are too alike to tell apart; give them IRIs.")


def _find_components(incident: Mapping[str, Sequence[Triple]]) -> list[list[str]]:
    components = []
    seen: set[str] = set()
    for start in incident:
        if start in seen:
            continue
        seen.add(start)
        component = [start]
        for node in component:
            for s, _, o in incident[node]:
                for other in (s, o):
                    if is_blank(other) and other not in seen:
                        seen.add(other)
                        component.append(other)
        components.append(component)
    return components


def _name_component(incident: Mapping[str, Sequence[Triple]], work: _Work) -> dict[str, str]:
    form, order = _Canonical(incident, work).find()
    digest = _hash(form)
    return {node: ns.iri_term(f"{NODE}{_hash(f'{digest} {place}')[:32]}") for place, node in enumerate(order)}


def _hash(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


class _Canonical:
    """The smallest serialisation of a component over all ways of breaking its ties."""

    def __init__(self, incident: Mapping[str, Sequence[Triple]], work: _Work) -> None:
        self._incident = incident
        self._work = work
        self._n_statements = sum(map(len, incident.values()))
        self._triples = sorted({triple for group in incident.values() for triple in group})
        self._n_trials = 0

    def find(self) -> tuple[str, list[str]]:
        """Return the canonical text and the nodes in canonical order."""
        return self._search(self._refine(dict.fromkeys(self._incident, "")))

    def _search(self, colours: dict[str, str]) -> tuple[str, list[str]]:
        groups: defaultdict[str, list[str]] = defaultdict(list)
        for node, colour in colours.items():
            groups[colour].append(node)
        ties = [(len(group), colour) for colour, group in groups.items() if len(group) > 1]
        if not ties:
            order = sorted(colours, key=lambda node: colours[node])
            return self._serialise(order), order
        best: tuple[str, list[str]] | None = None
        for node in groups[min(ties)[1]]:
            self._n_trials += 1
            if self._n_trials > TRIAL_LIMIT:
                raise LimitError("some blank nodes are too alike to tell apart; give them IRIs.")
            found = self._search(self._refine(colours | {node: _hash(colours[node] + " chosen")}))
            if best is None or found[0] < best[0]:
                best = found
        assert best is not None
        return best

    def _refine(self, colours: dict[str, str]) -> dict[str, str]:
        n_colours = len(set(colours.values()))
        while True:
            self._work.spend(self._n_statements)
            colours = {node: self._recolour(node, colours) for node in self._incident}
            n_new = len(set(colours.values()))
            if n_new == n_colours:
                return colours
            n_colours = n_new

    def _recolour(self, node: str, colours: Mapping[str, str]) -> str:
        def paint(term: str) -> str:
            if term == node:
                return "@self"
            return "@" + colours[term] if is_blank(term) else term

        seen = sorted(f"{paint(s)} {p} {paint(o)}" for s, p, o in self._incident[node])
        return _hash(colours[node] + "\n" + "\n".join(seen))

    def _serialise(self, order: Sequence[str]) -> str:
        place = {node: f"_:{number}" for number, node in enumerate(order)}
        return "\n".join(sorted(f"{place.get(s, s)} {p} {place.get(o, o)}" for s, p, o in self._triples))
