"""All IRIs the project uses, and the N-Triples text of terms.

A term is kept as its N-Triples text (W3C N-Triples, section 2): ``<iri>`` or ``"text"^^<datatype>``.
That text is valid in SPARQL and N-Quads as it is, so no engine's term objects leave the store door.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from urllib.parse import quote, unquote

NW = "https://newel.example/ns#"
ID = "https://newel.example/id/"
GRAPH = "https://newel.example/graph/"
#: Concepts of outside frameworks that say no IRI of their own: the id of the framework follows.
OUTSIDE = "https://newel.example/outside/"
HISTORY = "https://newel.example/history/"
PERSONAL_HISTORY = "https://newel.example/history-people/"
DRAFT = "https://newel.example/draft/"

RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
RDFS = "http://www.w3.org/2000/01/rdf-schema#"
OWL = "http://www.w3.org/2002/07/owl#"
XSD = "http://www.w3.org/2001/XMLSchema#"
SKOS = "http://www.w3.org/2004/02/skos/core#"
ORG = "http://www.w3.org/ns/org#"
DCTERMS = "http://purl.org/dc/terms/"
PROV = "http://www.w3.org/ns/prov#"
SCHEMA = "https://schema.org/"
SH = "http://www.w3.org/ns/shacl#"
DCAT = "http://www.w3.org/ns/dcat#"
VOID = "http://rdfs.org/ns/void#"
FOAF = "http://xmlns.com/foaf/0.1/"
MEDIA_TYPES = "https://www.iana.org/assignments/media-types/"
SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"
SPARQL_RESULTS = "http://www.w3.org/2005/sparql-results#"

PREFIXES: dict[str, str] = {
    "nw": NW,
    "rdf": RDF,
    "rdfs": RDFS,
    "owl": OWL,
    "xsd": XSD,
    "skos": SKOS,
    "org": ORG,
    "dcterms": DCTERMS,
    "prov": PROV,
    "schema": SCHEMA,
    "sh": SH,
    "dcat": DCAT,
    "void": VOID,
    "foaf": FOAF,
}

GRAPH_VOCABULARY = GRAPH + "vocabulary"
GRAPH_FRAMEWORK = GRAPH + "framework"
GRAPH_OFFERS = GRAPH + "offers"
GRAPH_TEAMS = GRAPH + "teams"
GRAPH_PEOPLE = GRAPH + "people"
GRAPH_STORE = GRAPH + "store"
GRAPH_HISTORY = GRAPH + "history"
GRAPH_DRAFTS = GRAPH + "drafts"
DATA_GRAPHS = (GRAPH_FRAMEWORK, GRAPH_OFFERS, GRAPH_TEAMS, GRAPH_PEOPLE)

#: Graph IRI, then subject, predicate and object as N-Triples text.
Quad = tuple[str, str, str, str]

RDF_TYPE = f"<{RDF}type>"

_ESCAPES = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\r": "\\r", "\t": "\\t", "\b": "\\b", "\f": "\\f"}
_ESCAPE_TABLE = str.maketrans(
    _ESCAPES | {chr(code): f"\\u{code:04X}" for code in range(0x20) if chr(code) not in _ESCAPES} | {"\x7f": "\\u007F"}
)


def iri_term(iri: str) -> str:
    """Return the N-Triples text of an IRI."""
    return f"<{iri}>"


def text_term(value: str) -> str:
    """Return the N-Triples text of a plain string."""
    return f'"{value.translate(_ESCAPE_TABLE)}"'


def typed_term(lexical: str, datatype: str) -> str:
    """Return the N-Triples text of a typed literal; `datatype` is a local name of XML Schema."""
    return f'"{lexical}"^^<{XSD}{datatype}>'


@lru_cache(maxsize=1 << 16)
def _quote_part(part: str) -> str:
    # quote leaves ~ as it is, but here it stands between the parts; ids repeat, so most calls are answered at once
    return quote(part, safe="-._").replace("~", "%7E")


def record_iri(segment: str, *parts: str) -> str:
    """Return the IRI of a record: its table's `segment`, then the parts of its key joined by ``~``.

    Ids may not contain ``~``; free text in a key is percent-encoded, so the IRI can be read back.
    """
    return f"{ID}{segment}/" + "~".join(map(_quote_part, parts))


def record_iris(segment: str, keys: Sequence[Sequence[object]]) -> list[str]:
    """Return the IRIs of records of one kind from the parts of their keys, as `record_iri` does for one."""
    start = f"{ID}{segment}/"
    columns = [[_quote_part(str(part)) for part in parts] for parts in zip(*keys, strict=True)]
    return [start + "~".join(parts) for parts in zip(*columns, strict=True)]


def id_from_iri(iri: str) -> str:
    """Return the id column of a record with a one-part key, from its IRI (an IRI of others is kept whole)."""
    if not iri.startswith(ID):
        return iri
    return unquote(iri.rsplit("/", 1)[1])


def key_from_iri(iri: str) -> tuple[str, ...]:
    """Return the parts of a record's key from its IRI."""
    return tuple(unquote(part) for part in iri.rsplit("/", 1)[1].split("~"))
