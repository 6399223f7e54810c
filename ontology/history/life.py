"""The life of a record: every row about it, and of a competency or role about whatever ever named it, newest first.

The nodes are found by their quads in the patch graphs and files; from the present each is led back, patch by patch.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from ontology.errors import UnknownIdError
from ontology.history.rows import build_row
from ontology.live.live_graph import LiveGraph
from ontology.live.patch import Facts, Touched, find_touched, read_facts
from ontology.mapping.writer import build_table_quads
from ontology.model.changes import Row
from ontology.model.columns import Key
from ontology.model.keeping_tables import TRANSLATIONS
from ontology.model.references import NAMING_COLUMNS
from ontology.model.several import join_values
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.model.translated import find_node
from ontology.rdf import namespaces as ns
from ontology.snapshot.snapshot import Snapshot
from ontology.store.commit_text import parse_patch_graph
from ontology.store.history import Commit, Patch

__all__ = ["Life", "find_last_records", "find_life", "find_rows_between"]

#: Of which tables whatever names a record is told with it; of people their own rows.
_NAMED: Final = ("competencies", "roles", "people")
_AT_ONCE: Final = 500


@dataclass(frozen=True, slots=True)
class Life:
    """The rows of a life with their commits, newest first, and the record as it last stood.

    `first_revision` is above 0 where what earlier commits changed was not kept.
    """

    rows: tuple[tuple[Commit, Row], ...]
    exists: bool
    last: Any
    first_revision: int


def find_life(graph: LiveGraph, state: Snapshot, table_name: str, key: Key) -> Life:
    """Return the life of a record up to a state.

    Later rows are left out; the key of a scale is (its id,).

    Raises
    ------
    UnknownIdError
        There is no such record, and there never was as far as is known.

    Notes
    -----
    Two queries over all graphs and twice each file of a bulk commit.
    """
    present = graph.get_snapshot()
    commits = graph.past.list_commits(present.revision)
    nodes = _find_nodes(graph, commits, table_name, key)
    rows = []
    for commit, row in _lead_back(graph, present, commits, nodes):
        if commit.revision <= state.revision:
            rows.append((commit, row))
    if table_name == TRANSLATIONS.name:
        return _tell_text(rows, state.get_all(table_name).get(key), key, commits)
    is_own = [row for _, row in rows if row.table == table_name and row.key[: len(key)] == key]
    records = [record for one, record in state.get_all(table_name).items() if one[: len(key)] == key]
    if not is_own and not records:
        raise UnknownIdError(table_name, "~".join(map(str, key)))
    last = records[0] if records else next(row.before or row.after for row in is_own)
    return Life(tuple(rows), bool(records), last, _find_first(commits))


def _find_first(commits: Sequence[Commit]) -> int:
    """Return the last revision whose patch was not kept: the first that is known."""
    return max((commit.revision for commit in commits if not commit.has_patch), default=0)


def _tell_text(rows: Iterable[tuple[Commit, Row]], record: Any, key: Key, commits: Sequence[Commit]) -> Life:
    """Return the life of a text in another language, from the rows of the record that it is of."""
    table, record_id, column, language = key
    own = [
        (commit, replace(row, columns=said))
        for commit, row in rows
        if (said := tuple(one for one in row.columns if one.column == f"{column}@{language}"))
    ]
    if record is None and not own:
        raise UnknownIdError(TRANSLATIONS.name, "~".join(key))
    last = record
    if last is None:
        text = own[0][1].columns[0].before or own[0][1].columns[0].after
        joined = join_values(text) if isinstance(text, tuple) else text
        last = TRANSLATIONS.build(table=table, id=record_id, column=column, language=language, joined=joined)
    return Life(tuple(own), record is not None, last, _find_first(commits))


def find_last_records(graph: LiveGraph, wanted: Iterable[tuple[str, str]]) -> list[tuple[str, Any]]:
    """Return (table, record) of records as they last stood, of (table, id) that are not there any more."""
    iris: dict[tuple[str, str], None] = {}
    for table_name, record_id in wanted:
        table = TABLES[table_name]
        if table.id_field:
            iris[table.graph, ns.iri_term(ns.record_iri(table.segment, record_id))] = None
    if not iris:
        return []
    present = graph.get_snapshot()
    commits = graph.past.list_commits(present.revision)
    found: dict[tuple[str, Key], Any] = {}
    for _, row in _lead_back(graph, present, commits, iris):
        if row.change == "removed":
            found.setdefault((row.table, row.key), row.before)
    return [(name, record) for (name, _), record in found.items()]


def find_rows_between(
    graph: LiveGraph, since: int, until: int, wanted: Iterable[tuple[str, Key]]
) -> list[tuple[Commit, Row]]:
    """Return the rows of some records, (table, key), in the commits after a revision up to another, newest first.

    Two queries for 500 records, and each file of a bulk commit after the first revision.
    """
    nodes: dict[tuple[str, str], None] = {}
    for table_name, key in wanted:
        table = TABLES[table_name]
        place = find_node(key[0], key[1]) if table is TRANSLATIONS else None
        nodes[place or (table.graph, ns.iri_term(ns.record_iri(table.segment, *map(str, key))))] = None
    if not nodes or since >= until:
        return []
    present = graph.get_snapshot()
    commits = graph.past.list_commits(present.revision)
    rows = _lead_back(graph, present, commits, nodes, since)
    return [(commit, row) for commit, row in rows if commit.revision <= until]


def _find_nodes(graph: LiveGraph, commits: Sequence[Commit], table_name: str, key: Key) -> dict[tuple[str, str], None]:
    """Return (graph, subject) of the record and of what named it: now, or in any patch."""
    table = TABLES[table_name]
    nodes: dict[tuple[str, str], None] = {}
    if table is TRANSLATIONS:
        place = find_node(key[0], key[1])
        return {place: None} if place else {}
    is_scale = table_name == "scales" and len(key) == 1
    if not is_scale:
        nodes[table.graph, ns.iri_term(ns.record_iri(table.segment, *map(str, key)))] = None
    if not is_scale and table_name not in _NAMED:
        return nodes
    own = ns.record_iri("scale" if is_scale else table.segment, *map(str, key))
    pairs = dict(_list_naming(table_name, own, str(key[0])))
    values = " ".join(f"({predicate} {term})" for predicate, term in pairs)
    rows = graph.store.select_terms(
        f"SELECT DISTINCT ?g ?s WHERE {{ VALUES (?p ?o) {{ {values} }} GRAPH ?g {{ ?s ?p ?o }} }}"
    )
    for name, subject in rows:
        target = parse_patch_graph(name[1:-1])
        nodes[target[1] if target else name[1:-1], subject] = None
    for commit in commits:
        for file in commit.files:
            texts = [f" {predicate} {term} " for predicate, term in pairs]
            for quad in graph.store.patches.iterate_quads(file, texts):
                nodes[quad[0], quad[1]] = None
    return {node: None for node in nodes if _is_told(table_name, is_scale, node)}


def _list_naming(table_name: str, own: str, record_id: str) -> Iterator[tuple[tuple[str, str], None]]:
    """Yield (predicate, term) by which records name one of a table."""
    for name, table in TABLES.items():
        for column in table.columns:
            if column.refers_to == table_name:
                yield (ns.iri_term(column.iri), ns.iri_term(own)), None
        naming, tables = NAMING_COLUMNS.get(name, ("", ()))
        if table_name in tables:
            yield (ns.iri_term(table.get_column(naming).iri), ns.text_term(record_id)), None


def _is_told(table_name: str, is_scale: bool, node: tuple[str, str]) -> bool:
    """Whether rows of a node belong to the life: of a scale its levels, of a person personal rows, else the others."""
    for touched in find_touched(Snapshot({}), [node]):
        name = touched.table.name
        if is_scale:
            return name == "scales"
        return (name in PERSONAL_TABLES) == (table_name == "people")
    return False


def _lead_back(
    graph: LiveGraph,
    present: Snapshot,
    commits: Sequence[Commit],
    nodes: Mapping[tuple[str, str], None],
    since: int = 0,
) -> Iterator[tuple[Commit, Row]]:
    """Yield the rows of some nodes in the commits after a revision, newest first, then by tables and keys."""
    patches = _collect_patches(graph, commits, nodes, present.revision, since)
    states: list[tuple[Touched, dict[str, Facts]]] = []
    for touched in find_touched(present, nodes):
        facts: dict[str, Facts] = {iri: {} for iri in touched.keys}
        for _, subject, predicate, term in build_table_quads(touched.table, list(touched.records.values())):
            facts[subject[1:-1]][predicate, term] = None
        states.append((touched, facts))
    for revision in sorted(patches, reverse=True):
        commit, patch = commits[revision - 1], patches[revision]
        for touched, facts in states:
            yield from ((commit, row) for row in _undo(touched, facts, patch))


def _undo(touched: Touched, facts: dict[str, Facts], patch: Patch) -> list[Row]:
    """Take a patch back out of the facts of a table's nodes and return the rows it is told by."""
    said: defaultdict[str, list[tuple[str, str, bool]]] = defaultdict(list)
    for quads, is_new in ((patch.removed, False), (patch.added, True)):
        for graph, subject, predicate, term in quads:
            iri = subject[1:-1]
            if graph == touched.table.graph and iri in facts:
                said[iri].append((predicate, term, is_new))
    after = read_facts(touched.table, {iri: facts[iri] for iri in said})
    for iri, changes in said.items():
        for predicate, term, is_new in changes:
            if is_new:
                facts[iri].pop((predicate, term), None)
            else:
                facts[iri][predicate, term] = None
    before = read_facts(touched.table, {iri: facts[iri] for iri in said})
    then = Touched(touched.table, touched.keys, before)
    rows = (build_row(then, iri, after.get(iri), said[iri]) for iri in said)
    return sorted((row for row in rows if row is not None), key=lambda row: row.key)


