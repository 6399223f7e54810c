"""Records as JSON-LD 1.1 and as Turtle, from the writer's quads; the same bytes every time.

JSON-LD is written here rather than by rdflib, whose order of nodes changes from run to run.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

from rdflib import Literal, URIRef

from api.json_text import dump_json
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.rdf.terms import build_graph, parse_term

_PREFIXES: Final = sorted(ns.PREFIXES.items(), key=lambda pair: -len(pair[1]))


def dump_turtle(quads: Iterable[Quad]) -> bytes:
    """Return the triples of quads as Turtle (UTF-8), subjects and predicates in rdflib's fixed order."""
    return build_graph(sorted(set(quads))).serialize(format="turtle").encode()


def dump_json_ld(quads: Iterable[Quad]) -> bytes:
    """Return the triples of quads as JSON-LD: a flat graph with our prefixes as its context."""
    return dump_json(build_json_ld(quads))


def build_json_ld(quads: Iterable[Quad]) -> dict[str, Any]:
    """Return the JSON-LD document of quads; a single node stands at the top, several in ``@graph``."""
    nodes: dict[str, dict[str, list[Any]]] = {}
    for _, subject, predicate, target in sorted(set(quads)):
        node = nodes.setdefault(_get_name(subject), {})
        if predicate == ns.RDF_TYPE:
            node.setdefault("@type", []).append(_compact(_get_name(target)))
        else:
            node.setdefault(_compact(_get_name(predicate)), []).append(_build_value(target))
    listed = [
        {"@id": name} | {key: values[0] if len(values) == 1 else values for key, values in sorted(node.items())}
        for name, node in nodes.items()
    ]
    context = {"@context": dict(ns.PREFIXES)}
    return context | listed[0] if len(listed) == 1 else context | {"@graph": listed}


def _get_name(term: str) -> str:
    return term[1:-1] if term.startswith("<") else term


def _compact(iri: str) -> str:
    for prefix, start in _PREFIXES:
        if iri.startswith(start) and (local := iri[len(start) :]) and "/" not in local:
            return f"{prefix}:{local}"
    return iri


def _build_value(term: str) -> Any:
    value = parse_term(term)
    if isinstance(value, Literal):
        if value.language:
            return {"@value": str(value), "@language": value.language}
        if value.datatype is not None and str(value.datatype) != ns.XSD + "string":
            return {"@value": str(value), "@type": _compact(str(value.datatype))}
        return str(value)
    return {"@id": str(value) if isinstance(value, URIRef) else f"_:{value}"}
