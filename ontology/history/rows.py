"""From a patch to rows: which records came, went or changed, column by column.

Rows are differences of records, not of quads: a value that only followed another column is told, and marked.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final

from ontology.live.patch import Touched, find_touched, patch_records
from ontology.mapping.writer import get_predicates
from ontology.model.changes import ColumnChange, Row, compare_columns
from ontology.model.columns import Table
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.rdf.terms import get_language, get_plain_value
from ontology.snapshot.snapshot import Snapshot
from ontology.store.erasures import GoneRows

__all__ = ["Counted", "TableCount", "build_row", "build_rows", "count_rows", "list_others"]

#: What a patch says of one node: predicate, term, whether it came.
Said = Sequence[tuple[str, str, bool]]
#: Of scales, the nodes that follow from their levels: not told.
_DERIVED: Final = (f"<{ns.ID}scale/", f"<{ns.ID}scale-cell/")


@dataclass(frozen=True, slots=True)
class TableCount:
    """How many records of a table came, went and changed."""

    table: str
    added: int
    removed: int
    changed: int


@dataclass(frozen=True, slots=True)
class Counted:
    """The counts of a patch by table, in the order of tables, and how many quads no table holds."""

    tables: tuple[TableCount, ...]
    others: int

    def with_gone(self, gone: Iterable[GoneRows]) -> Counted:
        """Return the counts with rows that were in the patch before a person was erased."""
        found = {one.table: one for one in self.tables}
        for rows in gone:
            had = found.get(rows.table, TableCount(rows.table, 0, 0, 0))
            numbers = (had.added + rows.added, had.removed + rows.removed, had.changed + rows.changed)
            found[rows.table] = TableCount(rows.table, *numbers)
        return Counted(tuple(found[name] for name in TABLES if name in found), self.others)


def build_rows(snapshot: Snapshot, added: Sequence[Quad], removed: Sequence[Quad]) -> list[Row]:
    """Return what a patch changes of the records of the state before it, in the order of tables and keys.

    Notes
    -----
    O(q + r log r) for q quads and r touched records.
    """
    said = _collect_said(added, removed)
    rows: list[Row] = []
    for touched, after in patch_records(snapshot, added, removed):
        found = (
            build_row(touched, iri, after.get(iri), said[touched.table.graph, ns.iri_term(iri)]) for iri in touched.keys
        )
        rows += sorted((row for row in found if row is not None), key=lambda row: row.key)
    return rows


def build_row(touched: Touched, iri: str, after: Any, said: Said) -> Row | None:
    """Return the row of one node, of what a patch says of it: (predicate, term, whether it came). None: no row."""
    table, key = touched.table, touched.keys[iri]
    before = touched.records.get(iri)
    predicates = {predicate for predicate, _, _ in said}
    if before is None and after is None:
        return None
    if after is None:
        return Row(table.name, key, "removed", (), before, None)
    own = compare_columns(table, before, after, lambda column: ns.iri_term(column.iri) in predicates)
    columns = (*own, *_compare_languages(table, said))
    if before is None:
        return Row(table.name, key, "added", tuple(column for column in columns if column.stated), None, after)
    return Row(table.name, key, "changed", columns, before, after) if columns else None


def count_rows(added: Sequence[Quad], removed: Sequence[Quad]) -> Counted:
    """Return how many rows of each kind a patch has, without the state before it: its types tell what came and went."""
    said = _collect_said(added, removed)
    counts: defaultdict[str, dict[str, int]] = defaultdict(lambda: {"added": 0, "removed": 0, "changed": 0})
    others = 0
    tables = {
        (touched.table.graph, ns.iri_term(iri)): touched.table
        for touched in find_touched(Snapshot({}), said)
        for iri in touched.keys
    }
    for node, facts in said.items():
        table = tables.get(node)
        if table is None:
            others += 0 if node[1].startswith(_DERIVED) else len(facts)
            continue
        own = get_predicates(table)
        types = {is_new for predicate, term, is_new in facts if _is_type(table, predicate, term)}
        n_held = sum(predicate in own or _is_type(table, predicate, term) for predicate, term, _ in facts)
        others += len(facts) - n_held
        if types:
            counts[table.name]["added" if True in types else "removed"] += 1
        elif n_held:
            counts[table.name]["changed"] += 1
    return Counted(tuple(TableCount(name, **counts[name]) for name in TABLES if name in counts), others)


def list_others(added: Sequence[Quad], removed: Sequence[Quad]) -> tuple[list[Quad], list[Quad]]:
    """Return the quads that no table holds, those that came and those that went."""
    tables = {
        (touched.table.graph, ns.iri_term(iri)): touched.table
        for touched in find_touched(Snapshot({}), _collect_said(added, removed))
        for iri in touched.keys
    }

    def is_other(quad: Quad) -> bool:
        table = tables.get((quad[0], quad[1]))
        if table is None:
            return not quad[1].startswith(_DERIVED)
        return quad[2] not in get_predicates(table) and not _is_type(table, quad[2], quad[3])

    return [quad for quad in added if is_other(quad)], [quad for quad in removed if is_other(quad)]


def _is_type(table: Table, predicate: str, term: str) -> bool:
    return predicate == ns.RDF_TYPE and term == ns.iri_term(table.class_iri)


def _collect_said(added: Iterable[Quad], removed: Iterable[Quad]) -> dict[tuple[str, str], list[tuple[str, str, bool]]]:
    said: defaultdict[tuple[str, str], list[tuple[str, str, bool]]] = defaultdict(list)
    for quads, is_new in ((removed, False), (added, True)):
        for graph, subject, predicate, term in quads:
            said[graph, subject].append((predicate, term, is_new))
    return said


def _compare_languages(table: Table, said: Said) -> list[ColumnChange]:
    """Return the texts in languages that came or went."""
    columns = {ns.iri_term(column.iri): column for column in table.columns if column.kind in ("text", "texts")}
    found: defaultdict[tuple[str, str], dict[bool, list[str]]] = defaultdict(lambda: {False: [], True: []})
    for predicate, term, is_new in said:
        language = get_language(term) if predicate in columns else ""
        if language:
            found[predicate, language][is_new].append(get_plain_value(term))
    changes = []
    for (predicate, language), texts in sorted(found.items()):
        name = f"{columns[predicate].name}@{language}"
        old, new = (tuple(sorted(texts[is_new])) for is_new in (False, True))
        if columns[predicate].kind == "texts":
            changes.append(ColumnChange(name, old, new, True, None, True))
        else:
            changes.append(ColumnChange(name, next(iter(old), None), next(iter(new), None), False, None, True))
    return changes
