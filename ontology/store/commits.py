"""What the history says of commits: who made them, when, why, and which of the data they touched."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final

from ontology.rdf import namespaces as ns
from ontology.store.questions import StoreQuestions

__all__ = ["Commit", "read_commits"]

_PARTS: Final = tuple(graph.removeprefix(ns.GRAPH) for graph in ns.DATA_GRAPHS)


@dataclass(frozen=True, slots=True)
class Commit:
    """One change of the store: its revision, who made it, when (UTC), and why.

    `parts` are the named graphs it changed ("framework", "offers", "teams", "people"); () for a change in bulk, whose
    quads are not kept one by one.
    """

    revision: int
    who: str
    when: dt.datetime
    why: str
    parts: tuple[str, ...]


def read_commits(store: StoreQuestions, *, after: int = 0, up_to: int, most: int = 20) -> list[Commit]:
    """Return the latest commits with a revision above `after`, up to `up_to`, the newest first. O(most) queries."""
    first = max(after, up_to - most) + 1
    nodes = " ".join(f"<{ns.HISTORY}{revision}>" for revision in range(first, up_to + 1))
    if not nodes:
        return []
    rows = store.select(
        f"SELECT ?revision ?who ?when ?why WHERE {{ VALUES ?commit {{ {nodes} }} GRAPH <{ns.GRAPH_HISTORY}> {{ "
        f"?commit <{ns.NW}revision> ?revision ; <{ns.NW}author> ?who ; <{ns.PROV}endedAtTime> ?when ; "
        f"<{ns.NW}why> ?why }} }} ORDER BY DESC(?revision)"
    )
    return [
        Commit(int(revision), who, dt.datetime.fromisoformat(when), why, _read_parts(store, int(revision)))
        for revision, who, when, why in rows
    ]


def _read_parts(store: StoreQuestions, revision: int) -> tuple[str, ...]:
    return tuple(part for part in _PARTS if _is_touched(store, revision, part))


def _is_touched(store: StoreQuestions, revision: int, part: str) -> bool:
    base = ns.PERSONAL_HISTORY if ns.GRAPH + part == ns.GRAPH_PEOPLE else ns.HISTORY
    names = (f"{base}{revision}/{part}/{kind}" for kind in ("added", "removed"))
    return any(not store.is_empty(name) for name in names)
