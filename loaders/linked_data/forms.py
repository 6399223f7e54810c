"""The forms of linked data that need more than joining terms: prefixes, JSON-LD, RDF/XML.

JSON-LD 1.1 (W3C Recommendation, 16 July 2020) in flattened form with its context inside; RDF 1.1 XML Syntax (W3C
Recommendation, 25 February 2014) with one rdf:Description a subject.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import Any, Final
from xml.sax.saxutils import escape, quoteattr

from ontology.errors import FileFormatError
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.rdf.terms import get_language, get_plain_value

_LOCAL: Final = re.compile(r"[A-Za-z_][A-Za-z0-9_-]*")
_BARE: Final = {
    "integer": re.compile(r"-?[0-9]+"),
    "decimal": re.compile(r"-?[0-9]+\.[0-9]+"),
    "boolean": re.compile("true|false"),
}
_SPLIT: Final = re.compile(r"(.*[^A-Za-z0-9_.-])([A-Za-z_][A-Za-z0-9_.-]*)", re.DOTALL)
_NOT_XML: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")


class Shortener:
    """Writes the IRIs of known vocabularies with a prefix, and tells which prefixes were needed.

    Parameters
    ----------
    quads : iterable of quads
        What will be written; only prefixes of their terms are declared.
    """

    def __init__(self, quads: Iterable[Quad]) -> None:
        self._known: dict[str, str] = {}
        for _, s, p, o in quads:
            for term in (s, p, o):
                if term not in self._known:
                    self._known[term] = _shorten(term)
        # JSON-LD tells <org:unit> from org:unit by nothing: where such an IRI is used, its scheme is no prefix
        schemes = {term[1:].partition(":")[0] for term, text in self._known.items() if text == term and term[0] == "<"}
        self._known = {term: term if _get_prefix(text) in schemes else text for term, text in self._known.items()}
        used = {_get_prefix(text) for term, text in self._known.items() if text != term}
        self.prefixes = {prefix: iri for prefix, iri in ns.PREFIXES.items() if prefix in used}

    def shorten(self, term: str) -> str:
        """Return the term, with a prefix where it has one."""
        return self._known.get(term, term)

    def iterate_turtle_prefixes(self) -> Iterator[str]:
        """Yield the prefix lines of Turtle and TriG."""
        for prefix, iri in self.prefixes.items():
            yield f"@prefix {prefix}: <{iri}> .\n"


def _get_prefix(text: str) -> str:
    return "xsd" if text.startswith('"') else text.partition(":")[0]


def _shorten(term: str) -> str:
    if term.startswith("<"):
        for prefix, start in ns.PREFIXES.items():
            if term.startswith(start, 1) and _LOCAL.fullmatch(term, 1 + len(start), len(term) - 1):
                return f"{prefix}:{term[1 + len(start) : -1]}"
    elif term.endswith(">") and term.startswith('"'):
        return _shorten_literal(term)
    return term


def _shorten_literal(term: str) -> str:
    """Return a typed literal as Turtle writes it best: 3, true, 7.5, or its datatype with a prefix."""
    datatype = get_datatype(term)
    lexical = term[1 : -len(datatype) - 5]
    local = datatype.removeprefix(ns.XSD)
    if local in _BARE and _BARE[local].fullmatch(lexical):
        return lexical
    return f'"{lexical}"^^xsd:{local}' if local != datatype and _LOCAL.fullmatch(local) else term


def get_datatype(term: str) -> str:
    """Return the datatype IRI of a literal's text, or the empty string where it is a plain or tagged text."""
    return term.rpartition('"^^<')[2][:-1] if term.startswith('"') and term.endswith(">") else ""


