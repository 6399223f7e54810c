"""What the store keeps of its commits: who, when, why and how much of each, and its patch from graphs or files."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final, Protocol

from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.store.bulk_history import PatchFile, PatchFiles
from ontology.store.commit_text import PATCH_FILE, SHA256, get_patch_graph
from ontology.store.questions import StoreQuestions

#: Graphs that a commit can change.
CHANGED_GRAPHS: Final = (*ns.DATA_GRAPHS, ns.GRAPH_VOCABULARY, ns.GRAPH_STORE)
_FACTS: Final = ("revision", "author", "why", "addedCount", "removedCount", "isBulk")
#: Commits asked for in one query.
_AT_ONCE: Final = 2_000


class KeptHistory(Protocol):
    """What is asked of a store."""

    patches: PatchFiles

    def select(self, query: str) -> list[tuple[str, ...]]: ...

    def select_terms(self, query: str) -> Iterator[tuple[str, ...]]: ...


@dataclass(frozen=True, slots=True)
class Commit:
    """One commit as the history tells it; `files` of a bulk commit only."""

    revision: int
    when: datetime
    who: str
    why: str
    n_added: int
    n_removed: int
    is_bulk: bool
    files: tuple[PatchFile, ...] = ()

    @property
    def has_patch(self) -> bool:
        """Whether what it changed is kept: a bulk commit of an earlier format only counted it."""
        return not self.is_bulk or bool(self.files)


@dataclass(frozen=True, slots=True)
class Patch:
    """The net quads that a commit added and removed, in their own graphs."""

    added: list[Quad] = field(default_factory=list)
    removed: list[Quad] = field(default_factory=list)


def read_commits(store: StoreQuestions, after: int = 0) -> list[Commit]:
    """Return the commits above a revision, oldest first. O(n log n) for n commits."""
    facts = " ; ".join(f"<{ns.NW}{name}> ?{name}" for name in _FACTS)
    rows = store.select(
        f"SELECT ?when {' '.join('?' + name for name in _FACTS)} WHERE {{ GRAPH <{ns.GRAPH_HISTORY}> {{ "
        f"?c {facts} ; <{ns.PROV}endedAtTime> ?when . FILTER(?revision > {after}) }} }}"
    )
    files = _read_files(store, after)
    commits = []
    for when, revision, author, why, n_added, n_removed, is_bulk in rows:
        number, moment = int(revision), datetime.fromisoformat(when)
        is_large = is_bulk in ("true", "1")
        found = tuple(files[number]) if is_large else ()
        commits.append(Commit(number, moment, author, why, int(n_added), int(n_removed), is_large, found))
    return sorted(commits, key=lambda commit: commit.revision)


def _read_files(store: StoreQuestions, after: int) -> dict[int, list[PatchFile]]:
    found: defaultdict[int, list[PatchFile]] = defaultdict(list)
    rows = store.select(
        f"SELECT ?revision ?file ?sum WHERE {{ GRAPH <{ns.GRAPH_HISTORY}> {{ ?c <{ns.NW}revision> ?revision ; "
        f"{PATCH_FILE} ?file . ?file {SHA256} ?sum . FILTER(?revision > {after}) }} }}"
    )
    for revision, file, checksum in sorted(rows):
        found[int(revision)].append(PatchFile(file.removeprefix(ns.HISTORY), checksum))
    return found


def read_patches(
    store: KeptHistory, commits: Sequence[Commit], graphs: Iterable[str] = CHANGED_GRAPHS
) -> Iterator[tuple[Commit, Patch]]:
    """Yield commits, in the order given, with what each changed in these graphs.

    Raises
    ------
    FileFormatError
        A file of a bulk commit is missing or damaged.

    Notes
    -----
    The patch graphs of many commits are asked for by name in one query. A bulk commit of an earlier format, which has
    no patch (`has_patch`), has an empty one here.
    """
    wanted = frozenset(graphs)
    for start in range(0, len(commits), _AT_ONCE):
        some = commits[start : start + _AT_ONCE]
        of_graphs = _read_patch_graphs(store, [c.revision for c in some if not c.is_bulk], wanted)
        for commit in some:
            if commit.is_bulk:
                yield commit, _read_patch_files(store, commit, wanted)
            else:
                yield commit, of_graphs.get(commit.revision) or Patch()


def _read_patch_graphs(store: KeptHistory, revisions: Iterable[int], graphs: frozenset[str]) -> dict[int, Patch]:
    names = {
        get_patch_graph(revision, graph, is_added=is_added): (revision, graph, is_added)
        for revision in revisions
        for graph in sorted(graphs)
        for is_added in (True, False)
    }
    found: defaultdict[int, Patch] = defaultdict(Patch)
    if names:
        values = " ".join(f"<{name}>" for name in names)
        query = f"SELECT ?g ?s ?p ?o WHERE {{ VALUES ?g {{ {values} }} GRAPH ?g {{ ?s ?p ?o }} }}"
        for name, s, p, o in store.select_terms(query):
            revision, graph, is_added = names[name[1:-1]]
            patch = found[revision]
            (patch.added if is_added else patch.removed).append((graph, s, p, o))
    return found


def _read_patch_files(store: KeptHistory, commit: Commit, graphs: frozenset[str]) -> Patch:
    patch = Patch()
    for file in commit.files:
        quads = (quad for quad in store.patches.iterate_quads(file) if quad[0] in graphs)
        (patch.added if file.is_added else patch.removed).extend(quads)
    return patch


def require_files(store: StoreQuestions, files: PatchFiles) -> None:
    """Raise FileFormatError where a file that the history names is missing or not as it was written."""
    for commit in read_commits(store):
        for file in commit.files:
            files.read(file)
