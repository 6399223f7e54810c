"""From a file of linked data to quads of N-Triples text; what cannot be read safely is refused.

Nothing is ever fetched: JSON-LD contexts must stand in the file, RDF/XML may declare no entities, and relative
IRIs resolve against an address of ours, not the place of the file. rdflib does the parsing.
"""

from __future__ import annotations

import json
import logging
import re
import warnings
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote
from xml.parsers import expat
from xml.sax import SAXParseException

import rdflib
from rdflib import Dataset, Graph, Literal, URIRef
from rdflib.exceptions import ParserError
from rdflib.plugins.parsers.notation3 import BadSyntax

from loaders import limits
from loaders.linked_data.syntax_faults import DuplicateNameError, find_fault, read_json
from loaders.tables.cells import make_printable
from ontology.errors import Finding, shorten
from ontology.rdf import namespaces as ns
from ontology.rdf.terms import get_fault, get_term_text

#: Graph IRI (empty for the default graph), then subject, predicate and object as N-Triples text.
RawQuad = tuple[str, str, str, str]

FORMATS: Final = {
    ".ttl": "turtle",
    ".nt": "nt",
    ".nq": "nquads",
    ".trig": "trig",
    ".jsonld": "json-ld",
    ".json": "json-ld",
    ".rdf": "xml",
    ".owl": "xml",
    ".xml": "xml",
}
_WITH_GRAPHS: Final = ("nquads", "trig", "json-ld")

_PREFIX: Final = re.compile(r"prefix\s+([^\s:<]*):\s*<([^>\s]*)>", re.IGNORECASE)
_XML_PREFIX: Final = re.compile(r"xmlns:([^\s=]+)\s*=\s*[\"']([^\"'<]*)")
#: How an IRI ends that JSON-LD 1.1 takes as a prefix without being told (the gen-delims of RFC 3986).
_PREFIX_ENDS: Final = (":", "/", "?", "#", "[", "]", "@")

# rdflib logs every ill-typed literal with a traceback; the shapes report them as findings instead
logging.getLogger("rdflib.term").setLevel(logging.ERROR)


class _Refused(Exception):
    """The file asks for something that is never done; the text is the reason."""

    def __init__(self, reason: str, line: int = 0, value: str = "") -> None:
        super().__init__(reason)
        self.reason = reason
        self.line = line
        self.value = value


def parse_file(path: Path) -> tuple[list[RawQuad], list[Finding]]:
    """Parse a file by its suffix.

    Returns
    -------
    quads : list of (graph, subject, predicate, object), sorted
    findings : list[Finding]
        Syntax errors (`row` is the line), what is refused, and terms that no store can hold. With a syntax error
        there are no quads.

    Raises
    ------
    FileFormatError, LimitError
        The file is missing, unreadable or too large.
    """
    data = limits.read_file(path)
    kind = FORMATS[path.suffix.lower()]
    source = make_printable(path.name)
    try:
        if kind == "xml":
            _refuse_entities(data)
            _refuse_prefixes(_XML_PREFIX.findall(data.decode("utf-8", "replace")))
            return _collect(_parse(data, kind, path), source)
        text = _decode(data)
        if kind == "json-ld":
            text = _refuse_fetching(text)
        elif kind in ("turtle", "trig"):
            _refuse_prefixes(_PREFIX.findall(text))
        return _collect(_parse(text, kind, path), source)
    except _Refused as error:
        return [], [Finding("error", source, error.line, "", error.value, error.reason)]
    except BadSyntax as error:
        # rdflib counts the lines of TriG wrongly; its offset into the text is right
        line = data.decode("utf-8-sig").count("\n", 0, error._i) + 1
        return [], [Finding("error", source, line, "", "", _tell(f"bad syntax: {error._why}"))]
    except SAXParseException as error:
        return [], [Finding("error", source, error.getLineNumber() or 0, "", "", f"bad XML: {error.getMessage()}")]
    except (json.JSONDecodeError, DuplicateNameError) as error:
        return [], [Finding("error", source, error.lineno, "", "", f"bad JSON: {error.msg}")]
    except ParserError as error:
        line, reason = find_fault(data, kind, str(error))
        return [], [Finding("error", source, line, "", "", _tell(f"bad syntax: {reason}"))]
    except RecursionError:
        return [], [Finding("error", source, 0, "", "", "nested too deeply to be read")]
    except Exception as error:
        # rdflib lets many kinds of error through; each means that this file cannot be read
        return [], [Finding("error", source, 0, "", "", _tell(f"cannot be read: {error}"))]


