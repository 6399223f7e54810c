"""The framework as open standards read it: each form made of one state, with what it leaves out."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, time
from typing import Any, Final

from loaders.linked_data.writer import build_standard_types
from loaders.open_standards.case_writer import build_case
from loaders.open_standards.dataset import Distribution, build_dataset
from loaders.open_standards.edition import Edition, Export
from loaders.open_standards.schema_org import build_schema_org
from loaders.open_standards.skos import build_skos
from ontology.live.live_graph import LiveGraph
from ontology.mapping.retired_marks import iterate_marks
from ontology.mapping.statement_counts import EXPORTED_GRAPHS, count_statements
from ontology.rdf.namespaces import Quad
from ontology.snapshot.snapshot import Snapshot

SKOS, SCHEMA_ORG, CASE, DATASET, LINKED_DATA = "skos", "schema-org", "case", "dataset", "linked-data"
#: What `newel export --as` knows of open standards.
STANDARDS: Final = (CASE, SKOS, SCHEMA_ORG, DATASET)
_BUILDERS: Final[Mapping[str, Callable[[Edition], Export]]] = {SKOS: build_skos, SCHEMA_ORG: build_schema_org}


@dataclass(frozen=True, slots=True)
class Exported:
    """One form of the framework: statements, or a package of CASE; and how many of what it cannot hold."""

    quads: tuple[Quad, ...] = ()
    package: Mapping[str, Any] | None = None
    left_out: Mapping[str, int] = field(default_factory=dict)


def build_export(graph: LiveGraph, snapshot: Snapshot, form: str, base: str = "") -> Exported:
    """Return a form of a state of the framework and the offers: nothing of teams and people is in any.

    `form` is one of `STANDARDS`, or "linked-data": every statement of the two graphs, as they are. Of that and of
    "dataset" it is the present state; `base` is where this server is reached, with a slash at its end, and for
    "dataset" only.
    """
    edition = _find_edition(graph, snapshot)
    if form == CASE:
        case = build_case(edition)
        return Exported(package=case.package, left_out=case.left_out)
    if form == LINKED_DATA:
        return Exported(quads=_read_statements(graph, snapshot))
    if form == DATASET:
        counts = snapshot.keep("counts of what is exported", lambda: count_statements(graph.store, snapshot))
        described = build_dataset(edition, counts, list_distributions(base), f"{base}api/sparql")
        return Exported(quads=described.quads)
    export = _BUILDERS[form](edition)
    return Exported(quads=export.quads, left_out=export.left_out)


def list_distributions(base: str) -> tuple[Distribution, ...]:
    """Return where the framework can be had."""
    api = f"{base}api/exports/"
    return (
        Distribution("turtle", "Everything, as Turtle", f"{api}linked-data?format=turtle", "text/turtle", True),
        Distribution(
            "n-triples", "Everything, as N-Triples", f"{api}linked-data?format=n-triples", "application/n-triples", True
        ),
        Distribution("skos", "Concepts in SKOS, as Turtle", f"{api}skos?format=turtle", "text/turtle"),
        Distribution("schema-org", "Terms of schema.org, as JSON-LD", f"{api}schema-org", "application/ld+json"),
        Distribution("case", "A CASE 1.1 package, as JSON", f"{api}case", "application/json"),
    )


def tell_left_out(left_out: Mapping[str, int]) -> str:
    """Return in a sentence what a form cannot hold; "" where it holds all.

    Examples
    --------
    >>> tell_left_out({"requirements": 1284, "courses": 2})
    'Left out, as this form cannot hold it: requirements (1,284), courses (2).'
    """
    counted = ", ".join(f"{what} ({n:,})" for what, n in left_out.items())
    return f"Left out, as this form cannot hold it: {counted}." if counted else ""


def _find_edition(graph: LiveGraph, snapshot: Snapshot) -> Edition:
    commits = graph.past.list_commits(snapshot.revision) if snapshot.revision else ()
    midnight = datetime.combine(graph.store.get_today(), time(), UTC)
    moment = commits[snapshot.revision - 1].when if commits else midnight
    names = [one.version for one in graph.past.list_releases() if one.revision == snapshot.revision]
    return Edition(snapshot, moment, names[-1] if names else "")


def _read_statements(graph: LiveGraph, snapshot: Snapshot) -> tuple[Quad, ...]:
    """Return the statements of the two graphs as they are exported, each once."""
    rows = {quad for name in EXPORTED_GRAPHS for quad in graph.store.read_graph(name)}
    rows |= {quad for quad in iterate_marks(snapshot) if quad[0] in EXPORTED_GRAPHS}
    rows |= build_standard_types(rows)
    return tuple({("", s, p, o) for _, s, p, o in rows})


def dump_package(package: Mapping[str, Any]) -> bytes:
    """Return a package as JSON, to be read by people too."""
    return (json.dumps(package, ensure_ascii=False, indent=1, default=str) + "\n").encode()
