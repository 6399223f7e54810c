"""The change that publishing a draft would be, and what the checks find of it and of the state it leads to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

from ontology.errors import Finding
from ontology.live.draft_state import DraftState, list_changed
from ontology.live.planned import Planned
from ontology.mapping.tagged import get_tagged_columns
from ontology.mapping.writer import get_predicates
from ontology.model.columns import Table
from ontology.model.retirable import RETIRABLE
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.literals import has_language
from ontology.rdf.namespaces import Quad
from ontology.snapshot.snapshot import Snapshot

if TYPE_CHECKING:
    from ontology.store.engine import Store

__all__ = ["find_change_findings", "find_state_findings", "plan_draft"]


def plan_draft(state: DraftState, today: date) -> Planned:
    """Return the change that publishing a draft would be; what it retires is retired today. O(quads of the draft)."""
    present = state.ground.present
    put, remove = list_changed(present, state.snapshot, list(state.merged))
    read_once = [pair for pair in put if state.rescaling.is_consumed(pair[0], TABLES[pair[0]].get_key(pair[1]))]
    put = [*(pair for pair in put if pair not in read_once), *state.people[0]]
    remove = [*remove, *state.people[1]]
    dated = [(name, _date(present, name, record, today)) for name, record in put]
    late = [pair for pair, before in zip(dated, put, strict=True) if pair != before]
    put = dated
    maps = [(name, TABLES[name].get_key(record)) for name, record in read_once]
    after = state.snapshot.with_changes(late, maps, revision=present.revision + 1)
    tables = state.tables
    extra = sorted(quad for quad in state.net.added if _is_other(quad, tables))
    doomed = frozenset(quad for quad in state.net.removed if _is_other(quad, tables))
    undone = state.undone[0] if state.rescaling.readings and state.undone else None
    return Planned(present, after, put, remove, extra, doomed, state.rescaling, undone)


def find_change_findings(store: Store, state: DraftState) -> list[Finding]:
    """Return what the checks find of the change that a draft is, errors first: all errors of the state it leads to."""
    planned = plan_draft(state, store.get_today())
    return [] if planned.is_empty else planned.find_findings(store)


def find_state_findings(store: Store, state: DraftState) -> list[Finding]:
    """Return what the checks find of the state that a draft leads to, errors first. O(its records)."""
    from ontology.checks.framework import check_framework

    whole = check_framework(plan_draft(state, store.get_today()).after, store.get_today())
    return sorted({*whole, *find_change_findings(store, state)})


def _date(present: Snapshot, name: str, record: Any, today: date) -> Any:
    """Return a record with today as the day it is retired on, where it was in use until now."""
    is_retired = name in RETIRABLE and record.retired_on is not None and (record.id,) in present.get_table(name)
    return replace(record, retired_on=today) if is_retired else record


def _is_other(quad: Quad, tables: Mapping[tuple[str, str], Table]) -> bool:
    """Whether no record carries a quad."""
    table = tables.get(quad[:2])
    if table is None:
        return True
    if has_language(quad[3]):
        return quad[2] not in get_tagged_columns(table.name)
    return quad[2] not in get_predicates(table) and quad[2:] != (ns.RDF_TYPE, ns.iri_term(table.class_iri))