def iterate_json_ld(quads: list[Quad]) -> Iterator[str]:
    """Yield the parts of a JSON-LD document: one object a subject, named graphs as graphs."""
    short = Shortener(quads)
    yield f'{{\n "@context": {json.dumps(short.prefixes, ensure_ascii=False)},\n "@graph": ['
    separator = "\n"
    for graph, group in groupby(quads, key=lambda quad: quad[0]):
        nodes = (_build_node(subject, list(same), short) for subject, same in groupby(group, key=lambda quad: quad[1]))
        if graph:
            yield f'{separator}  {{"@id": {json.dumps(graph, ensure_ascii=False)}, "@graph": ['
            yield from _join(nodes, "\n   ")
            yield "]}"
        else:
            yield separator.rstrip("\n")
            yield from _join(nodes, "\n  ")
        separator = ",\n"
    yield "\n ]\n}\n"


def _join(nodes: Iterable[dict[str, Any]], indent: str) -> Iterator[str]:
    separator = indent
    for node in nodes:
        yield separator + json.dumps(node, ensure_ascii=False)
        separator = "," + indent


def _build_node(subject: str, quads: Iterable[Quad], short: Shortener) -> dict[str, Any]:
    node: dict[str, Any] = {"@id": get_plain_value(subject)}
    for predicate, same in groupby(quads, key=lambda quad: quad[2]):
        objects = [quad[3] for quad in same]
        if predicate == ns.RDF_TYPE:
            node["@type"] = [_as_key(o, short) for o in objects]
        else:
            node[_as_key(predicate, short)] = [_build_value(o) for o in objects]
    return node


def _as_key(term: str, short: Shortener) -> str:
    text = short.shorten(term)
    return text if text != term else get_plain_value(term)


def _build_value(term: str) -> Any:
    if not term.startswith('"'):
        return {"@id": get_plain_value(term)}
    value = get_plain_value(term)
    language, datatype = get_language(term), get_datatype(term)
    if language:
        return {"@value": value, "@language": language}
    return {"@value": value, "@type": datatype} if datatype else value


def iterate_rdf_xml(quads: list[Quad]) -> Iterator[str]:
    """Yield the parts of an RDF/XML document.

    Raises
    ------
    FileFormatError
        A property has no XML name at its end, or a text holds a character that XML forbids.
    """
    spaces = {iri: prefix for prefix, iri in ns.PREFIXES.items()}
    for _, _, p, _ in quads:
        start, _ = split_property(p)
        spaces.setdefault(start, f"p{len(spaces)}")
    yield '<?xml version="1.0" encoding="UTF-8"?>\n<rdf:RDF'
    for iri, prefix in spaces.items():
        yield f"\n    xmlns:{prefix}={quoteattr(iri)}"
    yield ">\n"
    for subject, group in groupby(quads, key=lambda quad: quad[1]):
        yield f"  <rdf:Description {_get_identity(subject, 'about')}>\n"
        for _, _, p, o in group:
            start, local = split_property(p)
            yield f"    {_build_element(f'{spaces[start]}:{local}', o)}\n"
        yield "  </rdf:Description>\n"
    yield "</rdf:RDF>\n"


def split_property(term: str) -> tuple[str, str]:
    """Return the namespace and the XML name at the end of a property's IRI.

    Raises
    ------
    FileFormatError
        It does not end in an XML name, so RDF/XML cannot hold it.
    """
    match = _SPLIT.fullmatch(get_plain_value(term))
    if match is None:
        raise FileFormatError(f"The property {term} cannot be written in RDF/XML; choose another format.")
    return match.group(1), match.group(2)


def _get_identity(term: str, attribute: str) -> str:
    if term.startswith("_:"):
        return f"rdf:nodeID={quoteattr(term[2:])}"
    return f"rdf:{attribute}={quoteattr(get_plain_value(term))}"


def _build_element(name: str, term: str) -> str:
    if not term.startswith('"'):
        return f"<{name} {_get_identity(term, 'resource')}/>"
    value = get_plain_value(term)
    if _NOT_XML.search(value):
        raise FileFormatError(f"The text {value[:40]!r} holds a character that XML forbids; choose another format.")
    language, datatype = get_language(term), get_datatype(term)
    mark = f" xml:lang={quoteattr(language)}" if language else ""
    mark += f" rdf:datatype={quoteattr(datatype)}" if datatype else ""
    # a bare carriage return would come back as a line feed
    return f"<{name}{mark}>{escape(value, {chr(13): '&#13;'})}</{name}>"
