"""The form that retires a competency, role or course in a draft, with what takes its place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from api.desk.record_words import name_reference
from api.desk.table_words import tell_one
from api.pages.addresses import build_record_address
from api.pages.draft_faults import DraftFault, WithFaults
from api.pages.page import Link, Page
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

__all__ = ["LINES", "Line", "RetireForm", "build_form", "describe_retire"]

#: How many records that take the place can be typed.
LINES: Final = 3
_CARRIES: Final = (
    ("", "as usual: as held, of parts as declared"),
    ("same", "as held"),
    ("declared", "as declared: shown, never counted"),
    ("none", "not at all"),
)
#: Table -> what becomes of what names something retired, in a sentence.
_AFTER: Final = {
    "competencies": "What asks, teaches or needs it then names what takes its place. Assessments of people stay as "
    "they are, and are read for what takes its place.",
    "roles": "What it asks stays with it. People and places must be given another role first: the draft says which.",
    "courses": "What it teaches and builds on stays with it. People who wish for it are named by the draft.",
}


@dataclass(frozen=True, slots=True)
class Line:
    """One record that takes the place, as it is typed."""

    number: int
    text: str
    carry: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RetireForm(WithFaults):
    """All that the form shows: `drafts` are those that are open, `into` the one chosen, "" for a new one."""

    title: str
    lead: str
    table: str
    action: str
    back: str
    lines: tuple[Line, ...]
    carries: tuple[tuple[str, str], ...]
    drafts: tuple[tuple[str, str], ...]
    into: str
    draft_title: str
    reason: str
    faults: tuple[DraftFault, ...]
    revision: int


def build_form(
    snapshot: Snapshot,
    table: str,
    record_id: str,
    drafts: Sequence[tuple[str, str]],
    typed: Mapping[str, str],
    faults: Sequence[DraftFault] = (),
) -> RetireForm:
    """Return the form.

    Parameters
    ----------
    snapshot : Snapshot
    table, record_id : of what is retired
    drafts : id and title of those that are open
    typed : what stands in it, by field
    faults : what is wrong with that
    """
    name = name_reference(snapshot, table, record_id)
    return RetireForm(
        title=f"Retire {name}",
        lead=f"{name} stays readable, and no answer uses it any more. {_AFTER[table]} "
        "Nobody's answers differ until the draft is published.",
        table=table,
        action=f"/retire{build_record_address(table, record_id)}",
        back=build_record_address(table, record_id),
        lines=tuple(Line(n, typed.get(f"by{n}", ""), typed.get(f"carry{n}", "")) for n in range(1, LINES + 1)),
        carries=_CARRIES if table == "competencies" else (),
        drafts=tuple(drafts),
        into=typed.get("into", drafts[0][0] if len(drafts) == 1 else ""),
        draft_title=typed.get("title", f"Retire {name}"),
        reason=typed.get("reason", ""),
        faults=tuple(faults),
        revision=snapshot.revision,
    )


def describe_retire(form: RetireForm) -> Page:
    """Return the page of the form."""
    one = tell_one(TABLES[form.table])
    trail = (Link("Framework", "/framework"), Link(form.title.removeprefix("Retire "), form.back))
    return Page("retire.html", {"form": form, "one": one}, way="framework", trail=trail)
