"""The first page of the framework: how much there is, what to mend first, where to begin, what changed lately."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final
from urllib.parse import urlencode

from markupsafe import Markup

from api.desk.desk import Answer
from api.desk.names import count
from api.desk.sheet import Column, Ref, Table
from api.pages.addresses import build_address, build_record_address
from api.pages.framework_tree import build_view as build_tree
from api.pages.framework_tree import write_branches
from api.pages.page import Link, Page
from api.questions.company import framework_review as review
from ontology.snapshot.snapshot import Snapshot
from ontology.store.history import Commit

__all__ = [
    "FrameworkView",
    "MendRow",
    "Tree",
    "build_framework_view",
    "describe_framework",
    "list_mending",
    "tell_framework",
]

#: Rows to mend, branches of the first level, and changes that stand on the page; the rest is linked.
_MENDING_SHOWN: Final = 10
_BRANCHES_SHOWN: Final = 40
_CHANGES_SHOWN: Final = 8
_TREES: Final = (
    ("competencies", "Competencies"),
    ("roles", "Roles by family"),
    ("courses", "Courses by how they are held"),
)


@dataclass(frozen=True, slots=True)
class MendRow:
    """One thing to mend: what stands out, where, why it matters, and one act."""

    rule: str
    where: Ref
    why: str
    act: Link


@dataclass(frozen=True, slots=True)
class Tree:
    """What there is of one table, closed until it is opened; `rest` leads to the branches that are not here."""

    heading: str
    items: Markup
    rest: Link


@dataclass(frozen=True, slots=True)
class FrameworkView:
    """What stands on the page; `waiting` leads to where what stands out is still being worked out, None once it is.

    `is_reviewed`: whether who looks may see what stands out at all.
    """

    lead: str
    mending: tuple[MendRow, ...]
    n_mending: int
    waiting: Link | None
    is_reviewed: bool
    status: str
    cautions: tuple[str, ...]
    trees: tuple[Tree, ...]
    changes: Table
    revision: int


def tell_framework(counts: Mapping[str, int], n_mending: int | None, *, is_reviewed: bool = True) -> str:
    """Return the first sentence; `n_mending` is None while it is worked out what stands out.

    `is_reviewed`: whether who reads it may see that at all.

    Examples
    --------
    >>> tell_framework({"competencies": 97, "roles": 24, "courses": 97}, 5)
    '97 competencies, 24 roles, 97 courses; 5 things stand out.'
    >>> tell_framework({"competencies": 1, "roles": 0, "courses": 0}, None)
    '1 competency, 0 roles, 0 courses; what stands out is still being worked out.'
    >>> tell_framework({"competencies": 2, "roles": 1, "courses": 0}, None, is_reviewed=False)
    '2 competencies, 1 role, 0 courses.'
    """
    there = ", ".join(
        (
            count(counts["competencies"], "competency", "competencies"),
            count(counts["roles"], "role"),
            count(counts["courses"], "course"),
        )
    )
    if not is_reviewed:
        return f"{there}."
    if n_mending is None:
        return f"{there}; what stands out is still being worked out."
    if not n_mending:
        return f"{there}; nothing stands out."
    return f"{there}; {count(n_mending, 'thing stands', 'things stand')} out."


def build_framework_view(
    snapshot: Snapshot, answer: Answer | None, waiting: str, commits: Sequence[Commit]
) -> FrameworkView:
    """Return the page.

    Parameters
    ----------
    snapshot : Snapshot
    answer : Answer or None
        What stands out; None while that is still worked out, which `waiting` tells the address of.
    commits : the latest changes of the framework, the latest first
    """
    found = () if answer is None else list_mending(answer)
    is_reviewed = answer is not None or bool(waiting)
    counts = {table: len(getattr(snapshot, table)) for table in ("competencies", "roles", "courses")}
    return FrameworkView(
        lead=tell_framework(counts, None if answer is None else len(found), is_reviewed=is_reviewed),
        mending=found[:_MENDING_SHOWN],
        n_mending=len(found),
        waiting=Link("See how far it is", waiting) if waiting else None,
        is_reviewed=is_reviewed,
        status="" if answer is None or answer.is_final else "The time limit struck: more may stand out.",
        cautions=() if answer is None else answer.enquiry.question.cautions,
        trees=tuple(_build_tree(snapshot, table, heading) for table, heading in _TREES),
        changes=_build_changes(commits[:_CHANGES_SHOWN]),
        revision=snapshot.revision,
    )


def list_mending(answer: Answer) -> tuple[MendRow, ...]:
    """Return what stands out in the framework, in the order of its effect, each with what one would do first."""
    return tuple(map(_build_row, review.list_standing_out(answer.result, answer.names)))


def _build_row(one: review.StandsOut) -> MendRow:
    return MendRow(one.what, one.where, one.why, _ACTS[one.what](one.where))


def _edit_requirements(where: Ref) -> Link:
    return Link("Edit what it asks", f"/edit{build_record_address('roles', where.id)}/requirements")


def _add_outcome(where: Ref) -> Link:
    return Link("Say what teaches it", f"/new/outcomes?{urlencode({'competency': where.id})}")


#: What stands out -> what one would do about it first.
_ACTS: Final[Mapping[str, Callable[[Ref], Link]]] = {
    review.NOBODY_REACHES: _edit_requirements,
    review.HIGH_ENTRY: _edit_requirements,
    review.DEAD_END: lambda where: Link("See roles like it", build_address("roles", where.id, "similar")),
    review.UNTAUGHT: _add_outcome,
    review.UNTAUGHT_ON_JOB: _add_outcome,
    review.UNUSED_COURSE: lambda where: Link("Edit the course", f"/edit{build_record_address('courses', where.id)}"),
}


def _build_tree(snapshot: Snapshot, table: str, heading: str) -> Tree:
    branches = build_tree(snapshot, table).branches
    left = len(branches) - _BRANCHES_SHOWN
    words = f"{left:,} more" if left > 0 else f"All {table} as a list"
    address = f"/{table}?show=tree" if left > 0 else f"/{table}"
    return Tree(heading, write_branches(branches[:_BRANCHES_SHOWN]), Link(words, address))


def _build_changes(commits: Iterable[Commit]) -> Table:
    rows = tuple(
        (str(one.revision), one.when.date(), one.who, one.why, f"{one.n_added:,} and {one.n_removed:,}")
        for one in commits
    )
    columns = tuple(map(Column, ("Revision", "Day", "Who", "Why", "Statements added and taken away")))
    return Table("Recent changes", columns, rows, "Nothing has been changed yet.")


def describe_framework(view: FrameworkView) -> Page:
    """Return the page."""
    return Page("framework.html", {"view": view}, way="framework")
