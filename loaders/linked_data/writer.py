"""Linked data out: sorted quads as Turtle, N-Triples, N-Quads, TriG, JSON-LD or RDF/XML, by suffix.

The same quads give the same bytes. Written by hand from N-Triples text, since a term of N-Triples is a term of Turtle,
TriG and N-Quads too.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from itertools import groupby
from pathlib import Path
from typing import Final

from loaders.linked_data.forms import Shortener, iterate_json_ld, iterate_rdf_xml
from loaders.linked_data.parser import FORMATS
from loaders.tables.targets import write_beside
from ontology.errors import FileFormatError
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.rdf.vocabulary_terms import get_standard_types


def export_linked_data(quads: Iterable[Quad], path: Path, *, with_standard_types: bool = True) -> int:
    """Write quads to a file and return how many statements it holds.

    Parameters
    ----------
    quads : iterable of (graph IRI, subject, predicate, object) with terms as N-Triples text
    path : Path
        The suffix tells the format. N-Quads, TriG and JSON-LD keep the named graphs; in the others they are put
        together.
    with_standard_types : bool
        Whether records of ours are also typed as what the vocabulary says they are (skos:Concept, org:Role, ...),
        so that tools that know only the standards understand them. The loader reads them back as nothing new.

    Raises
    ------
    FileFormatError
        The suffix is unknown, or a term cannot be written in RDF/XML.
    InputError
        Nothing can be written there.

    Notes
    -----
    O(n log n) for n quads, written beside the target and moved into place: a reader never sees half a file.
    """
    kind = FORMATS.get(path.suffix.lower())
    if kind is None:
        raise FileFormatError(
            f"{path.name} is not linked data by its ending; known are {' '.join(sorted(FORMATS))}.",
            path=str(path),
        )
    rows = set(quads)
    if with_standard_types:
        rows |= build_standard_types(rows)
    if kind not in ("nquads", "trig", "json-ld"):
        rows = {("", s, p, o) for _, s, p, o in rows}
    _write(path, iterate_linked_data(rows, kind))
    return len(rows)


def iterate_linked_data(quads: Collection[Quad], kind: str) -> Iterator[str]:
    """Return the parts of a text that holds quads, each once, in a format of `FORMATS`: turtle, nt, json-ld, ..."""
    ordered = sorted(quads, key=lambda quad: (quad[0], quad[1], quad[2] != ns.RDF_TYPE, quad[2], quad[3]))
    return iter(_WRITERS[kind](ordered))


def build_standard_types(quads: Iterable[Quad]) -> set[Quad]:
    """Return what the vocabulary says that records of ours are in standard terms."""
    types = get_standard_types()
    return {(graph, s, ns.RDF_TYPE, kind) for graph, s, p, o in quads if p == ns.RDF_TYPE for kind in types.get(o, ())}


def _write(path: Path, chunks: Iterable[str]) -> None:
    with write_beside(path) as temporary, temporary.open("w", encoding="utf-8", newline="\n") as handle:
        handle.writelines(chunks)


def _iterate_lines(quads: Iterable[Quad]) -> Iterator[str]:
    for graph, s, p, o in quads:
        yield f"{s} {p} {o} <{graph}> .\n" if graph else f"{s} {p} {o} .\n"


def _iterate_turtle(quads: list[Quad]) -> Iterator[str]:
    short = Shortener(quads)
    yield from short.iterate_turtle_prefixes()
    yield from _iterate_subjects(quads, short, "")


def _iterate_trig(quads: list[Quad]) -> Iterator[str]:
    short = Shortener(quads)
    yield from short.iterate_turtle_prefixes()
    for graph, group in groupby(quads, key=lambda quad: quad[0]):
        if graph:
            yield f"\n<{graph}> {{"
            yield from _iterate_subjects(group, short, "    ")
            yield "}\n"
        else:
            yield from _iterate_subjects(group, short, "")


def _iterate_subjects(quads: Iterable[Quad], short: Shortener, indent: str) -> Iterator[str]:
    for subject, group in groupby(quads, key=lambda quad: quad[1]):
        parts = []
        for predicate, same in groupby(group, key=lambda quad: quad[2]):
            verb = "a" if predicate == ns.RDF_TYPE else short.shorten(predicate)
            parts.append(f"{verb} {' , '.join(short.shorten(quad[3]) for quad in same)}")
        joined = f" ;\n{indent}    ".join(parts)
        yield f"\n{indent}{short.shorten(subject)} {joined} .\n"


_WRITERS: Final[dict[str, Callable[[list[Quad]], Iterator[str]]]] = {
    "turtle": _iterate_turtle,
    "nt": _iterate_lines,
    "nquads": _iterate_lines,
    "trig": _iterate_trig,
    "json-ld": iterate_json_ld,
    "xml": iterate_rdf_xml,
}
