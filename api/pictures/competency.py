"""A competency among its neighbours: where it is learned, who asks for it, at which level; what it is part of.

Its card stands in the middle with a port for each level; courses at the left and roles at the right are one table each,
with a section for each level.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Final, NamedTuple

from api.pictures import style
from api.pictures.cards import bar, card, cell, count_lines, gap, line, row, small, table, words
from api.pictures.frame import Frame, Picture
from api.pictures.names import Names
from api.pictures.paging import LINES_ACROSS, Layout, choose_sheet, split_rows
from api.pictures.role import format_levels
from api.pictures.text import TIE, format_count, format_number, get_link
from ontology.model.records import Competency
from ontology.snapshot.snapshot import Snapshot

#: Names in one column of a table on a screen, and in all; more are counted and stand behind the link.
_ONE_COLUMN: Final = 40
_MOST: Final = 80
_COLUMNS: Final = 36


class _Section(NamedTuple):
    """Where a name stands; `level` 0 has no port of its own."""

    port: str
    title: str
    level: int
    colour: str


class _Item(NamedTuple):
    """One course, role or narrower competency, and what is said of it beside its name, in words and where pointed."""

    section: _Section
    name: str
    note: str
    link: str
    tooltip: str
    told: str = ""


def build_competency_picture(
    snapshot: Snapshot, competency_id: str, *, layout: Layout = "screen", page: int = 1
) -> Picture:
    """Return the picture of a competency and everything one step away from it. O(k log k) for k neighbours."""
    competency, names = snapshot.require_competency(competency_id), Names(snapshot)
    courses = sorted(
        _iterate_courses(names, competency_id),
        key=lambda item: (item.section.level, item.section.title, item.name, item.link),
    )
    roles = [*_iterate_roles(names, competency_id), *_iterate_narrower(names, competency_id)]
    pages = [
        split_rows(items, LINES_ACROSS, lambda item: count_lines(item.name, _COLUMNS)) for items in (courses, roles)
    ]
    sheet = choose_sheet(max(map(len, pages)), layout, page)
    if layout == "screen":
        left, right = courses[:_MOST], roles[:_MOST]
    else:
        left, right = ([*side[page - 1]] if page <= len(side) else [] for side in pages)
    label, link = names.competency(competency_id), get_link("competencies", competency_id)
    broader = sorted(names.competency(i) for i in competency.broader if i in snapshot.competencies)
    answer = _tell(courses, roles)
    frame = Frame(label, answer, rank_gap=0.9, node_gap=0.18, sheet=sheet)
    _add_side(frame, "courses", left, courses, link)
    frame.add_node("middle", _build_middle(snapshot, competency, broader), tooltip=label, link=link)
    _add_side(frame, "roles", right, roles, link)
    for port, title, level, colour in dict.fromkeys(item.section for item in left):
        frame.add_edge(f"courses:{port}", f"middle:l{level}", colour=colour, width=1.6, tooltip=title)
    for port, title, level, colour in dict.fromkeys(item.section for item in right):
        tail = f"middle:l{level}" if level else "middle"
        frame.add_edge(tail, f"roles:{port}", colour=colour, width=1.6, is_dashed=not level, tooltip=title)
    notes = ["Beside a course: study hours."] * bool(left)
    notes += ["Beside a role: the level needed from the first day."] * any(item.section.level for item in right)
    sentences = [answer, *([f"Part of: {', '.join(broader)}."] if broader else [])]
    for section, items in groupby([*left, *right], key=lambda item: item.section):
        told = [f"{item.name} ({item.told})" if item.told else item.name for item in items]
        sentences.append(f"{section.title}: {'; '.join(told)}.")
    rest = len(courses) + len(roles) - len(left) - len(right)
    sentences += [f"Not drawn here: {rest}."] if rest else []
    return frame.finish(" ".join(sentences), notes=[" ".join(notes)])


def _iterate_courses(names: Names, competency_id: str) -> Iterator[_Item]:
    for outcome in names.snapshot.get_outcomes_of_competency(competency_id):
        course = names.snapshot.courses[outcome.course]
        verb, level = "renew" if outcome.renews else "reach", outcome.level
        section = _Section(f"{verb}{level}", f"Courses that {verb} level {level}", level, style.COURSE)
        name, hours = names.course(course.id), f"{format_number(course.hours)} h"
        tooltip = f"{name}: {hours}{f', {course.method}' if course.method else ''}"
        yield _Item(section, name, hours, get_link("courses", course.id), tooltip)


def _iterate_roles(names: Names, competency_id: str) -> Iterator[_Item]:
    asked = names.snapshot.get_requirements_of_competency(competency_id)
    for requirement in sorted(asked, key=lambda r: (r.level, -r.weight, r.role)):
        level, necessity = requirement.level, requirement.necessity
        section = _Section(f"ask{level}", f"Roles that ask level {level}", level, style.ROLE)
        name, told = names.role(requirement.role), f"{necessity}, {format_levels(requirement)}"
        note = f"from {requirement.entry_level}" + ("" if necessity == "essential" else f", {necessity}")
        yield _Item(section, name, note, get_link("roles", requirement.role), f"{name}: {told}", told)


def _iterate_narrower(names: Names, competency_id: str) -> Iterator[_Item]:
    section = _Section("narrower", "Narrower competencies", 0, style.COMPETENCY)
    for name, i in sorted((names.competency(i), i) for i in names.snapshot.get_narrower(competency_id)):
        yield _Item(section, name, "", get_link("competencies", i), name)


def _tell(courses: Sequence[_Item], roles: Sequence[_Item]) -> str:
    renewing = sum(item.section.port.startswith("renew") for item in courses)
    parts = [f"Reached by {format_count(len(courses) - renewing, 'course')}"]
    parts += [f"renewed by {format_count(renewing, 'course')}"] if renewing else []
    narrower = sum(not item.section.level for item in roles)
    parts.append(f"asked for by {format_count(len(roles) - narrower, 'role')}")
    parts += [format_count(narrower, "narrower competency", "narrower competencies")] if narrower else []
    return ", ".join(parts) + "."


def _build_middle(snapshot: Snapshot, competency: Competency, broader: Sequence[str]) -> str:
    rows = [line(words(competency.definition, columns=36))] if competency.definition else []
    facts = [f"part of: {name}" for name in broader]
    facts += ["certificate"] * competency.is_certificate + ["safety-critical"] * competency.safety
    rows += [line(small(fact, columns=38)) for fact in facts]
    for level in snapshot.scales.get(competency.scale, ()):
        named = words(f"{level.rank}{TIE}{TIE}{level.label}", bold=True, columns=34)
        rows.append(line(named, port=f"l{level.rank}", border=1, color=style.LINE, sides="T", cellpadding=6))
    return card(style.COMPETENCY, competency.label or competency.id, *rows, border=2, is_tinted=True)


def _add_side(frame: Frame, name: str, shown: Sequence[_Item], everything: Sequence[_Item], link: str) -> None:
    if not shown:
        return
    across = 2 if len(shown) > _ONE_COLUMN else 1
    span = 2 * across
    rows: list[str] = []
    for (port, title, _, colour), grouped in groupby(shown, key=lambda item: item.section):
        items = list(grouped)
        whole = sum(item.section.title == title for item in everything)
        count = f"{whole}" if whole == len(items) else f"{len(items)} of {whole}"
        head = line(words(f"{title} ({count})", bold=True), port=port, colspan=span, bgcolor=style.mix(colour))
        rows += [gap(6, span)] * bool(rows) + [bar(colour, span), head]
        for start in range(0, len(items), across):
            pair = items[start : start + across]
            rows.append(row(*map(_build_cells, pair), *[cell(colspan=2)] * (across - len(pair))))
    if rest := len(everything) - len(shown):
        more = f"and {rest} more: see the list of this competency"
        rows.append(line(small(more), colspan=span, link=link, tooltip=more))
    frame.add_node(name, table(*rows, border=1, colour=style.HAIR), tooltip=name.capitalize())


def _build_cells(item: _Item) -> str:
    named = cell(words(item.name, columns=_COLUMNS), link=item.link, tooltip=item.tooltip)
    return named + cell(small(item.note), align="RIGHT")
