"""Which commits touched some records: from the patch graphs, and from the files of bulk commits."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence

from ontology.rdf import namespaces as ns
from ontology.store.engine import Store
from ontology.store.history import Commit, read_commits

__all__ = ["find_personal_lives"]

_AT_ONCE = 500
#: What stands in the name of a file with quads about people.
_PEOPLE = f".{ns.GRAPH_PEOPLE.removeprefix(ns.GRAPH)}."


def find_personal_lives(store: Store, subjects: Collection[str]) -> dict[str, list[Commit]]:
    """Return record about a person -> the commits that made or changed it, the latest first.

    `subjects` are their nodes (N-Triples text).

    Notes
    -----
    One query for each 500 records, and each file of a bulk commit gone through once: O(bytes) of these.
    """
    commits = {commit.revision: commit for commit in read_commits(store)}
    found: defaultdict[str, set[int]] = defaultdict(set)
    for subject, revision in (*_find_in_graphs(store, list(subjects)), *_find_in_files(store, commits, subjects)):
        found[subject].add(revision)
    return {
        subject: [commits[one] for one in sorted(revisions, reverse=True) if one in commits]
        for subject, revisions in found.items()
    }


def _find_in_graphs(store: Store, subjects: Sequence[str]) -> Iterator[tuple[str, int]]:
    for start in range(0, len(subjects), _AT_ONCE):
        values = " ".join(subjects[start : start + _AT_ONCE])
        rows = store.select(
            f"SELECT DISTINCT ?s ?g WHERE {{ VALUES ?s {{ {values} }} GRAPH ?g {{ ?s ?p ?o }} "
            f'FILTER(STRSTARTS(STR(?g), "{ns.PERSONAL_HISTORY}")) }}'
        )
        for subject, graph in rows:
            yield ns.iri_term(subject), int(graph.removeprefix(ns.PERSONAL_HISTORY).split("/", 1)[0])


def _find_in_files(store: Store, commits: dict[int, Commit], subjects: Collection[str]) -> Iterator[tuple[str, int]]:
    wanted = frozenset(subjects)
    for revision, commit in commits.items():
        for file in commit.files if wanted else ():
            if _PEOPLE in file.name:
                quads = store.patches.iterate_quads(file, tuple(wanted))
                yield from {(subject, revision) for _, subject, _, _ in quads if subject in wanted}
