"""Files onto a draft: what they hold is put into it, and, told that they hold all there is, what they lack goes.

A draft takes whatever can be parsed; what it would break is told by its findings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loaders.merging import leave_out_untrusted, merge
from loaders.pipeline import load_path
from loaders.report import Loaded, sort_findings
from ontology.errors import Finding, FindingsError, InputError, UnknownIdError
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.columns import Key
from ontology.model.keeping_tables import TRANSLATIONS
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.plurals import format_count
from ontology.snapshot.snapshot import Snapshot

if TYPE_CHECKING:  # brings the store
    from ontology.store.drafts import Draft

__all__ = ["DraftLoad", "TableLoad", "load_onto_draft", "plan_draft_load"]


@dataclass(frozen=True, slots=True)
class TableLoad:
    """What a load makes of one table of a draft."""

    table: str
    new: int
    changed: int
    gone: int


@dataclass(frozen=True, slots=True)
class DraftLoad:
    """What files would make of a draft: the change, counted by table, and what was found in them.

    `n_extra` triples of others are left out, since a draft holds records; `n_skipped` rows could not be parsed.
    """

    change: Change
    tables: tuple[TableLoad, ...]
    findings: tuple[Finding, ...]
    n_extra: int
    n_skipped: int


def plan_draft_load(
    graph: LiveGraph,
    draft_id: str,
    paths: Sequence[Path],
    *,
    kind: str | None = None,
    as_scale: str | None = None,
    is_whole: bool = False,
    skip_faulty: bool = False,
) -> DraftLoad:
    """Return what files would make of a draft, or of the present state where there is no such draft yet.

    Parameters
    ----------
    graph, draft_id : of what
    paths, kind, as_scale : as `load_paths`
    is_whole : whether the tables that the files hold are complete there: records that are not in them go
    skip_faulty : whether rows that cannot be parsed are left out; otherwise one of them and nothing is done. A record
        whose row is left out stays as it stands there, whole or not

    Raises
    ------
    InputError
        They hold tables about people.
    FindingsError
        Rows cannot be parsed, and are not to be left out.
    FileFormatError, LimitError
        A file cannot be read at all.

    Notes
    -----
    O(rows of the files + records of their tables).
    """
    loaded = merge([load_path(path, kind, as_scale=as_scale) for path in paths])
    personal = sorted(name for name in PERSONAL_TABLES if loaded.records.get(name))
    if personal:
        words = personal[0].replace("_", " ")
        raise InputError(f"A draft holds nothing about people: {words} cannot be loaded onto it.", parameter="draft")
    errors = [finding for finding in loaded.findings if finding.severity == "error"]
    if errors and not skip_faulty:
        told = format_count(len(errors), "error")
        raise FindingsError(f"{told} found; nothing was stored.", sort_findings(loaded.findings))
    n_skipped = len(loaded.faulty) + leave_out_untrusted(loaded)
    try:
        view = graph.drafts.get_state(draft_id).snapshot
    except UnknownIdError:
        view = graph.get_snapshot()
    change, tables = _compare(loaded, view, is_whole=is_whole)
    return DraftLoad(change, tables, tuple(sort_findings(loaded.findings)), len(loaded.extra), n_skipped)


def _compare(loaded: Loaded, view: Snapshot, *, is_whole: bool) -> tuple[Change, tuple[TableLoad, ...]]:
    put: list[tuple[str, Any]] = []
    remove: list[tuple[str, Key]] = []
    tables = []
    for name in TABLES:
        # of a sheet without a row nobody says that there is to be nothing
        if not loaded.records.get(name) or name in loaded.unread:
            continue
        stored = view.get_table(name)
        rows = dict(TABLES[name].iterate_keyed(loaded.records[name]))
        differing = [(key, record) for key, record in rows.items() if stored.get(key) != record]
        n_new = sum(key not in stored for key, _ in differing)
        # a faulty row says that its record is there, not what it is
        gone = [key for key in stored if key not in rows and (name, key) not in loaded.faulty] if is_whole else []
        if name == TRANSLATIONS.name:
            # complete is what the files say of the tables they hold
            gone = [key for key in gone if loaded.records.get(key[0])]
        put += ((name, record) for _, record in differing)
        remove += ((name, key) for key in gone)
        if differing or gone:
            tables.append(TableLoad(name, n_new, len(differing) - n_new, len(gone)))
    return Change(tuple(put), tuple(remove)), tuple(tables)


def load_onto_draft(graph: LiveGraph, draft_id: str, plan: DraftLoad, *, who: str, why: str) -> Draft:
    """Do what was planned, on a draft that is begun where there is none; return it."""
    try:
        graph.drafts.get(draft_id)
    except UnknownIdError:
        graph.drafts.start(draft_id, draft_id, who=who)
    return graph.drafts.edit(draft_id, plan.change, who=who, why=why)