def _decode(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise _Refused("is not UTF-8, the encoding of linked data", line) from error


def _get_base(path: Path) -> str:
    return f"{ns.ID}file/{quote(make_printable(path.stem), safe='-._')}/"


def _parse(data: str | bytes, kind: str, path: Path) -> Iterator[tuple[Any, Any, Any, Any]]:
    base = _get_base(path)
    # literals stay as they are written: rdflib would write the decimal 1e99999999 out to a hundred million digits; set
    # every time, since pySHACL sets it back after every validation
    rdflib.NORMALIZE_LITERALS = False
    if kind not in _WITH_GRAPHS:
        graph = Graph().parse(data=data, format=kind, publicID=base)
        for s, p, o in graph:
            yield None, s, p, o
        return
    with warnings.catch_warnings():
        # rdflib's own readers of named graphs use what it calls deprecated
        warnings.simplefilter("ignore", DeprecationWarning)
        dataset = Dataset()
        dataset.parse(data=data, format=kind, publicID=base)
        for s, p, o, name in dataset.quads():
            yield name, s, p, o


def _collect(rows: Iterator[tuple[Any, Any, Any, Any]], source: str) -> tuple[list[RawQuad], list[Finding]]:
    quads: set[RawQuad] = set()
    findings: set[Finding] = set()
    for name, *terms in rows:
        faults = [fault for fault in map(get_fault, terms) if fault is not None]
        if isinstance(terms[0], Literal):
            faults.append((terms[0], "is a text as the subject of a statement; only an IRI or a blank node may be one"))
        if faults:
            findings.update(
                Finding("error", source, 0, "", shorten(make_printable(str(term))), _tell(fault))
                for term, fault in faults
            )
            continue
        s, p, o = map(get_term_text, terms)
        graph = str(name) if isinstance(name, URIRef) and str(name) != "urn:x-rdflib:default" else ""
        quads.add((graph, s, p, o))
    return sorted(quads), sorted(findings)


def _tell(reason: str) -> str:
    """Return what a library says on one line; some quote the whole rest of the file."""
    return shorten(make_printable(" ".join(reason.split())), 300)


def _refuse_fetching(text: str) -> str:
    """Return the text of a JSON-LD file, or refuse it when it asks for a context from elsewhere or nests too deep."""
    document = read_json(text)
    if not isinstance(document, (dict, list)):
        raise _Refused("not JSON-LD: it must be an object or an array of objects", 1)
    waiting = [(document, 1)]
    prefixes: set[tuple[str, str]] = set()
    while waiting:
        value, depth = waiting.pop()
        if depth > limits.MAX_NESTING:
            raise _Refused(f"nests arrays and objects more than {limits.MAX_NESTING:,} deep")
        if isinstance(value, list):
            waiting += [(part, depth + 1) for part in value]
        elif isinstance(value, dict):
            for key in ("@context", "@import"):
                for part in _as_list(value.get(key)):
                    if isinstance(part, str):
                        line = _find_text(text, part)
                        raise _Refused(
                            "names a context elsewhere; nothing is fetched: copy it into the file", line, part
                        )
                    prefixes.update(_iterate_prefixes(part))
            waiting += [(part, depth + 1) for part in value.values()]
    _refuse_prefixes(prefixes)
    return text


def _iterate_prefixes(context: Any) -> Iterator[tuple[str, str]]:
    for term, value in context.items() if isinstance(context, dict) else ():
        iri = value.get("@id") if isinstance(value, dict) else value
        if isinstance(iri, str) and iri.endswith(_PREFIX_ENDS):
            yield term, iri


def _refuse_prefixes(found: Iterable[object]) -> None:
    if len(set(found)) > limits.MAX_PREFIXES:
        raise _Refused(f"declares more than {limits.MAX_PREFIXES:,} prefixes")


def _as_list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value]


def _find_text(text: str, wanted: str) -> int:
    match = re.search(re.escape(json.dumps(wanted, ensure_ascii=False)), text)
    return text[: match.start()].count("\n") + 1 if match else 0


def _refuse_entities(data: bytes) -> None:
    """Refuse entities and external parts before the XML reaches its reader: they expand, and fetch."""
    reader = expat.ParserCreate()

    def refuse_entity(name: str, *_: object) -> None:
        raise _Refused(
            "declares an entity; write it out, only the five of XML are read", reader.CurrentLineNumber, name
        )

    def refuse_external(name: str, system_id: str | None, public_id: str | None, has_internal: int) -> None:
        if system_id or public_id:
            raise _Refused("names a document type elsewhere; nothing is fetched", reader.CurrentLineNumber, name)

    reader.EntityDeclHandler = refuse_entity
    reader.StartDoctypeDeclHandler = refuse_external
    try:
        reader.Parse(data, True)
    except expat.ExpatError as error:
        raise _Refused(f"bad XML: {expat.errors.messages[error.code]}", error.lineno) from error