def _collect_patches(
    graph: LiveGraph, commits: Sequence[Commit], nodes: Mapping[tuple[str, str], None], revision: int, since: int
) -> dict[int, Patch]:
    """Return revision -> what of its patch is about some nodes, back to the first whose patch was not kept."""
    first = max((since, *(commit.revision for commit in commits if not commit.has_patch)))
    found: defaultdict[int, Patch] = defaultdict(Patch)
    subjects = list(dict.fromkeys(subject for _, subject in nodes))
    is_bulk = {commit.revision for commit in commits if commit.is_bulk}
    for start in range(0, len(subjects), _AT_ONCE):
        values = " ".join(subjects[start : start + _AT_ONCE])
        query = f"SELECT ?g ?s ?p ?o WHERE {{ VALUES ?s {{ {values} }} GRAPH ?g {{ ?s ?p ?o }} }}"
        for name, s, p, o in graph.store.select_terms(query):
            target = parse_patch_graph(name[1:-1])
            if target is None or not first < target[0] <= revision or target[0] in is_bulk:
                continue
            number, data_graph, is_added = target
            patch = found[number]
            (patch.added if is_added else patch.removed).append((data_graph, s, p, o))
    wanted = set(subjects)
    for commit in commits:
        for file in commit.files if first < commit.revision else ():
            for quad in graph.store.patches.iterate_about(file, wanted):
                patch = found[commit.revision]
                (patch.added if file.is_added else patch.removed).append(quad)
    return {number: patch for number, patch in found.items() if patch.added or patch.removed}
