"""Between rdflib's terms and the N-Triples text of terms."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from rdflib import BNode, Graph, Literal, URIRef
from rdflib.term import Node

from ontology.rdf import namespaces as ns
from ontology.rdf.literals import LITERAL, get_language, get_plain_value, is_language_tag, unescape

__all__ = [
    "Triple",
    "build_graph",
    "get_fault",
    "get_language",
    "get_plain_value",
    "get_term_text",
    "is_language_tag",
    "is_safe_iri",
    "iterate_triples",
    "parse_term",
    "unescape",
]

#: Subject, predicate and object as N-Triples text.
Triple = tuple[str, str, str]

_PLAIN: Final = ns.XSD + "string"
#: Without blanks and marks that nobody sees, which RFC 3987 allows: a cell of a table would lose them at its ends.
_CHARACTER: Final = (
    r"(?:[^\x00-\x20\x7f-\xa0\u1680\u2000-\u200f\u2028-\u202f\u205f-\u206f\u3000\ufeff<>\"{}|^`\\\[\]%#"
    r"\ud800-\udfff\ue000-\uf8ff\ufdd0-\ufdef\ufff0-\uffff"
    r"\U000e0000-\U000e0fff\U000f0000-\U0010ffff]|%[0-9A-Fa-f]{2})"
)
_IRI: Final = re.compile(
    r"[A-Za-z][A-Za-z0-9+.-]*:"
    rf"(?://(?:(?![/?:@]){_CHARACTER})*(?::[0-9]*)?(?:(?=[/?#])|\Z)|(?!//))"
    rf"{_CHARACTER}*(?:#{_CHARACTER}*)?"
)


def get_term_text(node: Node) -> str:
    """Return the N-Triples text of an rdflib term; language tags in lower case, as the store keeps them.

    Examples
    --------
    >>> get_term_text(Literal("colour", lang="en-GB"))
    '"colour"@en-gb'
    """
    if isinstance(node, URIRef):
        return f"<{node}>"
    if isinstance(node, Literal):
        text = ns.text_term(str(node))
        if node.language:
            return f"{text}@{node.language.lower()}"
        if node.datatype is not None and str(node.datatype) != _PLAIN:
            return f"{text}^^<{node.datatype}>"
        return text
    return f"_:{node}"


def parse_term(text: str) -> Node:
    """Return the rdflib term of an N-Triples text.

    Raises
    ------
    ValueError
        The text is no IRI, blank node or literal.

    Examples
    --------
    >>> parse_term('"colour"@en').language
    'en'
    """
    if text.startswith("<") and text.endswith(">"):
        return URIRef(text[1:-1])
    if text.startswith("_:"):
        return BNode(text[2:])
    match = LITERAL.fullmatch(text)
    if match is None:
        raise ValueError(f"not a term in N-Triples: {text}")
    lexical, language, datatype = match.groups()
    # as it was written: rdflib would write the decimal 1e99999999 out to a hundred million digits
    kind = URIRef(datatype) if datatype else None
    return Literal(unescape(lexical), lang=language, datatype=kind, normalize=False)


def is_safe_iri(iri: str) -> bool:
    """Whether this is an absolute IRI that every store takes (RFC 3987, somewhat stricter)."""
    return _IRI.fullmatch(iri) is not None


def get_fault(node: Node) -> tuple[Node, str] | None:
    """Return the term and why no store can hold it, or None where it is sound."""
    if isinstance(node, URIRef):
        return None if is_safe_iri(node) else (node, "is not an absolute IRI (RFC 3987)")
    if isinstance(node, Literal):
        if node.language and not is_language_tag(node.language):
            return node, f"has the language tag {node.language!r}, which is not well formed (RFC 5646)"
        if node.datatype is not None and not is_safe_iri(node.datatype):
            return node, f"has the datatype {node.datatype}, which is not an absolute IRI"
        if any("\ud800" <= character <= "\udfff" for character in node):
            return node, "holds half a character (a lone surrogate)"
    return None


def build_graph(triples: Iterable[tuple[str, ...]]) -> Graph:
    """Return an rdflib graph of triples (or quads, whose graph is dropped) in N-Triples text."""
    graph = Graph()
    for prefix, iri in ns.PREFIXES.items():
        graph.bind(prefix, iri)
    for row in triples:
        s, p, o = row[-3:]
        graph.add((parse_term(s), parse_term(p), parse_term(o)))
    return graph


def iterate_triples(graph: Graph) -> Iterable[Triple]:
    """Yield the triples of an rdflib graph as N-Triples text."""
    for s, p, o in graph:
        yield get_term_text(s), get_term_text(p), get_term_text(o)
