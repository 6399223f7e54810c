"""Between rdflib's terms and the N-Triples text of terms. Imports namespaces; rdflib is the language for graphs."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from rdflib import BNode, Graph, Literal, URIRef
from rdflib.term import Node

from ontology.rdf import namespaces as ns

#: Subject, predicate and object as N-Triples text.
Triple = tuple[str, str, str]

_LITERAL: Final = re.compile(r'"((?:[^"\\]|\\.)*)"(?:@([A-Za-z0-9-]+)|\^\^<([^>]*)>)?', re.DOTALL)
_ESCAPE: Final = re.compile(r"\\(?:u([0-9A-Fa-f]{4})|U([0-9A-Fa-f]{8})|(.))", re.DOTALL)
_ESCAPED: Final = {"n": "\n", "r": "\r", "t": "\t", "b": "\b", "f": "\f", '"': '"', "'": "'", "\\": "\\"}
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
_LANGUAGE_TAG: Final = re.compile(
    r"(?:[a-z]{2,3}(?:-[a-z]{3}){0,3}|[a-z]{4,8})(?:-[a-z]{4})?(?:-(?:[a-z]{2}|[0-9]{3}))?"
    r"(?:-(?:[a-z0-9]{5,8}|[0-9][a-z0-9]{3}))*(?:-[a-wy-z0-9](?:-[a-z0-9]{2,8})+)*(?:-x(?:-[a-z0-9]{1,8})+)?"
    r"|x(?:-[a-z0-9]{1,8})+",
    re.IGNORECASE,
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
    match = _LITERAL.fullmatch(text)
    if match is None:
        raise ValueError(f"not a term in N-Triples: {text}")
    lexical, language, datatype = match.groups()
    # as it was written: rdflib would write the decimal 1e99999999 out to a hundred million digits
    kind = URIRef(datatype) if datatype else None
    return Literal(unescape(lexical), lang=language, datatype=kind, normalize=False)


def get_plain_value(text: str) -> str:
    """Return an IRI without its brackets, a literal's lexical form, or the text itself."""
    if text.startswith("<"):
        return text[1:-1]
    match = _LITERAL.fullmatch(text)
    return unescape(match.group(1)) if match else text


def get_language(text: str) -> str:
    """Return the language tag of a literal's text in lower case, or the empty string."""
    match = _LITERAL.fullmatch(text)
    return (match.group(2) or "").lower() if match else ""


def unescape(lexical: str) -> str:
    """Return the characters an escaped N-Triples string stands for."""
    if "\\" not in lexical:
        return lexical
    return _ESCAPE.sub(_unescape_one, lexical)


def _unescape_one(match: re.Match[str]) -> str:
    short, long, single = match.groups()
    if single is not None:
        return _ESCAPED.get(single, single)
    return chr(int(short or long, 16))


def is_safe_iri(iri: str) -> bool:
    """Whether this is an absolute IRI that every store takes (RFC 3987, somewhat stricter)."""
    return _IRI.fullmatch(iri) is not None


def is_language_tag(text: str) -> bool:
    """Whether this is a well-formed language tag (RFC 5646)."""
    return _LANGUAGE_TAG.fullmatch(text) is not None


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
