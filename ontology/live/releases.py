"""Releases: names for revisions, as they stand in the store's own graph."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from ontology.rdf import namespaces as ns
from ontology.store.questions import StoreQuestions

__all__ = ["Release", "read_releases"]


@dataclass(frozen=True, slots=True)
class Release:
    """A name for a revision, with its day, who gave it and why; `from_draft` is the id of the draft it was."""

    version: str
    revision: int
    issued: date
    author: str
    why: str
    from_draft: str = ""


def read_releases(store: StoreQuestions) -> list[Release]:
    """Return the releases of a store, by revision and day. O(n log n)."""
    rows = store.select(
        f"SELECT ?version ?revision ?issued ?author ?why ?draft WHERE {{ GRAPH <{ns.GRAPH_STORE}> {{ ?r {ns.RDF_TYPE} "
        f"<{ns.NW}Release> ; <{ns.NW}version> ?version ; <{ns.NW}revision> ?revision ; <{ns.DCTERMS}issued> ?issued . "
        f"OPTIONAL {{ ?r <{ns.NW}author> ?author }} OPTIONAL {{ ?r <{ns.NW}why> ?why }} "
        f"OPTIONAL {{ ?r <{ns.NW}fromDraft> ?draft }} }} }}"
    )
    releases = [
        Release(
            version, int(revision), date.fromisoformat(issued[:10]), author, why, ns.id_from_iri(draft) if draft else ""
        )
        for version, revision, issued, author, why, draft in rows
    ]
    return sorted(releases, key=lambda release: (release.revision, release.issued, release.version))
