"""The framework as a tree: competencies below broader ones, roles by family, courses by how they are held, levels.

Three levels stand in a page, closed until they are opened; what lies deeper, and what a page cannot hold, is one link
away. So a page costs what it shows, however large the framework is.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final
from urllib.parse import urlencode

from markupsafe import Markup, escape

from api.desk.names import Names, count
from api.pages.addresses import build_record_address
from api.pages.framework_parts import list_trail, narrow
from api.pages.page import Link, Page
from ontology.snapshot.search import list_by_name
from ontology.snapshot.snapshot import Snapshot

__all__ = ["GROUPED_BY", "Branch", "TreeView", "build_view", "describe_tree", "write_branches"]

#: Levels of a tree in one page.
_DEPTH: Final = 3
#: Branches of one branch that a page names, branches below the first level in all, and those of the first level.
_WIDEST: Final = 60
_ROOM: Final = 160
_FIRST: Final = 40
#: Table -> the column by which its tree is narrowed to one branch.
GROUPED_BY: Final = {"competencies": "broader", "roles": "family", "courses": "method", "scales": "scale"}
_UNSAID: Final = {"roles": "No family", "courses": "Not said how"}


@dataclass(frozen=True, slots=True)
class Branch:
    """A place in the tree: where it leads, how much is below it, its branches, where the rest of these stand."""

    words: str
    address: str = ""
    below: str = ""
    branches: tuple[Branch, ...] = ()
    rest: Link | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TreeView:
    """All that the page of a tree shows."""

    title: str
    lead: str
    branches: tuple[Branch, ...]
    acts: tuple[Link, ...]
    pages: tuple[Link, ...]
    above: tuple[Link, ...]
    revision: int


def build_view(snapshot: Snapshot, table: str, only: str = "", page: int = 1) -> TreeView:
    """Return the tree of a table.

    Parameters
    ----------
    snapshot : Snapshot
    table : str
        One of `GROUPED_BY`.
    only : str
        The one branch shown: of competencies a broader one, else a family, a way it is held, a scale; "" for all.
    page : int
        Of branches of the first level; beyond the last one it is the last.

    Notes
    -----
    O(branches shown), and O(n log n) once for a Snapshot.
    """
    names, more = Names(snapshot), {GROUPED_BY[table]: only} if only else {}
    tops, build = _TREES[table](snapshot, names, only)
    last = max(1, -(-len(tops) // _FIRST))
    page = min(page, last)
    steps = (("Before", page - 1),) * (page > 1) + (("Next", page + 1),) * (page < last)
    one = {"competencies": "competency", "roles": "role", "courses": "course", "scales": "scale"}[table]
    above = names.refs("competencies", snapshot.competencies[only].broader).items if _is_competency(table, only) else ()
    return TreeView(
        title=names.competency(only) if _is_competency(table, only) else table.capitalize(),
        lead=_tell(snapshot, table, only, len(tops), names),
        branches=build(tops[(page - 1) * _FIRST : page * _FIRST]),
        acts=(
            Link(f"Add a {one}", f"/new/{table}"),
            Link("Show as a list", narrow(table, **more) if more and table != "scales" else f"/{table}"),
        ),
        pages=tuple(Link(words, _address(table, only, number)) for words, number in steps),
        above=tuple(Link(ref.name, _address(table, ref.id)) for ref in above),
        revision=snapshot.revision,
    )


def _is_competency(table: str, only: str) -> bool:
    return table == "competencies" and bool(only)


def _address(table: str, only: str, page: int = 1) -> str:
    asked = {"show": "tree"} | ({GROUPED_BY[table]: only} if only else {}) | ({"page": str(page)} if page > 1 else {})
    return f"/{table}?{urlencode(asked)}"


def _tell(snapshot: Snapshot, table: str, only: str, tops: int, names: Names) -> str:
    """Return the first sentence: what stands at the top, and of how much."""
    if table == "competencies":
        told = count(tops, "competency", "competencies")
        if only:
            return f"{told} {'is' if tops == 1 else 'are'} part of {names.competency(only)}."
        return f"{told} at the top, {len(snapshot.competencies):,} in all."
    if table == "roles":
        return f"{count(len(snapshot.roles), 'role')} in {count(tops, 'family', 'families')}."
    if table == "courses":
        return f"{count(len(snapshot.courses), 'course')}, held in {count(tops, 'way')}."
    return f"{count(len(snapshot.scales), 'scale')}."


_Builder = Callable[[Sequence[str]], tuple[Branch, ...]]


def _plant_competencies(snapshot: Snapshot, names: Names, only: str) -> tuple[list[str], _Builder]:
    """Return the competencies of the first level, and what makes their branches."""

    def list_narrower(competency_id: str) -> list[str]:
        return sorted(snapshot.get_narrower(competency_id), key=lambda i: (names.competency(i), i))

    tops = list_narrower(only) if only else snapshot.keep("top competencies", lambda: _list_tops(snapshot))

    def build(first: Sequence[str]) -> tuple[Branch, ...]:
        opened = _open(first, list_narrower)
        return tuple(_build_competency(snapshot, names, i, opened, _DEPTH - 1) for i in first)

    return tops, build


def _list_tops(snapshot: Snapshot) -> list[str]:
    return [i for i in list_by_name(snapshot, "competencies") if not snapshot.competencies[i].broader]


def _open(first: Sequence[str], list_narrower: Callable[[str], list[str]]) -> dict[str, list[str]]:
    """Return the competencies whose branches the page holds, level by level, until it has no room for more."""
    opened: dict[str, list[str]] = {}
    room, level = _ROOM, list(first)
    for _ in range(_DEPTH - 1):
        below: list[str] = []
        for competency_id in level:
            narrower = list_narrower(competency_id)[:_WIDEST] if competency_id not in opened else []
            if narrower and len(narrower) <= room:
                room -= len(narrower)
                opened[competency_id] = narrower
                below += narrower
        level = below
    return opened


def _build_competency(
    snapshot: Snapshot, names: Names, competency_id: str, opened: Mapping[str, Sequence[str]], depth: int
) -> Branch:
    total = len(snapshot.get_narrower(competency_id))
    shown = opened.get(competency_id, ()) if depth else ()
    branches = tuple(_build_competency(snapshot, names, i, opened, depth - 1) for i in shown)
    whole = Link(f"All {total:,}" if shown else f"{total:,} narrower", _address("competencies", competency_id))
    return Branch(
        words=names.competency(competency_id),
        address=build_record_address("competencies", competency_id),
        below=f"{total:,} narrower" if total else "",
        branches=branches,
        rest=whole if total > len(shown) else None,
    )


def _plant_groups(table: str, one: str) -> Callable[[Snapshot, Names, str], tuple[list[str], _Builder]]:
    """Return what makes the tree of a table whose records are in groups by a text."""

    def plant(snapshot: Snapshot, names: Names, only: str) -> tuple[list[str], _Builder]:
        groups = snapshot.get_roles_of_family if table == "roles" else snapshot.get_courses_of_method
        # those that say nothing stand last
        tops = [only] if only else sorted(groups, key=lambda text: (not text, text.casefold(), text))

        def build(first: Sequence[str]) -> tuple[Branch, ...]:
            room, branches = _ROOM, []
            for text in first:
                records = groups(text)
                named = sorted([(record.label, record.id) for record in records]) if room else []
                shown = named[: min(_WIDEST, room)]
                room -= len(shown)
                address = narrow(table, **{GROUPED_BY[table]: text}) if text else ""
                told = count(len(records), one)
                leaves = tuple([Branch(name or i, build_record_address(table, i)) for name, i in shown])
                rest = Link(f"All {told}", address or f"/{table}") if len(records) > len(shown) else None
                branches.append(Branch(text or _UNSAID[table], address, told, leaves, rest))
            return tuple(branches)

        return tops, build

    return plant


def _plant_scales(snapshot: Snapshot, names: Names, only: str) -> tuple[list[str], _Builder]:
    """Return the scales, and what makes their branches: their levels."""

    def build(first: Sequence[str]) -> tuple[Branch, ...]:
        return tuple(
            Branch(
                scale_id,
                build_record_address("scales", scale_id),
                count(len(snapshot.scales[scale_id]), "level"),
                tuple(Branch(f"{step.rank} {step.label}") for step in snapshot.scales[scale_id]),
            )
            for scale_id in first
        )

    return [only] if only else list(snapshot.scales), build


_TREES: Final[Mapping[str, Callable[[Snapshot, Names, str], tuple[list[str], _Builder]]]] = {
    "competencies": _plant_competencies,
    "roles": _plant_groups("roles", "role"),
    "courses": _plant_groups("courses", "course"),
    "scales": _plant_scales,
}


def write_branches(branches: Sequence[Branch]) -> Markup:
    """Return the items of a tree: written by hand and not by a template, since there may be hundreds. O(branches)."""
    return Markup("".join(map(_write_branch, branches)))


def _write_branch(one: Branch) -> str:
    name = _write_link(one.words, one.address) if one.address else escape(one.words)
    rest = _write_link(one.rest.words, one.rest.address) if one.rest is not None else ""
    if not one.branches:
        return f"<li>{name} <small>{rest or escape(one.below)}</small></li>\n"
    last = f"<li>{rest}</li>" if rest else ""
    below = f"<ul>{write_branches(one.branches)}{last}</ul>"
    return f"<li>{name}\n<details><summary>{escape(one.below)}</summary>{below}</details></li>\n"


def _write_link(words: str, address: str) -> str:
    return f'<a href="{escape(address)}">{escape(words)}</a>'


def describe_tree(view: TreeView, table: str, is_whole: bool) -> Page:
    """Return the page of a tree; `is_whole`: not of one branch alone."""
    trail = list_trail(table)
    values = {"view": view, "tree": write_branches(view.branches)}
    return Page("framework_tree.html", values, way="framework", trail=trail[:1] if is_whole else trail)
