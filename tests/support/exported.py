"""Companies to be written out by open standards, with records that are retired; and SKOS read back by rdflib."""

from __future__ import annotations

import dataclasses
import random
from datetime import UTC, date, datetime
from typing import Any

from rdflib import OWL, RDF, SKOS, Graph, URIRef
from rdflib.collection import Collection
from rdflib.namespace import DCTERMS
from working_companies import build_working_company

from loaders.open_standards.edition import Edition
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.snapshot.snapshot import Snapshot

__all__ = ["MOMENT", "build_edition", "read_skos"]

MOMENT = datetime(2026, 11, 24, 10, 30, tzinfo=UTC)


def build_edition(seed: int) -> Edition:
    """Return a random state with texts that are hard to write, some of it retired and replaced."""
    records = build_working_company(seed, size=6)
    rng = random.Random(f"exported {seed}")
    competencies = records["competencies"]
    for at in rng.sample(range(len(competencies)), 2):
        competencies[at] = dataclasses.replace(competencies[at], retired_on=date(2026, 1, 1 + at))
    for at, same in enumerate(rng.choices(("", "label"), k=len(competencies))):
        if same:  # a definition that says no more than the label is one all the same
            competencies[at] = dataclasses.replace(competencies[at], definition=competencies[at].label)
    gone = next(one for one in competencies if one.retired_on is not None)
    new = rng.choice([one for one in competencies if one.retired_on is None])
    values = {"table": "competencies", "old": gone.id, "new": new.id, "carry": rng.choice(("same", "declared"))}
    records["replacements"] = [TABLES["replacements"].build(**values, reason=rng.choice(("", '=why "it"')))]
    return Edition(Snapshot(records), MOMENT, version=rng.choice(("", "1.2")))


def read_skos(text: str) -> dict[str, Any]:
    """Return what SKOS says by the names of our columns: competencies, roles, levels by scale."""
    graph = Graph().parse(data=text, format="nt")

    def texts(node: URIRef, predicate: URIRef) -> tuple[str, ...]:
        return tuple(sorted(map(str, graph.objects(node, predicate))))

    def ids(node: URIRef, predicate: URIRef) -> tuple[str, ...]:
        return tuple(sorted(ns.id_from_iri(str(one)) for one in graph.objects(node, predicate)))

    found: dict[str, Any] = {"competency": {}, "role": {}, "scale": {}}
    for node in graph.subjects(RDF.type, SKOS.Concept):
        segment = str(node).removeprefix(ns.ID).partition("/")[0]
        if segment in ("competency", "role"):
            assert isinstance(node, URIRef)
            found[segment][texts(node, DCTERMS.identifier)[0]] = {
                "label": texts(node, SKOS.prefLabel)[0],
                "definition": "".join(texts(node, SKOS.definition)),
                "alt_labels": texts(node, SKOS.altLabel),
                "mapped": sorted(
                    (relation, str(target))
                    for relation in ("close", "broad", "narrow", "related")
                    for target in graph.objects(node, SKOS[f"{relation}Match"])
                ),
                "broader": ids(node, SKOS.broader),
                "narrower": ids(node, SKOS.narrower),
                "exact_match": texts(node, SKOS.exactMatch),
                "scale": "".join(ids(node, DCTERMS.relation)),
                "is_retired": (node, OWL.deprecated, None) in graph,
                "replaced_by": ids(node, DCTERMS.isReplacedBy),
            }
    for node in graph.subjects(RDF.type, SKOS.OrderedCollection):
        levels = list(Collection(graph, graph.value(node, SKOS.memberList)))
        found["scale"][ns.id_from_iri(str(node))] = [
            (str(graph.value(one, SKOS.prefLabel)), str(graph.value(one, SKOS.definition, default="")))
            for one in levels
        ]
    return found
