"""Every check a change passes before it is committed: our rules, the shapes, the SKOS integrity conditions.

The shapes run over what is touched, as the queries made from them: a third of pySHACL's time for one record as for a
whole company. The SKOS conditions run over the whole framework graph, but only where quads of others can break them at
all.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date
from itertools import chain
from typing import Any, Final

from ontology.checks.dependents import iterate_references
from ontology.checks.framework import check_framework, check_records
from ontology.checks.shape_runs import check_blocks, check_store
from ontology.checks.shapes import check_shapes
from ontology.checks.skos import check_skos
from ontology.errors import Finding
from ontology.mapping.difference import Difference
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.entailment import SUBCLASS_OF
from ontology.rdf.namespaces import Quad
from ontology.snapshot.snapshot import Snapshot
from ontology.store.engine import Store

#: Changes of more records than this are checked as a whole framework, not record by record.
WHOLE_FROM: Final = 200
_SKOS: Final = f"<{ns.SKOS}"
#: Properties that only quads of others can bring.
_OF_OTHERS: Final = tuple(
    f"{_SKOS}{name}>" for name in ("related", "broadMatch", "relatedMatch", "inScheme", "hiddenLabel")
)
#: By itself it breaks no condition: S46 needs a broadMatch or relatedMatch beside it.
_EXACT_MATCH: Final = f"<{ns.SKOS}exactMatch>"


def check_change(
    store: Store,
    after: Snapshot,
    put: Sequence[tuple[str, Any]],
    removed: Sequence[tuple[str, Any]],
    difference: Difference,
    extra: Sequence[Quad],
    today: date | None = None,
) -> list[Finding]:
    """Return all findings of a change, in no particular order.

    Parameters
    ----------
    store : the store before the change
    after : Snapshot after it
    put, removed : (table name, record) that are made or replaced, and that go
    difference : the quads that are new, those of `extra` included; gone through up to three times
    extra : quads of others (foreign SKOS)
    today : the present day, for what is dated after it
    """
    touched = [*put, *removed]
    findings = check_framework(after, today) if len(touched) > WHOLE_FROM else check_records(after, touched, today)
    # a fault that a rule has addressed already would come back from the shapes as a second finding
    is_sound = not any(finding.severity == "error" for finding in findings)
    if is_sound:
        findings += _check_shapes_of(store, difference, extra)
    if any(quad[2].startswith(_SKOS) and quad[2] != _EXACT_MATCH for quad in extra) or _has_foreign(store):
        kept = difference.iterate_kept(store.read_graph(ns.GRAPH_FRAMEWORK))
        findings += check_skos([*kept, *chain.from_iterable(difference)])
    return list(dict.fromkeys(findings))


def _check_shapes_of(store: Store, difference: Difference, extra: Sequence[Quad]) -> list[Finding]:
    blocks: Iterable[Sequence[Quad]] = difference
    if any(quad[2] == SUBCLASS_OF for quad in extra):
        blocks = [list(chain.from_iterable(difference))]
    return check_blocks(store, blocks, difference.iterate_types())


def check_everything(store: Store, snapshot: Snapshot, *, is_full: bool, today: date | None = None) -> list[Finding]:
    """Return every finding of the graph's present state: our rules, the SKOS conditions and the shapes.

    The shapes run as queries, seconds for a graph of a million triples; `is_full` gives them to pySHACL instead, which
    reads the shapes by itself and takes minutes. `today` is the present day, for what is dated after it.
    """
    framework = list(store.read_graph(ns.GRAPH_FRAMEWORK))
    findings = check_framework(snapshot, today) + check_skos(framework)
    if is_full:
        findings += check_shapes([quad for name in ns.DATA_GRAPHS for quad in store.read_graph(name)])
    else:
        findings += check_store(store)
    return list(dict.fromkeys(findings))


def _has_foreign(store: Store) -> bool:
    """Whether the framework graph holds relations that only quads of others can bring."""
    return store.has_property(ns.GRAPH_FRAMEWORK, _OF_OTHERS)


def find_referrers(
    snapshot: Snapshot, records: Iterable[tuple[str, str]]
) -> dict[tuple[str, str], list[tuple[str, str]]]:
    """Return (table, id) of each record that others refer to -> (table, key joined by ~) of these.

    Records come in the order given, those who refer to them in the order of tables and keys. One pass for all of them:
    O(n) over the records of the tables that can refer to one.
    """
    wanted = list(dict.fromkeys(records))
    ids: defaultdict[str, set[str]] = defaultdict(set)
    for table_name, record_id in wanted:
        ids[table_name].add(record_id)
    found: defaultdict[tuple[str, str], list[tuple[str, str]]] = defaultdict(list)
    for name, record, target in iterate_references(snapshot, ids):
        found[target].append((name, "~".join(str(part) for part in TABLES[name].get_key(record))))
    return {target: found[target] for target in wanted if target in found}
