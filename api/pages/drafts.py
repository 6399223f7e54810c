"""The pages of drafts: all of them, one with all it changes, and the form that begins one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from markupsafe import Markup

from api.desk.change_words import HistoryWords
from api.desk.drafts import DraftView, ToldDraft
from api.desk.sheet import Cell, Table
from api.pages.addresses import build_record_address
from api.pages.draft_faults import DraftFault, WithFaults
from api.pages.draft_tables import (
    ConflictRow,
    build_changes,
    build_conflict,
    build_drafts,
    build_edits,
    build_findings,
    list_facts,
)
from api.pages.draft_words import tell_draft, tell_drafts, tell_obstacles
from api.pages.page import Link, Page
from api.pages.state_links import keep_state
from api.pages.tables import write_table
from ontology.model.changes import Row
from ontology.snapshot.snapshot import Snapshot
from ontology.store.drafts import DraftEdit

__all__ = [
    "DraftPage",
    "NewDraft",
    "build_draft_page",
    "describe_draft",
    "describe_drafts",
    "describe_new_draft",
]

_FRAMEWORK: Final = Link("Framework", "/framework")
_DRAFTS: Final = Link("Drafts", "/drafts")
#: Conflicts, findings and edits that stand on the page; all of them stand in the data.
_SHOWN: Final = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftPage(WithFaults):
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
    edits: Table
    faults: tuple[DraftFault, ...]
    typed: Mapping[str, str]
    is_behind: bool
    address: str
    revision: int


def build_draft_page(
    view: DraftView,
    rows: Sequence[Row],
    *,
    tag: str,
    present: Snapshot,
    edits: Sequence[DraftEdit] = (),
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
    edits : what was done to it, oldest first
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
        edits=build_edits(edits[-_SHOWN:]),
        faults=tuple(faults),
        typed=typed or {},
        is_behind=told.is_open and told.base < present.revision,
        address=build_record_address("drafts", told.id),
        revision=present.revision,
    )


def describe_draft(view: DraftPage) -> Page:
    """Return the page of a draft."""
    return Page("draft.html", {"view": view}, way="framework", trail=(_FRAMEWORK, _DRAFTS))


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
class NewDraft(WithFaults):
    """The form that begins a draft; `to` is the page that one wanted to change, `undo_of` what it takes back."""

    title: str = ""
    id: str = ""
    base: str = ""
    undo_of: str = ""
    to: str = ""
    faults: tuple[DraftFault, ...] = field(default=())


def describe_new_draft(form: NewDraft) -> Page:
    """Return the page on which a draft is begun."""
    return Page("draft_new.html", {"form": form}, way="framework", trail=(_FRAMEWORK, _DRAFTS))
