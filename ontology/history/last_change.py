"""The last commit that changed a record: one look-up, from an index of what every commit touched, read once."""

from __future__ import annotations

import re
import threading
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator
from typing import Final

from ontology.live.live_graph import LiveGraph
from ontology.model.columns import Key
from ontology.model.keeping_tables import TRANSLATIONS
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.model.translated import find_node
from ontology.rdf import namespaces as ns
from ontology.store.bulk_history import iterate_members
from ontology.store.history import Commit, read_commits, read_patches
from ontology.store.lives import find_personal_lives

__all__ = ["find_last_change"]

#: Graphs whose records are indexed; what was changed about people is looked for when it is asked.
_GRAPHS: Final = tuple(graph for graph in ns.DATA_GRAPHS if graph != ns.GRAPH_PEOPLE)
#: What is part of another record: its segment -> that of the record, whose key its own begins with.
_PART_OF: Final = {"requirement": "role", "outcome": "course", "entry-condition": "course", "level": "scale"}
_SUBJECT: Final = re.compile(rb"^<(" + re.escape(ns.ID).encode() + rb"[^>]+)>", re.MULTILINE)
_PEOPLE: Final = f".{ns.GRAPH_PEOPLE.removeprefix(ns.GRAPH)}."


class _Touched:
    """Which commits touched which records; safe for many threads."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        #: all that were looked at, oldest first
        self.commits: list[Commit] = []
        #: IRI -> revisions of single changes, rising
        self.single: defaultdict[str, list[int]] = defaultdict(list)
        self.bulk: list[Commit] = []
        #: the last revision whose patch was not kept
        self.not_kept = 0
        #: revision of a bulk commit -> IRIs
        self.of_bulk: dict[int, frozenset[str]] = {}


def find_last_change(graph: LiveGraph, revision: int, table_name: str, key: Key) -> Commit | None:
    """Return the last commit up to a revision that changed a record, or what is part of it; None: it was not kept.

    The record is there at this revision; the key of a scale is (its id,).

    Notes
    -----
    Parts are the requirements of a role, the outcomes and entry conditions of a course, the levels of a scale. Every
    patch is read once in the life of the graph; then O(log k) for k changes of the record. The subjects of a bulk
    commit are read only where an earlier one could have made the record too. Of a record about people all its patches
    are looked for anew.
    """
    table = TABLES[table_name]
    iri = ns.record_iri("scale" if table_name == "scales" and len(key) == 1 else table.segment, *map(str, key))
    if table is TRANSLATIONS and (place := find_node(key[0], key[1])):
        iri = place[1][1:-1]  # it stands on the node of what it speaks of
    if table_name in PERSONAL_TABLES:
        subject = ns.iri_term(iri)
        commits = find_personal_lives(graph.store, (subject,)).get(subject, ())
        return next(iter(graph.past.name_authors(one for one in commits if one.revision <= revision)), None)
    touched: _Touched = graph.past.keep("records that commits touched", _Touched)
    with touched.lock:
        _read_on(graph, touched, graph.get_snapshot().revision)
        number = _find_revision(graph, touched, revision, iri)
    if number <= touched.not_kept:
        return None
    return graph.past.name_authors([touched.commits[number - 1]])[0]


def _read_on(graph: LiveGraph, touched: _Touched, present: int) -> None:
    known = len(touched.commits)
    if known >= present:
        return
    new = read_commits(graph.store, known)
    for commit, patch in read_patches(graph.store, [one for one in new if not one.is_bulk], _GRAPHS):
        subjects = {subject[1:-1] for _, subject, _, _ in (*patch.added, *patch.removed)}
        for iri in {one for subject in subjects for one in _list_changed(subject)}:
            touched.single[iri].append(commit.revision)
    touched.bulk += [one for one in new if one.is_bulk]
    touched.not_kept = max((one.revision for one in new if not one.has_patch), default=touched.not_kept)
    touched.commits += new


def _find_revision(graph: LiveGraph, touched: _Touched, revision: int, iri: str) -> int:
    """Return the last revision that touched a record; 0 where none is known."""
    single = touched.single.get(iri, [])
    at = bisect_right(single, revision)
    number = single[at - 1] if at else 0
    bulk = [one for one in touched.bulk if number < one.revision <= revision]
    for commit in reversed(bulk):
        # what no single change made came with the first commit in bulk, if with no later one
        if (commit is bulk[0] and not number) or iri in _get_of_bulk(graph, touched, commit):
            return commit.revision
    return number


def _get_of_bulk(graph: LiveGraph, touched: _Touched, commit: Commit) -> frozenset[str]:
    found = touched.of_bulk.get(commit.revision)
    if found is None:
        subjects = {
            subject
            for file in commit.files
            if _PEOPLE not in file.name
            for member in iterate_members(graph.store.patches.read(file))
            for subject in _SUBJECT.findall(member)
        }
        found = frozenset(one for subject in subjects for one in _list_changed(subject.decode()))
        touched.of_bulk[commit.revision] = found
    return found


def _list_changed(iri: str) -> Iterator[str]:
    """Yield what changed with a node: itself, and what it is part of."""
    yield iri
    if iri.startswith(ns.ID):
        segment, _, key = iri.removeprefix(ns.ID).partition("/")
        if segment in _PART_OF:
            yield f"{ns.ID}{_PART_OF[segment]}/{key.partition('~')[0]}"
