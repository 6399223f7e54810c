"""The change that publishing a draft would be, and what the checks find of it and of the state it leads to."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from ontology.errors import Finding
from ontology.live.draft_state import DraftState, list_changed
from ontology.live.planned import Planned
from ontology.mapping.writer import get_predicates
from ontology.model.columns import Table
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.rdf.terms import get_language

if TYPE_CHECKING:
    from ontology.store.engine import Store

__all__ = ["find_change_findings", "find_state_findings", "plan_draft"]


def plan_draft(state: DraftState) -> Planned:
    """Return the change that publishing a draft would be. O(quads of the draft)."""
    present = state.ground.present
    after = state.snapshot.with_changes(revision=present.revision + 1)
    put, remove = list_changed(present, after, list(state.merged))
    tables = state.tables
    extra = sorted(quad for quad in state.net.added if _is_other(quad, tables))
    doomed = frozenset(quad for quad in state.net.removed if _is_other(quad, tables))
    return Planned(present, after, put, remove, extra, doomed)


def find_change_findings(store: Store, state: DraftState) -> list[Finding]:
    """Return what the checks find of the change that a draft is, errors first: all errors of the state it leads to."""
    planned = plan_draft(state)
    return [] if planned.is_empty else planned.find_findings(store)


def find_state_findings(store: Store, state: DraftState) -> list[Finding]:
    """Return what the checks find of the state that a draft leads to, errors first. O(its records)."""
    from ontology.checks.framework import check_framework

    whole = check_framework(state.snapshot, store.get_today())
    return sorted({*whole, *find_change_findings(store, state)})


def _is_other(quad: Quad, tables: Mapping[tuple[str, str], Table]) -> bool:
    """Whether no record carries a quad."""
    table = tables.get(quad[:2])
    if table is None or get_language(quad[3]):
        return True
    return quad[2] not in get_predicates(table) and quad[2:] != (ns.RDF_TYPE, ns.iri_term(table.class_iri))
