"""The pages of drafts: all of them, one with all it changes, and the form that begins one."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from markupsafe import Markup

from api.desk.change_words import HistoryWords, get_own_reason
from api.desk.drafts import DraftView, ToldDraft, tell_conflict_name
from api.desk.plain_cells import say_day
from api.desk.record_words import make_reference_namer
from api.desk.sheet import Cell, Column, Ref, Table
from api.desk.table_words import tell_label, tell_many
from api.pages.addresses import build_record_address
from api.pages.draft_words import tell_counts, tell_draft, tell_drafts, tell_obstacles
from api.pages.page import Link, Page
from api.pages.state_links import keep_state
from api.pages.tables import write_table
from ontology.errors import Finding
from ontology.live.draft_state import Conflict
from ontology.model.changes import Row
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "DraftFault",
    "DraftPage",
    "NewDraft",
    "build_changes",
    "build_conflict",
    "build_draft_page",
    "build_drafts",
    "build_findings",
    "describe_draft",
    "describe_drafts",
    "describe_new_draft",
    "list_facts",
]

_FRAMEWORK: Final = Link("Framework", "/framework")
_DRAFTS: Final = Link("Drafts", "/drafts")
_DASH: Final = "–"
#: Conflicts and findings that stand on the page; all of them stand in the data.
_SHOWN: Final = 50


@dataclass(frozen=True, slots=True)
class DraftFault:
    """What is wrong with a form that was sent: at which field ("" for none), and why."""

    field: str
    reason: str


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


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftPage:
    """All that the page of a draft shows; `typed` is what stands in the form that publishes it."""

    told: ToldDraft
    tag: str
    lead: str
    obstacles: str
    facts: tuple[tuple[str, Cell], ...]
    changes: Markup
    n_changes: int
    older: Link | None
    newer: Link | None
    conflicts: tuple[ConflictRow, ...]
    findings: Table
    n_findings: int
    faults: tuple[DraftFault, ...]
    typed: Mapping[str, str]
    is_behind: bool
    address: str
    revision: int

    def get_reasons(self, name: str) -> list[str]:
        """Return what is wrong with a field."""
        return [fault.reason for fault in self.faults if fault.field == name]


def build_draft_page(
    view: DraftView,
    rows: Sequence[Row],
    *,
    tag: str,
    present: Snapshot,
    pages: tuple[Link | None, Link | None] = (None, None),
    faults: Sequence[DraftFault] = (),
    typed: Mapping[str, str] | None = None,
) -> DraftPage:
    """Return what the page of a draft shows.

    Parameters
    ----------
    view : DraftView
    rows : those of its rows that stand on this page
    tag : of the draft as it is read, sent back with every change
    present : the present state
    pages : where earlier and later rows stand
    faults, typed : of a form that was refused
    """
    told = view.told
    words = HistoryWords(view.names)
    is_on_draft = view.after is not None and told.state == "open"
    changes = write_table(build_changes(view, rows, words))
    return DraftPage(
        told=told,
        tag=tag,
        lead=tell_draft(told),
        obstacles=tell_obstacles(told),
        facts=tuple(list_facts(told)),
        changes=Markup(keep_state(changes, {"draft": told.id})) if is_on_draft else changes,
        n_changes=len(view.rows),
        newer=pages[0],
        older=pages[1],
        conflicts=tuple(build_conflict(view.names, one) for one in view.conflicts[:_SHOWN]),
        findings=build_findings(view.findings[:_SHOWN]),
        n_findings=len(view.findings),
        faults=tuple(faults),
        typed=typed or {},
        is_behind=told.is_open and told.base < present.revision,
        address=build_record_address("drafts", told.id),
        revision=present.revision,
    )


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
        return _DASH
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


def _tell_where(finding: Finding) -> Cell:
    if finding.about and finding.about[0] in TABLES:
        table, *key = finding.about
        return Ref(table, key[0] if table == "scales" else "~".join(key), f"{table.replace('_', ' ')} {'~'.join(key)}")
    return finding.source


def describe_draft(view: DraftPage) -> Page:
    """Return the page of a draft."""
    return Page("draft.html", {"view": view}, way="framework", trail=(_FRAMEWORK, _DRAFTS))


def build_drafts(drafts: Sequence[ToldDraft]) -> Table:
    """Return all drafts in words."""
    columns = (Column("Draft"), Column("State"), Column("What it changes"), Column("To do first"), Column("Begun"))
    rows = tuple(
        (
            Ref("drafts", one.id, one.title),
            one.state,
            _begin(tell_counts(one.counts)),
            _begin(tell_obstacles(one).removeprefix("Before it can be published: ").rstrip(".")) or _DASH,
            f"by {one.author}, {say_day(_read_day(one.made_on))}",
        )
        for one in drafts
    )
    return Table("All drafts", columns, rows, "There are no drafts.")


def describe_drafts(drafts: Sequence[ToldDraft], revision: int) -> Page:
    """Return the page that lists all drafts."""
    values = {
        "lead": tell_drafts(drafts),
        "drafts": build_drafts(drafts),
        "form": NewDraft(),
        "revision": revision,
    }
    return Page("drafts.html", values, way="framework", trail=(_FRAMEWORK,))


@dataclass(frozen=True, slots=True, kw_only=True)
class NewDraft:
    """The form that begins a draft; `to` is the page that one wanted to change, `undo_of` what it takes back."""

    title: str = ""
    id: str = ""
    base: str = ""
    undo_of: str = ""
    to: str = ""
    faults: tuple[DraftFault, ...] = field(default=())

    def get_reasons(self, name: str) -> list[str]:
        """Return what is wrong with a field."""
        return [fault.reason for fault in self.faults if fault.field == name]


def describe_new_draft(form: NewDraft) -> Page:
    """Return the page on which a draft is begun."""
    return Page("draft_new.html", {"form": form}, way="framework", trail=(_FRAMEWORK, _DRAFTS))
