"""The page on which a record stands in three versions: someone else changed it since it was read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from api.pages.forms.conflict import Difference, compare_versions, tell_conflict, tell_last
from api.pages.page import Page
from api.pages.records import build_page, build_trail
from ontology.model.columns import Table
from ontology.store.history import Commit

__all__ = ["ConflictView", "build_conflict_view", "describe_conflict"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ConflictView:
    """What a page shows where someone else changed the record meanwhile; `sent` are the fields to send again."""

    heading: str
    lead: str
    last: str
    rows: tuple[Difference, ...]
    sent: tuple[tuple[str, str], ...]
    action: str
    keep: str
    revision: int


def build_conflict_view(
    heading: str,
    labels: Mapping[str, str],
    versions: Sequence[Mapping[str, str] | None],
    *,
    sent: Iterable[tuple[str, str]],
    action: str,
    keep: str,
    revision: int,
    last: Commit | None = None,
    is_short: bool = False,
) -> ConflictView:
    """Return what a conflict shows.

    Parameters
    ----------
    heading : what the record is called
    labels : what people read for each field
    versions : the texts as read, as they are now, and as typed
    sent, action : the fields of the form that takes the typed version over, and its address
    keep : page of what is there
    revision : of what is there
    last : the commit that changed it last, as far as that is known
    is_short : show only fields that differ
    """
    read, present, typed = versions
    rows = compare_versions(labels, read, present, typed)
    rows = tuple(row for row in rows if row.is_changed or row.is_yours or not is_short)
    lead = tell_conflict(rows, present is None)
    return ConflictView(
        heading=heading,
        lead=lead,
        last=tell_last(last) if last is not None else "",
        rows=rows,
        sent=tuple(sent),
        action=action,
        keep=keep,
        revision=revision,
    )


def describe_conflict(table: Table, view: ConflictView) -> Page:
    """Return the page of a conflict."""
    return build_page(table, "record_conflict.html", {"view": view}, build_trail(table))
