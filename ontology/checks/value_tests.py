"""The SPARQL condition of each SHACL constraint on a value by itself.

Clauses of SHACL Core (W3C Recommendation, 20 July 2017): 4.1 value type, 4.3 value range, 4.4 strings, 4.6 logic, 4.8.3
sh:in. A condition is true where the value `?v` fits and false where it does not: it never ends in an error, which a
filter would take for "does not fit" in one place and, once negated, for "fits" in another.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from rdflib import RDF, SH, XSD, Graph, URIRef
from rdflib.collection import Collection
from rdflib.term import Node

from ontology.rdf import namespaces as ns
from ontology.rdf.terms import get_term_text

#: Of two values that an engine cannot compare as they are, these can still be numbers beyond its own range.
_EXACT_NUMBERS: Final = f"({ns.iri_term(str(XSD.integer))}, {ns.iri_term(str(XSD.decimal))})"
_DOUBLE: Final = ns.iri_term(str(XSD.double))


def make_order_test(lesser: str, greater: str) -> str:
    """Return the condition that one value is at most another; values that have no order do not fit."""
    are_numbers = " && ".join(f"DATATYPE({value}) IN {_EXACT_NUMBERS}" for value in (lesser, greater))
    as_doubles = f"{_DOUBLE}(STR({lesser})) <= {_DOUBLE}(STR({greater}))"
    return f"COALESCE({lesser} <= {greater}, IF({are_numbers}, {as_doubles}, false), false)"


def build_conjunction(shapes: Graph, node: Node) -> str:
    """Return the condition of all constraints of a shape without a path: inside sh:or, sh:not, sh:qualifiedValueShape.

    Raises
    ------
    ValueError
        The shape uses a term that is not known here.
    """
    tests = [
        build_value_test(shapes, str(term), parameter) for term, parameter in sorted(shapes.predicate_objects(node))
    ]
    if not tests:
        raise ValueError("a shape inside sh:or, sh:not or sh:qualifiedValueShape says nothing")
    return f"({' && '.join(tests)})"


def build_value_test(shapes: Graph, term: str, parameter: Node) -> str:
    """Return the condition of one constraint, `term` being its parameter's IRI and `parameter` that one's value.

    Raises
    ------
    ValueError
        The term, or the value it is given, is not known here.
    """
    if term not in VALUE_TESTS:
        raise ValueError(f"no query is known for the SHACL term {term}")
    return VALUE_TESTS[term](shapes, parameter)


_NODE_KINDS: Final[Mapping[Node, str]] = {SH.IRI: "isIRI(?v)", SH.BlankNodeOrIRI: "(!isLiteral(?v))"}
_NUMERAL: Final = r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)"
#: Lexical spaces of XML Schema Definition Language 1.1, part 2 (W3C Recommendation, 5 April 2012), chapter 3.
_LEXICAL: Final[Mapping[Node, str]] = {
    XSD.integer: "^[+-]?[0-9]+$",
    XSD.decimal: f"^{_NUMERAL}$",
    XSD.double: f"^({_NUMERAL}([eE][+-]?[0-9]+)?|[+-]?INF|NaN)$",
    XSD.boolean: "^(true|false|1|0)$",
}
#: Every text is well formed.
_TEXTS: Final = (XSD.string, RDF.langString)
_ZONE: Final = r"(Z|[+-](0[0-9]|1[0-3]):[0-5][0-9]|[+-]14:00)"
_DATE: Final = f"^-?[0-9]{{4,}}-[0-9]{{2}}-[0-9]{{2}}{_ZONE}?$"


def _test_node_kind(shapes: Graph, parameter: Node) -> str:
    if parameter not in _NODE_KINDS:
        raise ValueError(f"no query is known for the node kind {parameter}")
    return _NODE_KINDS[parameter]


def _test_datatype(shapes: Graph, parameter: Node) -> str:
    is_of_type = f"DATATYPE(?v) = <{parameter}>"
    if parameter in _TEXTS:
        return f"COALESCE({is_of_type}, false)"
    if parameter == XSD.date:
        # SPARQL 1.1 casts to dateTime, not to date; the cast knows the calendar
        day = f"REPLACE(STR(?v), {ns.text_term(f'{_ZONE}$')}, {ns.text_term('')})"
        moment = f"<{XSD.dateTime}>(CONCAT({day}, {ns.text_term('T00:00:00')}))"
        has_form = f"REGEX(STR(?v), {ns.text_term(_DATE)})"
        return f"COALESCE({is_of_type} && {has_form} && STRLEN(STR({moment})) > 0, false)"
    if parameter not in _LEXICAL:
        raise ValueError(f"no query is known for the datatype {parameter}")
    return f"COALESCE({is_of_type} && REGEX(STR(?v), {ns.text_term(_LEXICAL[parameter])}), false)"


def _test_in(shapes: Graph, parameter: Node) -> str:
    tests = [f"sameTerm(?v, {get_term_text(item)})" for item in Collection(shapes, parameter)]
    return f"({' || '.join(tests)})" if tests else "false"


def _test_min_inclusive(shapes: Graph, parameter: Node) -> str:
    return make_order_test(get_term_text(parameter), "?v")


def _test_max_inclusive(shapes: Graph, parameter: Node) -> str:
    return make_order_test("?v", get_term_text(parameter))


def _test_min_length(shapes: Graph, parameter: Node) -> str:
    return f"COALESCE(STRLEN(STR(?v)) >= {int(str(parameter))}, false)"


def _test_pattern(shapes: Graph, parameter: Node) -> str:
    return f"COALESCE(REGEX(STR(?v), {ns.text_term(str(parameter))}), false)"


def _test_or(shapes: Graph, parameter: Node) -> str:
    tests = [build_conjunction(shapes, item) for item in Collection(shapes, parameter)]
    return f"({' || '.join(tests)})" if tests else "false"


def _test_not(shapes: Graph, parameter: Node) -> str:
    return f"(!{build_conjunction(shapes, parameter)})"


#: Term IRI -> the function that makes its condition.
VALUE_TESTS: Final[Mapping[str, Callable[[Graph, Node], str]]] = {
    str(term): test
    for term, test in (
        (SH.nodeKind, _test_node_kind),
        (SH.datatype, _test_datatype),
        (SH["in"], _test_in),
        (SH.minInclusive, _test_min_inclusive),
        (SH.maxInclusive, _test_max_inclusive),
        (SH.minLength, _test_min_length),
        (SH.pattern, _test_pattern),
        (SH["or"], _test_or),
        (SH["not"], _test_not),
    )
}


def get_nested_shapes(shapes: Graph, node: Node) -> list[Node]:
    """Return the shapes that stand inside sh:or, sh:not and a qualified count, those inside these included."""
    nested: list[Node] = [*shapes.objects(node, SH["not"]), *shapes.objects(node, SH.qualifiedValueShape)]
    for items in shapes.objects(node, SH["or"]):
        nested += Collection(shapes, items)
    return nested + [deeper for item in nested for deeper in get_nested_shapes(shapes, item)]


def is_iri(node: Node) -> bool:
    """Whether a term of the shapes is an IRI."""
    return isinstance(node, URIRef)
