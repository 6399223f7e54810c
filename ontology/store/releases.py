"""Releases: names for revisions, as they stand in the store's own graph."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.store.commit_text import get_commit_node
from ontology.store.questions import StoreQuestions

__all__ = ["Release", "read_releases"]

_IS_RELEASE: Final = ns.iri_term(ns.NW + "Release")
_VERSION: Final = ns.iri_term(ns.NW + "version")
_REVISION: Final = ns.iri_term(ns.NW + "revision")
_ISSUED: Final = ns.iri_term(ns.DCTERMS + "issued")
_AUTHOR: Final = ns.iri_term(ns.NW + "author")
_WHY: Final = ns.iri_term(ns.NW + "why")
_FROM: Final = ns.iri_term(ns.NW + "fromDraft")
_MADE_BY: Final = ns.iri_term(ns.PROV + "wasGeneratedBy")


@dataclass(frozen=True, slots=True)
class Release:
    """A name for a revision, with its day, who gave it and why; `from_draft` is the id of the draft it was."""

    version: str
    revision: int
    issued: date
    author: str
    why: str
    from_draft: str = ""

    def describe(self) -> list[Quad]:
        """Return what the store's graph says of it."""
        facts = [
            (ns.RDF_TYPE, _IS_RELEASE),
            (_VERSION, ns.text_term(self.version)),
            (_REVISION, ns.typed_term(str(self.revision), "integer")),
            (_ISSUED, ns.typed_term(self.issued.isoformat(), "date")),
            (_AUTHOR, ns.text_term(self.author)),
            (_WHY, ns.text_term(self.why)),
        ]
        if self.revision:  # nothing made the empty store
            facts.append((_MADE_BY, get_commit_node(self.revision)))
        if self.from_draft:
            facts.append((_FROM, ns.iri_term(ns.record_iri("draft", self.from_draft))))
        node = ns.iri_term(ns.record_iri("release", self.version))
        return [(ns.GRAPH_STORE, node, p, o) for p, o in facts]


def read_releases(store: StoreQuestions) -> list[Release]:
    """Return the releases of a store, by revision and day. O(n log n)."""
    rows = store.select(
        f"SELECT ?version ?revision ?issued ?author ?why ?draft WHERE {{ GRAPH <{ns.GRAPH_STORE}> {{ ?r a "
        f"{_IS_RELEASE} ; {_VERSION} ?version ; {_REVISION} ?revision ; {_ISSUED} ?issued . "
        f"OPTIONAL {{ ?r {_AUTHOR} ?author }} OPTIONAL {{ ?r {_WHY} ?why }} OPTIONAL {{ ?r {_FROM} ?draft }} }} }}"
    )
    releases = [
        Release(version, int(revision), date.fromisoformat(issued[:10]), author, why, ns.id_from_iri(draft))
        for version, revision, issued, author, why, draft in rows
    ]
    return sorted(releases, key=lambda release: (release.revision, release.issued, release.version))
