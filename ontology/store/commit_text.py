"""The text of a commit: quads grouped by graph, the patch it leaves, its entry in the history."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.store.bulk_history import PatchFile

STORE_NODE: Final = ns.iri_term(ns.ID + "store/this")
STORE_ID: Final = ns.iri_term(ns.NW + "storeId")
REVISION: Final = ns.iri_term(ns.NW + "revision")
COMMIT_ID: Final = ns.iri_term(ns.NW + "commitId")
PATCH_FILE: Final = ns.iri_term(ns.NW + "patchFile")
_PATCH_GRAPH: Final = re.compile(
    f"(?:{re.escape(ns.HISTORY)}|{re.escape(ns.PERSONAL_HISTORY)})([0-9]+)/([a-z]+)/(added|removed)"
)
SHA256: Final = ns.iri_term(ns.NW + "sha256")
_WHY: Final = ns.iri_term(ns.NW + "why")
ERASED_PERSON: Final = ns.iri_term(ns.NW + "erasedPerson")
ERASED_COUNT: Final = ns.iri_term(ns.NW + "erasedCount")
REMOVED_RECORDS: Final = ns.iri_term(ns.NW + "removedRecords")
ERASED_KEY: Final = ns.iri_term(ns.NW + "erasedKey")


def get_commit_node(revision: int) -> str:
    """Return the node of the history entry of a commit (N-Triples text)."""
    return ns.iri_term(f"{ns.HISTORY}{revision}")


@dataclass(frozen=True, slots=True)
class Beside:
    """What is written in the same step as a commit, or by itself, and is no part of what the store says of the world.

    It stands in graphs of its own and in no patch: drafts and releases.
    """

    added: Sequence[Quad] = ()
    removed: Sequence[Quad] = ()

    def __len__(self) -> int:
        return len(self.added) + len(self.removed)


@dataclass(frozen=True, slots=True)
class CommitEntry:
    """What the history keeps of a commit: its revision, an id of its own, who made it and why.

    `about_people` is what of the reason belongs to people; it stands with the personal patches.
    """

    revision: int
    commit_id: str
    who: str
    why: str
    about_people: str = ""

    def describe(
        self, n_added: int, n_removed: int, when: datetime, *, is_bulk: bool, files: Iterable[PatchFile] = ()
    ) -> list[Quad]:
        """Return the entry as one prov:Activity, with when and how much, and the files of a bulk commit."""
        facts = [
            (ns.RDF_TYPE, ns.iri_term(ns.PROV + "Activity")),
            (REVISION, ns.typed_term(str(self.revision), "integer")),
            (COMMIT_ID, ns.text_term(self.commit_id)),
            (ns.iri_term(ns.NW + "author"), ns.text_term(self.who)),
            (_WHY, ns.text_term(self.why)),
            (ns.iri_term(ns.PROV + "endedAtTime"), ns.typed_term(when.strftime("%Y-%m-%dT%H:%M:%SZ"), "dateTime")),
            (ns.iri_term(ns.NW + "addedCount"), ns.typed_term(str(n_added), "integer")),
            (ns.iri_term(ns.NW + "removedCount"), ns.typed_term(str(n_removed), "integer")),
            (ns.iri_term(ns.NW + "isBulk"), ns.typed_term("true" if is_bulk else "false", "boolean")),
        ]
        node = get_commit_node(self.revision)
        quads = [(ns.GRAPH_HISTORY, node, p, o) for p, o in facts]
        for file in files:
            name = ns.iri_term(ns.HISTORY + file.name)
            quads.append((ns.GRAPH_HISTORY, node, PATCH_FILE, name))
            quads.append((ns.GRAPH_HISTORY, name, SHA256, ns.text_term(file.sha256)))
        if self.about_people:
            about = ns.text_term(self.about_people)
            quads.append((f"{ns.PERSONAL_HISTORY}{self.revision}/why", node, _WHY, about))
        return quads


def group_by_graph(quads: Iterable[Quad]) -> str:
    """Return quads as the GRAPH blocks of a SPARQL update."""
    by_graph: defaultdict[str, list[str]] = defaultdict(list)
    for graph, s, p, o in quads:
        by_graph[graph].append(f"{s} {p} {o} .")
    return "\n".join(f"GRAPH <{graph}> {{ {' '.join(lines)} }}" for graph, lines in by_graph.items())


def get_patch_graph(revision: int, graph: str, *, is_added: bool) -> str:
    """Return the graph that holds what a commit added to or removed from another; personal data stand apart."""
    base = ns.PERSONAL_HISTORY if graph == ns.GRAPH_PEOPLE else ns.HISTORY
    return f"{base}{revision}/{graph.removeprefix(ns.GRAPH)}/{'added' if is_added else 'removed'}"


def parse_patch_graph(name: str) -> tuple[int, str, bool] | None:
    """Return revision, graph and whether it was added, of the name of a patch graph; None where it is none.

    Examples
    --------
    >>> parse_patch_graph(get_patch_graph(7, ns.GRAPH_PEOPLE, is_added=False)) == (7, ns.GRAPH_PEOPLE, False)
    True
    """
    found = _PATCH_GRAPH.fullmatch(name)
    return (int(found[1]), ns.GRAPH + found[2], found[3] == "added") if found else None


def make_patch(plus: Iterable[Quad], minus: Iterable[Quad], revision: int) -> Iterator[Quad]:
    """Yield the quads of a commit's patch graphs; those of personal data stand apart, so that they can be erased."""
    for quads, is_added in ((plus, True), (minus, False)):
        for graph, s, p, o in quads:
            yield (get_patch_graph(revision, graph, is_added=is_added), s, p, o)


def make_first_update(store_id: str) -> str:
    """Return the text that makes an empty engine a store: its id and revision 0."""
    first = f"{STORE_NODE} {STORE_ID} {ns.text_term(store_id)} ; {REVISION} 0"
    return f"INSERT DATA {{ GRAPH <{ns.GRAPH_STORE}> {{ {first} }} }}"


def get_revision_quad(revision: int) -> Quad:
    """Return the quad that says the store's revision."""
    return (ns.GRAPH_STORE, STORE_NODE, REVISION, ns.typed_term(str(revision), "integer"))


def make_update(removed: Iterable[Quad], inserted: Iterable[Quad], revision: int) -> str:
    """Return the one operation that changes quads and revision together, or nothing when the revision is another."""
    before, after = map(get_revision_quad, (revision, revision + 1))
    return make_guarded_update([*removed, before], [*inserted, after], [before])


def make_guarded_update(removed: Iterable[Quad], inserted: Iterable[Quad], guard: Iterable[Quad]) -> str:
    """Return the one operation that changes quads, or nothing where one of `guard` is not there."""
    return (
        f"DELETE {{ {group_by_graph(removed)} }}\nINSERT {{ {group_by_graph(inserted)} }}\n"
        f"WHERE {{ {group_by_graph(guard)} }}"
    )


def write_lines(quads: Iterable[Quad]) -> bytes:
    """Return quads as N-Quads text."""
    return "".join([f"{s} {p} {o} <{g}> .\n" for g, s, p, o in quads]).encode()
