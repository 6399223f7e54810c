"""A competency among its neighbours: where it is learned, who asks for it, at which level; what it is part of.

Imports cards, frame, paging, role, style, text and the snapshot. Its card stands in the middle with a port for each
level; courses at the left and roles at the right are one table each, with a section for each level.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import Final, NamedTuple

from api.pictures import style
from api.pictures.cards import bar, card, cell, count_lines, gap, row, small, table, words
from api.pictures.frame import Frame, Picture
from api.pictures.paging import LINES_ACROSS, Layout, choose_sheet, split_rows
from api.pictures.role import format_levels
from api.pictures.text import TIE, format_count, format_number, get_link, get_name
from ontology.model.records import Competency
from ontology.snapshot.snapshot import Snapshot

#: Names in one column of a table on a screen, and in all; more are counted and stand behind the link.
_ONE_COLUMN: Final = 40
_MOST: Final = 80
_COLUMNS: Final = 36


class _Item(NamedTuple):
    """One course, role or narrower competency, and the section it stands in; `level` 0 has no port of its own."""

    section: str
    title: str
    level: int
    colour: str
    name: str
    note: str
    link: str
    tooltip: str
    told: str


def build_competency_picture(
    snapshot: Snapshot, competency_id: str, layout: Layout = "screen", page: int = 1
) -> Picture:
    """Return the picture of a competency and everything one step away from it.

    Raises
    ------
    UnknownIdError
        There is no such competency.
    PageError
        There is no such page.

    Notes
    -----
    O(k log k) for k neighbours; on a screen 80 on each side.
    """
    competency = snapshot.require_competency(competency_id)
    sides = (_list_courses(snapshot, competency_id), _list_roles(snapshot, competency_id))
    pages = [split_rows(items, LINES_ACROSS, _count_lines) for items in sides]
    sheet = choose_sheet(max(map(len, pages)), layout, page)
    if layout == "screen":
        left, right = (items[:_MOST] for items in sides)
    else:
        left, right = (list(side[page - 1]) if page <= len(side) else [] for side in pages)
    label = get_name(competency.label, competency.id)
    frame = Frame(label, _tell(*sides), rank_gap=0.9, node_gap=0.18, sheet=sheet)
    names = (("courses", left, sides[0]), ("roles", right, sides[1]))
    for name, shown, everything in names[:1]:
        _add_side(frame, name, shown, everything, competency)
    frame.add_node("middle", _build_middle(snapshot, competency), tooltip=label, link=_link(competency.id))
    for name, shown, everything in names[1:]:
        _add_side(frame, name, shown, everything, competency)
    for section, title, level, colour in dict.fromkeys(item[:4] for item in left):
        port = f"middle:l{level}"
        frame.add_edge(f"courses:{section}", port, colour=colour, width=1.6, tooltip=title)
    for section, title, level, colour in dict.fromkeys(item[:4] for item in right):
        tail = f"middle:l{level}" if level else "middle"
        frame.add_edge(tail, f"roles:{section}", colour=colour, width=1.6, is_dashed=not level, tooltip=title)
    notes = ["Beside a course: study hours."] * bool(left)
    notes += ["Beside a role: the level needed from the first day."] * any(item.level for item in right)
    return frame.finish(_describe(snapshot, competency, left, right, sides), notes=[" ".join(notes)])


def _link(competency_id: str) -> str:
    return get_link("competencies", competency_id)


def _list_courses(snapshot: Snapshot, competency_id: str) -> list[_Item]:
    items = []
    for outcome in snapshot.get_outcomes_of_competency(competency_id):
        course = snapshot.courses[outcome.course]
        verb = "renew" if outcome.renews else "reach"
        name = get_name(course.label, course.id)
        hours = f"{format_number(course.hours)} h"
        told = f"{name}: {hours}{f', {course.method}' if course.method else ''}"
        title = f"Courses that {verb} level {outcome.level}"
        section = f"{verb}{outcome.level}"
        link = get_link("courses", course.id)
        items.append(_Item(section, title, outcome.level, style.COURSE, name, hours, link, told, name))
    return sorted(items, key=lambda item: (item.level, item.title, item.name, item.link))


def _list_roles(snapshot: Snapshot, competency_id: str) -> list[_Item]:
    asked = sorted(snapshot.get_requirements_of_competency(competency_id), key=lambda r: (r.level, -r.weight, r.role))
    items = []
    for requirement in asked:
        role = snapshot.roles[requirement.role]
        name = get_name(role.label, role.id)
        level = requirement.level
        note = f"from {requirement.entry_level}"
        note += "" if requirement.necessity == "essential" else f", {requirement.necessity}"
        told = f"{name}: {requirement.necessity}, {format_levels(requirement)}"
        title, link = f"Roles that ask level {level}", get_link("roles", role.id)
        items.append(
            _Item(f"ask{level}", title, level, style.ROLE, name, note, link, told, told.removeprefix(f"{name}: "))
        )
    narrower = sorted((get_name(snapshot.competencies[i].label, i), i) for i in snapshot.get_narrower(competency_id))
    title = "Narrower competencies"
    items += [_Item("narrower", title, 0, style.COMPETENCY, name, "", _link(i), name, name) for name, i in narrower]
    return items


def _count_lines(item: _Item) -> float:
    return count_lines(item.name, _COLUMNS)


def _tell(courses: Sequence[_Item], roles: Sequence[_Item]) -> str:
    renewing = sum(item.section.startswith("renew") for item in courses)
    parts = [f"Reached by {format_count(len(courses) - renewing, 'course')}"]
    parts += [f"renewed by {format_count(renewing, 'course')}"] if renewing else []
    narrower = sum(not item.level for item in roles)
    parts.append(f"asked for by {format_count(len(roles) - narrower, 'role')}")
    parts += [format_count(narrower, "narrower competency", "narrower competencies")] if narrower else []
    return ", ".join(parts) + "."


def _list_broader(snapshot: Snapshot, competency: Competency) -> list[str]:
    return sorted(get_name(snapshot.competencies[i].label, i) for i in competency.broader if i in snapshot.competencies)


def _describe(
    snapshot: Snapshot,
    competency: Competency,
    left: Sequence[_Item],
    right: Sequence[_Item],
    sides: tuple[Sequence[_Item], Sequence[_Item]],
) -> str:
    sentences = [_tell(*sides)]
    broader = _list_broader(snapshot, competency)
    sentences += [f"Part of: {', '.join(broader)}."] if broader else []
    for title, items in groupby([*left, *right], key=lambda item: item.title):
        told = [item.name if item.told == item.name else f"{item.name} ({item.told})" for item in items]
        sentences.append(f"{title}: {'; '.join(told)}.")
    rest = sum(map(len, sides)) - len(left) - len(right)
    return " ".join(sentences) + (f" Not drawn here: {rest}." if rest else "")


def _build_middle(snapshot: Snapshot, competency: Competency) -> str:
    rows = []
    if competency.definition:
        rows.append(row(cell(words(competency.definition, columns=36))))
    facts = [f"part of: {name}" for name in _list_broader(snapshot, competency)]
    facts += ["certificate"] * competency.is_certificate + ["safety-critical"] * competency.safety
    rows += [row(cell(small(fact, columns=38))) for fact in facts]
    for level in snapshot.scales.get(competency.scale, ()):
        named = words(f"{level.rank}{TIE}{TIE}{level.label}", bold=True, columns=34)
        rows.append(row(cell(named, port=f"l{level.rank}", border=1, color=style.LINE, sides="T", cellpadding=6)))
    return card(style.COMPETENCY, competency.label or competency.id, *rows, border=2, is_tinted=True)


def _add_side(
    frame: Frame, name: str, shown: Sequence[_Item], everything: Sequence[_Item], competency: Competency
) -> None:
    if not shown:
        return
    across = 2 if len(shown) > _ONE_COLUMN else 1
    span = 2 * across
    rows: list[str] = []
    for title, grouped in groupby(shown, key=lambda item: item.title):
        items = list(grouped)
        count = sum(item.title == title for item in everything)
        told = f"{count}" if count == len(items) else f"{len(items)} of {count}"
        head = cell(
            words(f"{title} ({told})", bold=True),
            port=items[0].section,
            colspan=span,
            bgcolor=style.mix(items[0].colour),
        )
        rows += [gap(6, span)] * bool(rows) + [bar(items[0].colour, span), row(head)]
        for start in range(0, len(items), across):
            pair = items[start : start + across]
            rows.append(row(*map(_build_cells, pair), *[cell(colspan=2)] * (across - len(pair))))
    if rest := len(everything) - len(shown):
        more = f"and {rest} more: see the list of this competency"
        rows.append(row(cell(small(more), colspan=span, link=_link(competency.id), tooltip=more)))
    frame.add_node(name, table(*rows, border=1, colour=style.HAIR), tooltip=name.capitalize())


def _build_cells(item: _Item) -> str:
    named = cell(words(item.name, columns=_COLUMNS), link=item.link, tooltip=item.tooltip)
    return named + cell(small(item.note), align="RIGHT")
