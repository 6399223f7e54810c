"""Companies to be written out by open standards, with records that are retired; and SKOS read back by rdflib."""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Iterator
from datetime import UTC, date, datetime
from typing import Any

from rdflib import OWL, RDF, SKOS, Graph, Literal, URIRef
from rdflib.collection import Collection
from rdflib.namespace import DCTERMS
from working_companies import build_working_company

from loaders.open_standards.edition import Edition
from ontology.model.keeping_records import Translation
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.snapshot.snapshot import Snapshot

__all__ = ["MOMENT", "build_edition", "read_skos"]

#: Languages that no company has for its main one.
OTHERS = ("nl", "zh-hant")
_TEXTS = {"label": SKOS.prefLabel, "definition": SKOS.definition, "alt_labels": SKOS.altLabel}
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
    records["translations"] = list(_translate(records, rng))
    return Edition(Snapshot(records), MOMENT, version=rng.choice(("", "1.2")))


def _translate(records: dict[str, list[Any]], rng: random.Random) -> Iterator[Translation]:
    """Yield texts of some records in two other languages; a definition that is the label is one all the same."""
    for table, columns in (("competencies", ("label", "definition", "alt_labels")), ("roles", ("label", "definition"))):
        for record in records[table]:
            for language in rng.sample(OTHERS, rng.randint(0, 2)):
                for column in rng.sample(columns, rng.randint(1, len(columns))):
                    text = f"{record.label} {language}" if column != "alt_labels" else f"x {record.id}|y"
                    yield Translation(table, record.id, column, language, text)
    for level in records["scales"]:
        if rng.random() < 0.5:
            yield Translation("scales", f"{level.scale}~{level.rank}", "label", OTHERS[0], f"Trap {level.rank}")


def read_skos(text: str) -> dict[str, Any]:
    """Return what SKOS says by the names of our columns: competencies, roles, levels by scale."""
    graph = Graph().parse(data=text, format="nt")

    def texts(node: URIRef, predicate: URIRef) -> tuple[str, ...]:
        told = graph.objects(node, predicate)
        return tuple(sorted(str(one) for one in told if getattr(one, "language", None) not in OTHERS))

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
                "translations": {
                    (name, one.language, str(one))
                    for name, predicate in _TEXTS.items()
                    for one in graph.objects(node, predicate)
                    if isinstance(one, Literal) and one.language in OTHERS
                },
                "scale": "".join(ids(node, DCTERMS.relation)),
                "is_retired": (node, OWL.deprecated, None) in graph,
                "replaced_by": ids(node, DCTERMS.isReplacedBy),
            }
    for node in graph.subjects(RDF.type, SKOS.OrderedCollection):
        levels = list(Collection(graph, graph.value(node, SKOS.memberList)))
        found["scale"][ns.id_from_iri(str(node))] = [
            (texts(one, SKOS.prefLabel)[0], "".join(texts(one, SKOS.definition))) for one in levels
        ]
    return found
