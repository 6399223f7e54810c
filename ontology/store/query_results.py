"""The rows of a query as JSON, XML, CSV or TSV, row by row, so that they can be cut where they are too many.

W3C: SPARQL 1.1 Query Results JSON Format; XML Format (Second Edition); CSV and TSV Formats, all of 21 March 2013.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Final

import pyoxigraph as ox

from ontology.rdf import namespaces as ns

__all__ = ["BOOLEAN_FORMS", "ROW_FORMS", "Row"]

#: One term for each variable, None where it is unbound.
Row = Sequence[ox.NamedNode | ox.BlankNode | ox.Literal | None]
_Writer = Callable[[Sequence[str], Iterable[Row]], Iterator[str]]

_XML_HEAD: Final = f'<?xml version="1.0"?>\n<sparql xmlns="{ns.SPARQL_RESULTS}">'
_PLAIN: Final = ns.XSD + "string"
#: XML 1.0, section 2.2: nothing can stand for these; a carriage return would be read as a line feed.
_NO_XML: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
_XML: Final = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "\r": "&#13;"})


def _write_json(names: Sequence[str], rows: Iterable[Row]) -> Iterator[str]:
    yield f'{{"head":{{"vars":{json.dumps(list(names))}}},"results":{{"bindings":['
    for number, row in enumerate(rows):
        told = {name: _build_term(term) for name, term in zip(names, row, strict=True) if term is not None}
        yield ("," if number else "") + json.dumps(told, ensure_ascii=False, separators=(",", ":"))
    yield "]}}"


def _build_term(term: ox.NamedNode | ox.BlankNode | ox.Literal) -> dict[str, str]:
    if isinstance(term, ox.NamedNode):
        return {"type": "uri", "value": term.value}
    if isinstance(term, ox.BlankNode):
        return {"type": "bnode", "value": term.value}
    more = {} if term.datatype.value == _PLAIN else {"datatype": term.datatype.value}
    more = {"xml:lang": term.language} if term.language else more
    return {"type": "literal", "value": term.value, **more}


def _write_xml(names: Sequence[str], rows: Iterable[Row]) -> Iterator[str]:
    yield _XML_HEAD + "<head>" + "".join(f'<variable name="{name}"/>' for name in names) + "</head><results>"
    for row in rows:
        yield "<result>"
        for name, term in zip(names, row, strict=True):
            if term is not None:
                yield f'<binding name="{name}">{_mark_up(_build_term(term))}</binding>'
        yield "</result>"
    yield "</results></sparql>"


def _mark_up(term: Mapping[str, str]) -> str:
    kind = term["type"]
    more = "".join(f' {name}="{_escape(term[name])}"' for name in ("xml:lang", "datatype") if name in term)
    return f"<{kind}{more}>{_escape(term['value'])}</{kind}>"


def _escape(value: str) -> str:
    return _NO_XML.sub("\ufffd", value).translate(_XML)


def _write_csv(names: Sequence[str], rows: Iterable[Row]) -> Iterator[str]:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(names)
    for row in rows:
        # an IRI stands without brackets, a blank node with its mark
        writer.writerow(
            "" if term is None else str(term) if isinstance(term, ox.BlankNode) else term.value for term in row
        )
        yield text.getvalue()
        text.seek(0)
        text.truncate()
    yield text.getvalue()


def _write_tsv(names: Sequence[str], rows: Iterable[Row]) -> Iterator[str]:
    yield "\t".join(f"?{name}" for name in names) + "\n"
    for row in rows:
        # N-Triples but for the tab, which parts the cells here
        yield "\t".join("" if term is None else str(term).replace("\t", "\\t") for term in row) + "\n"


#: Form -> what writes rows in it.
ROW_FORMS: Final[Mapping[str, _Writer]] = {
    "json": _write_json,
    "xml": _write_xml,
    "csv": _write_csv,
    "tsv": _write_tsv,
}
#: Form -> what stands before and behind a yes or no. CSV and TSV know none: it is the word alone.
BOOLEAN_FORMS: Final[Mapping[str, tuple[str, str]]] = {
    "json": ('{"head":{},"boolean":', "}"),
    "xml": (_XML_HEAD + "<head/><boolean>", "</boolean></sparql>"),
    "csv": ("", "\r\n"),
    "tsv": ("", "\n"),
}
