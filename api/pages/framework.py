"""The first page of the framework: how much there is, what to mend first, where to begin, what changed lately."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from api.desk.names import count
from api.desk.sheet import Column, Table
from api.pages.drafts import NewDraft
from api.pages.framework_tree import build_view as build_tree
from api.pages.framework_tree import write_branches
from api.pages.mending import Asked, MendList, build_mend_list, list_standing_out, list_to_mend
from api.pages.page import Link, Page
from ontology.model.framework_itself import THIS
from ontology.snapshot.snapshot import Snapshot
from ontology.store.history import Commit

__all__ = [
    "FrameworkView",
    "StateLink",
    "Tree",
    "build_framework_view",
    "count_framework",
    "describe_framework",
    "tell_framework",
    "tell_to_mend",
]

#: Branches of the first level, and changes that stand on the page; the rest is linked.
_BRANCHES_SHOWN: Final = 40
_CHANGES_SHOWN: Final = 8
#: Where nothing is said of the framework itself.
_ABOUT_NOTHING: Final = Link("Say what it is called", "/new/framework?id=this")
#: The framework to take away: what it is, where, and what it holds.
_FORMS: Final = (
    (Link("SKOS", "/api/exports/skos"), "Competencies, levels and roles as concepts, for vocabularies and catalogues."),
    (Link("CASE 1.1", "/api/exports/case"), "Competencies and scales as a package that learning platforms take in."),
    (
        Link("schema.org", "/api/exports/schema-org"),
        "Terms, courses and occupations, for web pages and search engines.",
    ),
    (Link("Everything as linked data", "/api/exports/linked-data"), "Every statement about the framework and courses."),
    (Link("About this dataset", "/api/dataset"), "Title, terms of use and where it can be had: DCAT and VoID."),
    (Link("Ask in SPARQL", "/sparql"), "Questions of your own, with worked queries to begin with."),
)
_TREES: Final = (
    ("competencies", "Competencies"),
    ("roles", "Roles by family"),
    ("courses", "Courses by how they are held"),
)


@dataclass(frozen=True, slots=True)
class Tree:
    """What there is of one table, closed until it is opened; `rest` leads to the branches that are not here."""

    heading: str
    items: Markup
    rest: Link


@dataclass(frozen=True, slots=True)
class FrameworkView:
    """What stands on the page; `lists`: what is to mend and what stands out, for who may see that at all."""

    lead: str
    lists: tuple[MendList, ...]
    cautions: tuple[str, ...]
    trees: tuple[Tree, ...]
    changes: Table
    revision: int
    about: Link
    forms: tuple[tuple[Link, str], ...]


def tell_framework(
    counts: Mapping[str, int],
    n_standing_out: int | None,
    n_to_mend: int | None = None,
    *,
    is_reviewed: bool = True,
) -> str:
    """Return the first sentences; None while it is worked out what stands out, or what is to mend.

    `is_reviewed`: whether who reads it may see that at all.

    Examples
    --------
    >>> tell_framework({"competencies": 97, "roles": 24, "courses": 97}, 5, 43)
    '97 competencies, 24 roles, 97 courses; 5 things stand out. 43 things are to mend.'
    >>> tell_framework({"competencies": 1, "roles": 0, "courses": 0}, None)
    '1 competency, 0 roles, 0 courses; what stands out is still being worked out.'
    >>> tell_framework({"competencies": 2, "roles": 1, "courses": 0}, None, is_reviewed=False)
    '2 competencies, 1 role, 0 courses.'
    >>> tell_framework({"competencies": 0, "roles": 0, "courses": 0}, 0, 0)
    'Nothing is in the framework yet: load tables, or add the first competency.'
    """
    if not any(counts.values()):
        return "Nothing is in the framework yet" + (
            ": load tables, or add the first competency." if is_reviewed else "."
        )
    there = count_framework(counts)
    if not is_reviewed:
        return f"{there}."
    mending = "" if n_to_mend is None else f" {tell_to_mend(n_to_mend)}"
    if n_standing_out is None:
        return f"{there}; what stands out is still being worked out.{mending}"
    if not n_standing_out:
        return f"{there}; nothing stands out.{mending}"
    return f"{there}; {count(n_standing_out, 'thing stands', 'things stand')} out.{mending}"


def count_framework(counts: Mapping[str, int]) -> str:
    """Return how much there is."""
    words = (("competencies", "competency"), ("roles", "role"), ("courses", "course"))
    return ", ".join(count(counts[table], one, table) for table, one in words)


def tell_to_mend(n: int) -> str:
    """Return how much is to mend, in a sentence."""
    return f"{count(n, 'thing is', 'things are')} to mend." if n else "Nothing is to mend."


def build_framework_view(
    snapshot: Snapshot, to_mend: Asked | None, review: Asked | None, commits: Sequence[Commit]
) -> FrameworkView:
    """Return the page.

    Parameters
    ----------
    snapshot : Snapshot
    to_mend, review : Asked or None
        What is to mend, what stands out; None where who looks may not ask that.
    commits : the latest changes of the framework, the latest first
    """
    about = snapshot.framework.get(THIS)
    counts = {table: len(getattr(snapshot, table)) for table in ("competencies", "roles", "courses")}
    # where nothing is, nothing is to mend
    lists = tuple(_iterate_lists(to_mend, review)) if any(counts.values()) else ()
    mending, standing = (None if one is None or one.answer is None else one.answer for one in (to_mend, review))
    cautions = [line for one in (mending, standing) if one is not None for line in one.enquiry.question.cautions]
    return FrameworkView(
        lead=tell_framework(
            counts,
            None if standing is None else len(list_standing_out(standing)),
            None if mending is None else mending.result.rows_total,
            is_reviewed=to_mend is not None or review is not None,
        ),
        lists=lists,
        cautions=tuple(cautions) if lists else (),
        trees=tuple(_build_tree(snapshot, table, heading) for table, heading in _TREES),
        changes=_build_changes(commits[:_CHANGES_SHOWN]),
        revision=snapshot.revision,
        about=_ABOUT_NOTHING if about is None else Link(f"About it: {about.title}", "/framework/this"),
        forms=_FORMS,
    )


def _iterate_lists(to_mend: Asked | None, review: Asked | None) -> Iterator[MendList]:
    if to_mend is not None:
        rows, total = list_to_mend(to_mend.answer), to_mend.answer.result.rows_total if to_mend.answer else 0
        yield build_mend_list("To mend", "What is to mend", "Nothing is to mend.", "/to-mend", to_mend, rows, total)
    if review is not None:
        rows, heading, address = list_standing_out(review.answer), "What stands out", "/framework-review"
        yield build_mend_list(heading, heading, "Nothing stands out.", address, review, rows, len(rows))


def _build_tree(snapshot: Snapshot, table: str, heading: str) -> Tree:
    branches = build_tree(snapshot, table).branches
    left = len(branches) - _BRANCHES_SHOWN
    words = f"{left:,} more" if left > 0 else f"All {table} as a list"
    address = f"/{table}?show=tree" if left > 0 else f"/{table}"
    return Tree(heading, write_branches(branches[:_BRANCHES_SHOWN]), Link(words, address))


def _build_changes(commits: Iterable[Commit]) -> Table:
    rows = tuple((str(one.revision), one.when.date(), one.who, one.why) for one in commits)
    columns = tuple(map(Column, ("Revision", "Day", "Who", "Why")))
    return Table("Recent changes", columns, rows, "Nothing has been changed yet.")


@dataclass(frozen=True, slots=True)
class StateLink:
    """A state of the framework that one can go on to: as it is published, or with a draft on it."""

    words: str
    address: str
    is_current: bool


def describe_framework(view: FrameworkView, states: Sequence[StateLink] = (), others: Sequence[Link] = ()) -> Page:
    """Return the page; `states` are those that one can go on to, none for who may not see drafts.

    `others` lead to what may be mapped to each framework of others.
    """
    parts = {"view": view, "states": states, "others": others, "form": NewDraft(to="/framework")}
    return Page("framework.html", parts, way="framework")
