"""The table of mappings: what a competency of ours is to a concept of another framework.

The relations are the mapping properties of SKOS (W3C Recommendation, 18 August 2009, section 10); different says that
two concepts which look alike are not to be proposed as one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from ontology.model.columns import Column, Table, make_own, make_ref
from ontology.rdf import namespaces as ns

__all__ = ["ACCEPTED", "MAPPINGS", "RELATIONS", "Mapping"]

#: Said from ours: theirs is the broader one, the narrower one.
RELATIONS: Final = ("exact", "close", "broad", "narrow", "related", "different")
ACCEPTED: Final = "accepted"


@dataclass(frozen=True, slots=True)
class Mapping:
    """What a competency is to a concept elsewhere; `framework` is the id of an outside framework, "" unsaid."""

    competency: str
    target: str
    relation: str
    framework: str
    score: float | None
    status: str
    note: str


MAPPINGS: Final = Table(
    "mappings",
    Mapping,
    "mapping",
    ns.NW + "Mapping",
    ns.GRAPH_FRAMEWORK,
    (
        make_ref("competency", "competencies", "The competency of ours."),
        Column("target", "iri", ns.DCTERMS + "references", "The concept elsewhere (IRI)."),
        make_own(
            "relation",
            "choice",
            "Exact, close; broad = theirs is wider; narrow = theirs is narrower; different = not the same.",
            choices=RELATIONS,
        ),
        make_own("framework", "text", "Id of the outside framework it is from.", default=""),
        make_own(
            "score", "number", "How much spoke for it when it was proposed, 0 to 1.", default=None, minimum=0, maximum=1
        ),
        make_own(
            "status", "choice", "Refused = not to be proposed again.", default=ACCEPTED, choices=(ACCEPTED, "refused")
        ),
        make_own("note", "text", "Why.", default="", is_long=True),
    ),
    ("competency", "target"),
)
