"""Tables of drafts in words, for pages and commands: all drafts, what one changes, conflicts, findings, edits."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from api.desk.change_words import HistoryWords, get_own_reason
from api.desk.drafts import DraftView, ToldDraft, tell_conflict_name
from api.desk.plain_cells import DASH, say_day
from api.desk.record_words import make_reference_namer
from api.desk.sheet import Cell, Column, Ref, Table
from api.desk.table_words import tell_label, tell_many
from api.pages.draft_words import tell_counts, tell_obstacles
from ontology.errors import Finding
from ontology.live.draft_state import Conflict
from ontology.model.changes import Row
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot
from ontology.store.drafts import DraftEdit

__all__ = [
    "ConflictRow",
    "build_changes",
    "build_conflict",
    "build_drafts",
    "build_edits",
    "build_findings",
    "list_facts",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class ConflictRow:
    """One conflict: of what, the three values, who published the other one, and what decides it."""

    about: str
    column: str
    base: str
    draft: str
    published: str
    last: str
    fields: tuple[tuple[str, str], ...]


def build_drafts(drafts: Sequence[ToldDraft]) -> Table:
    """Return all drafts in words."""
    columns = (Column("Draft"), Column("State"), Column("What it changes"), Column("To do first"), Column("Begun"))
    rows = tuple(
        (
            Ref("drafts", one.id, one.title),
            one.state,
            _begin(tell_counts(one.counts)),
            _begin(tell_obstacles(one).removeprefix("Before it can be published: ").rstrip(".")) or DASH,
            f"by {one.author}, {say_day(_read_day(one.made_on))}",
        )
        for one in drafts
    )
    return Table("All drafts", columns, rows, "There are no drafts.")


def list_facts(told: ToldDraft) -> list[tuple[str, Cell]]:
    """Return what else is said of a draft: names and cells."""
    facts: list[tuple[str, Cell]] = [
        ("State", told.state),
        ("Begun by", told.author),
        ("On", _read_day(told.made_on)),
        ("Based on", f"revision {told.base}"),
        ("Edits", told.number),
    ]
    if told.undo_of is not None:
        facts.append(("Takes back", f"revision {told.undo_of}"))
    return facts


def _read_day(moment: str) -> dt.date:
    return dt.date.fromisoformat(moment[:10])


def build_changes(view: DraftView, rows: Sequence[Row], words: HistoryWords) -> Table:
    """Return rows of a draft in words."""
    what = "What changed" if view.after is None else "What changes"
    columns = (Column("Table"), Column("About"), Column(what))
    state = view.after if view.after is not None else view.names
    cells = tuple(
        (tell_many(TABLES[row.table]).capitalize(), _refer(state, row, words.name(row)), _begin(words.tell(row)))
        for row in rows
    )
    empty = "Nothing yet. Open a record of the framework on this draft and edit it."
    return Table("What it changes", columns, cells, empty)


def _refer(state: Snapshot, row: Row, name: str) -> Cell:
    record_id = str(row.key[0]) if row.table == "scales" else row.id
    return Ref(row.table, record_id, name) if row.key in state.get_table(row.table) else name


def _begin(words: str) -> str:
    return words[:1].upper() + words[1:]


def build_conflict(names: Snapshot, one: Conflict) -> ConflictRow:
    """Return a conflict in words."""
    why = get_own_reason(one.why)
    column = one.column or ""
    name, _, language = column.partition("@")
    label = (tell_label(one.table, name) + (f" ({language})" if language else "")) if name else "The whole record"
    base, draft, published = (_say(names, one, value) for value in (one.base, one.draft, one.published))
    return ConflictRow(
        about=tell_conflict_name(names, one),
        column=label,
        base=base,
        draft=draft,
        published=published,
        last=f"by {one.who}, {say_day(one.when.date())}{f': {why}' if why else ''}",
        fields=(("table", one.table), ("id", one.id), ("column", column)),
    )


def _say(names: Snapshot, one: Conflict, value: Any) -> str:
    """Return one of the three values of a conflict in words; of a whole record what it says."""
    if one.column is None:
        return _say_whole(one, value)
    if value is None or value == "":
        return DASH
    column = TABLES[one.table].get_column(one.column.partition("@")[0])
    if column.refers_to and isinstance(value, str):
        return make_reference_namer(names)(column.refers_to, value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return say_day(value) if isinstance(value, dt.date) else f"{value:g}" if isinstance(value, float) else str(value)


def _say_whole(one: Conflict, value: Any) -> str:
    """Return what a whole record says otherwise than where the draft began."""
    if value is None:
        return "removed" if one.base is not None else "not there"
    if value == one.base:
        return "as it was"
    columns = TABLES[one.table].columns if one.table else ()
    differing = [
        f"{tell_label(one.table, column.name)}: {getattr(value, column.attribute)}"
        for column in columns
        if getattr(value, column.attribute) != getattr(one.base, column.attribute, None)
    ]
    return "; ".join(differing) or "changed"


def build_findings(findings: Sequence[Finding]) -> Table:
    """Return what would be broken, in words."""
    columns = (Column("Kind"), Column("Where"), Column("What would be right"))
    cells = tuple((one.severity, _tell_where(one), one.reason) for one in findings)
    return Table("What it would break", columns, cells, "Nothing: no rule would be broken.")


def build_edits(edits: Sequence[DraftEdit]) -> Table:
    """Return what was done to a draft, the newest first."""
    columns = (Column("When"), Column("By whom"), Column("What was done"))
    rows = tuple((one.when.date(), one.who, _begin(one.why)) for one in reversed(edits))
    return Table("What was done to it, newest first", columns, rows, "Nothing was done to it.")


def _tell_where(finding: Finding) -> Cell:
    if finding.about and finding.about[0] in TABLES:
        table, *key = finding.about
        return Ref(table, key[0] if table == "scales" else "~".join(key), f"{table.replace('_', ' ')} {'~'.join(key)}")
    return finding.source
