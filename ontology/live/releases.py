"""Releases: names for revisions, as they stand in the store's own graph."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from ontology.rdf import namespaces as ns
from ontology.store.questions import StoreQuestions

__all__ = ["Release", "read_releases"]


@dataclass(frozen=True, slots=True)
class Release:
    """A name for a revision, with its day, who gave it and why."""

    version: str
    revision: int
    issued: date
    author: str
    why: str


def read_releases(store: StoreQuestions) -> list[Release]:
    """Return the releases of a store, by revision and day. O(n log n)."""
    rows = store.select(
        f"SELECT ?version ?revision ?issued ?author ?why WHERE {{ GRAPH <{ns.GRAPH_STORE}> {{ ?r {ns.RDF_TYPE} "
        f"<{ns.NW}Release> ; <{ns.NW}version> ?version ; <{ns.NW}revision> ?revision ; <{ns.DCTERMS}issued> ?issued . "
        f"OPTIONAL {{ ?r <{ns.NW}author> ?author }} OPTIONAL {{ ?r <{ns.NW}why> ?why }} }} }}"
    )
    releases = [
        Release(version, int(revision), date.fromisoformat(issued[:10]), author, why)
        for version, revision, issued, author, why in rows
    ]
    return sorted(releases, key=lambda release: (release.revision, release.issued, release.version))
