"""What is said of drafts and releases first: what each changes, and what stands against publishing it."""

from __future__ import annotations

from collections.abc import Sequence

from api.desk.drafts import ToldDraft
from api.desk.names import count, join_names
from api.desk.plain_cells import say_day
from api.desk.table_words import tell_many, tell_one
from ontology.history.rows import TableCount
from ontology.model.tables import TABLES
from ontology.store.releases import Release

__all__ = ["tell_counts", "tell_draft", "tell_drafts", "tell_obstacles", "tell_releases"]


def tell_counts(counts: Sequence[TableCount]) -> str:
    """Return what is changed, in words; "nothing" where nothing is.

    Examples
    --------
    >>> tell_counts([TableCount("roles", 1, 0, 2), TableCount("courses", 0, 1, 0)])
    '3 roles and 1 course'
    """
    told = []
    for one in counts:
        table = TABLES[one.table]
        number = one.added + one.removed + one.changed
        told.append(count(number, tell_one(table), tell_many(table)))
    return join_names(told) or "nothing"


def tell_draft(draft: ToldDraft) -> str:
    """Return the first sentence of a draft: what it changes, and for whom that holds."""
    what = tell_counts(draft.counts)
    if draft.state == "published":
        return f"Draft {draft.title} was published as revision {draft.revision}; it changed {what}."
    if draft.state == "withdrawn":
        return f"Draft {draft.title} is withdrawn; it would have changed {what}, and nobody's answers ever differed."
    yet = "" if draft.counts else " yet"
    return f"Draft {draft.title} changes {what}{yet}; nobody's answers differ until it is published."


def tell_obstacles(draft: ToldDraft) -> str:
    """Return what stands against publishing an open draft; "" where nothing does.

    Examples
    --------
    >>> from dataclasses import replace
    >>> draft = ToldDraft("a", "A", "me", "", 1, 0, "open", None, None, (), 0, 0, 2)
    >>> tell_obstacles(draft), tell_obstacles(replace(draft, conflicts=0, counts=(TableCount("roles", 1, 0, 0),)))
    ('Before it can be published: decide 2 conflicts.', '')
    """
    if not draft.is_open:
        return ""
    first = []
    if draft.conflicts:
        first.append(f"decide {count(draft.conflicts, 'conflict')}")
    if draft.errors:
        first.append(f"mend {count(draft.errors, 'error')}")
    return f"Before it can be published: {join_names(first)}." if first else ""


def tell_drafts(drafts: Sequence[ToldDraft]) -> str:
    """Return the first sentence of the list of drafts.

    Examples
    --------
    >>> tell_drafts([])
    'No draft is open. A draft holds changes that nobody else sees until it is published.'
    """
    n = sum(draft.is_open for draft in drafts)
    if not n:
        return "No draft is open. A draft holds changes that nobody else sees until it is published."
    until = "until it is published" if n == 1 else "until one of them is published"
    return f"{count(n, 'draft is', 'drafts are')} open; nobody's answers differ {until}."


def tell_releases(releases: Sequence[Release]) -> str:
    """Return the first sentence of the list of releases.

    Examples
    --------
    >>> tell_releases([])
    'No state of the framework has a name yet.'
    """
    if not releases:
        return "No state of the framework has a name yet."
    last = releases[-1]
    return f"{count(len(releases), 'release')}; the latest is {last.version} of {say_day(last.issued)}."
