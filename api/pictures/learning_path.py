"""A learning path: what first, what then, what else could be taken.

A node for each course, with the levels it brings that matter; a line from the first course that brings a level to each
course that asks it, and all lines into a course are needed. Large paths have cards without rows, courses without lines
in one list; very large ones are a list. On paper it goes on by ranks, then by rows of its lists.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final, NamedTuple

from api.pictures import style
from api.pictures.cards import cell, count_lines, line, row, small, table, words
from api.pictures.frame import NO_PERMISSION, Frame, Picture
from api.pictures.names import Names
from api.pictures.paging import Layout, choose_sheet
from api.pictures.path_lists import ListRow, build_lists, list_rest, list_steps
from api.pictures.path_steps import BroughtRow, Step, build_steps, rank_steps
from api.pictures.path_words import (
    Lost,
    describe_path,
    find_other_courses,
    format_facts,
    format_level,
    format_levels,
    format_purpose,
    get_start_name,
    list_lost,
    list_proofs,
    tell_path,
    tell_step,
)
from api.pictures.text import format_count, get_link, get_node_name
from ontology.analysis.paths.learning_path import LearningPathResult
from ontology.analysis.profiles.profile import Profile
from ontology.snapshot.snapshot import Snapshot

#: From so many courses on: cards without rows, and courses without lines in a list; a list only.
_MANY: Final = 15
_TOO_MANY: Final = 61
_MOST_ROWS: Final = 6
#: Ranks beside each other, of cards with rows and of cards without; what is deeper goes on below, or on the next page.
_RANKS: Final = {True: 4, False: 5}
#: Ranks that courses without lines fill, and lines up to which a rank is not high.
_FREE_RANKS: Final = 3
_LOW: Final = 20
#: Characters in a line of a card, by ranks beside each other.
_COLUMNS: Final = {True: (30, 30, 30, 30, 18), False: (30, 30, 30, 30, 24, 18)}
#: Lines a page holds.
_LINES: Final = 33
_KEYS: Final = (
    (style.COURSE, "course, numbered in an order that can be followed"),
    (style.COMPETENCY, "arrow: all arrows into a course are needed"),
    (style.ROLE, "target level"),
)


class _Path(NamedTuple):
    """A path with what is drawn of it as a graph; `has_rows`: the cards say which levels they bring."""

    names: Names
    result: LearningPathResult
    steps: list[Step]
    drawn: list[Step]
    has_rows: bool


def build_learning_path_picture(
    snapshot: Snapshot, profile: Profile, result: LearningPathResult, *, layout: Layout = "screen", page: int = 1
) -> Picture:
    """Return the picture of a learning path; the profile is the one the answer was computed for."""
    names = Names(snapshot)
    path = _read(names, profile, result)
    held = [(i, level) for i, level in sorted(result.targets.items()) if profile.get(i) >= level]
    lost = list_lost(names, path.steps, held, result)
    listed = [step for step in path.steps if step not in path.drawn]
    rows = [*list_steps(names, listed, has_order=not path.drawn), *list_rest(names, result, lost)]
    notes = _build_notes(path, held, lost)
    pages = [(path.drawn, rows)] if layout == "screen" else _split_pages(path, rows, notes)
    sheet = choose_sheet(len(pages), layout, page)
    shown, told = pages[page - 1]
    title = f"Learning path of {get_start_name(names, profile)}"
    title += f" to {names.role(result.role)}" if result.role in snapshot.roles else ""
    node_gap = 0.12 if path.has_rows else 0.07
    frame = Frame(title, tell_path(result, len(lost)), rank_gap=0.35, node_gap=node_gap, sheet=sheet)
    _add_steps(frame, path, shown)
    return frame.finish(
        describe_path(names, result, path.steps, held, lost),
        lists=build_lists(told),
        legend_keys=_KEYS if shown else (),
        notes=[*notes, f"An offer to learn, not a promise of a post. {NO_PERMISSION}"],
    )


def _read(names: Names, profile: Profile, result: LearningPathResult) -> _Path:
    steps = build_steps(names.snapshot, profile, result)
    if len(steps) < _MANY and max(rank_steps(steps).values(), default=0) < _RANKS[True]:
        return _Path(names, result, steps, steps, has_rows=True)
    needed = {number for step in steps for number in step.needs}
    drawn = [step for step in steps if len(steps) < _TOO_MANY and (step.needs or step.number in needed)]
    return _Path(names, result, steps, drawn, has_rows=False)


def _build_notes(path: _Path, held: Sequence[tuple[str, int]], lost: Sequence[Lost]) -> list[str]:
    whole = len(path.result.targets)
    told = []
    if path.steps:
        count = whole - len(held) - len(lost)
        verb = "is" if count == 1 else "are"
        told.append(f"Of {format_count(whole, 'target level')} {count} {verb} reached by these courses.")
    told += [f"Held already: {format_levels(path.names, held)}."] if held else []
    free = [f"{step.number}" for step in path.drawn if not step.needs]
    told += [f"Nothing has to come before {', '.join(free)}."] if free else []
    return [" ".join(told), *list_proofs(path.names, path.result)]


def _split_pages(path: _Path, rows: Sequence[ListRow], notes: Sequence[str]) -> list[tuple[list[Step], list[ListRow]]]:
    """Return the steps and the rows of lists of each page: by ranks, then by rows."""
    room = max(_LINES - sum(count_lines(note, style.NOTE_COLUMNS) for note in notes), _LINES // 2)
    pages: list[tuple[list[Step], list[ListRow]]] = [([], [])]
    ranks = rank_steps(path.drawn)
    for step in sorted(path.drawn, key=lambda step: (ranks[step.number], step.number)):
        steps = sorted([*pages[-1][0], step], key=lambda step: step.number)
        if len(steps) > 1 and not _is_fitting(path, steps, room):
            pages.append(([], []))
            steps = [step]
        pages[-1] = (steps, [])
    _, taken = _place(path, pages[-1][0])
    kind = ""
    for item in rows:
        needed = item.height + (2 if item.kind != kind else 0)
        if taken and taken + needed > room:
            pages.append(([], []))
            taken, needed = 0, item.height + 2
        pages[-1][1].append(item)
        taken, kind = taken + needed, item.kind
    return pages


def _is_fitting(path: _Path, steps: Sequence[Step], room: int) -> bool:
    ranks, height = _place(path, steps)
    return max(ranks.values()) < _RANKS[path.has_rows] and height <= room


def _count_lines(path: _Path, step: Step) -> int:
    rows = min(_MOST_ROWS, len(step.rows)) + 1 if path.has_rows else bool(step.targets)
    return count_lines(path.names.course(step.course.id), _COLUMNS[path.has_rows][-1]) + rows + 1


def _place(path: _Path, steps: Sequence[Step]) -> tuple[dict[int, int], int]:
    """Return the rank of each step, and the lines of text in the tallest; steps without lines fill the lowest ranks."""
    ranks = rank_steps(steps)
    needed = {number for step in steps for number in step.needs}
    free = [step for step in steps if step.number not in needed and not any(number in ranks for number in step.needs)]
    bound = [step for step in steps if step not in free]
    deepest = max((ranks[step.number] for step in bound), default=0)
    taken = Counter(dict.fromkeys(range(max(_FREE_RANKS, deepest + 1)), 0))
    for step in bound:
        taken[ranks[step.number]] += _count_lines(path, step)
    for step in free:
        lines = _count_lines(path, step)

        def rate(rank: int, lines: int = lines) -> tuple[int, bool, int, int]:
            # beside what has lines as long as that is not high
            return max(taken[rank] + lines, _LOW), rank > deepest, taken[rank], rank

        ranks[step.number] = min(taken, key=rate)
        taken[ranks[step.number]] += lines
    return ranks, max(taken.values())


def _add_steps(frame: Frame, path: _Path, shown: Sequence[Step]) -> None:
    """Add the steps; a graph that is too deep is folded: it goes on below, and lines between the parts are words."""
    most = _RANKS[path.has_rows]
    ranks, _ = _place(path, shown)
    columns = _COLUMNS[path.has_rows][min(max(ranks.values(), default=0) + 1, most)]
    parts = {number: rank // most for number, rank in ranks.items()}
    for step in sorted(shown, key=lambda step: (parts[step.number], step.number)):
        beside = {number for number in step.needs if parts.get(number) == parts[step.number]}
        link, told = get_link("courses", step.course.id), tell_step(path.names, step)
        frame.add_node(_node(step), _build_card(path, step, beside, columns), tooltip=told, link=link)
        for number in sorted(beside):
            frame.add_edge(
                _node(path.steps[number - 1]),
                _node(step),
                colour=style.COMPETENCY,
                width=min(1 + 0.6 * len(step.needs[number]), 4),
                tooltip=format_levels(path.names, step.needs[number]),
            )
    # left to itself dot may make a graph deeper than its longest chain
    frame.set_ranks([[_node(step) for step in shown if ranks[step.number] % most == rank] for rank in range(most)])


def _node(step: Step) -> str:
    return get_node_name("course", step.course.id)


def _build_card(path: _Path, step: Step, beside: set[int], columns: int) -> str:
    ground = {"bgcolor": style.mix(style.COURSE, 0.13)}
    name = words(path.names.course(step.course.id), bold=True, columns=columns, ends_line=True)
    facts = small(format_facts(path.names, step), columns=columns + 10)
    rows: list[str] = []
    if path.has_rows:
        shown = [brought for brought in step.rows if brought.counts][:_MOST_ROWS]
        rows += [_build_row(path, brought, columns) for brought in shown]
        if rest := [(brought.competency, brought.level) for brought in step.rows if brought not in shown]:
            told = format_levels(path.names, rest)
            rows.append(line(small(f"and {len(rest)} more"), colspan=2, tooltip=told))
    elif step.targets:
        told = format_count(step.targets, "target level")
        rows.append(line(small(told, colour=style.ROLE, bold=True), colspan=2, bgcolor=style.mix(style.ROLE)))
    if elsewhere := [f"{number}" for number in step.needs if number not in beside]:
        rows.append(line(small(f"after {', '.join(elsewhere)}", columns=columns + 10), colspan=2))
    look = {"align": "CENTER", "valign": "TOP", "bgcolor": style.mix(style.COURSE, 0.45)}
    number = words(f"{step.number}", size=style.NUMBER_PT, bold=True)
    mark = cell(number, rowspan=1 + len(rows), width=24, cellpadding=4, **look)
    head = cell(name + facts, colspan=2, cellpadding=3, **ground)
    return table(row(mark, head), *rows, border=1, colour=style.COURSE)


def _build_row(path: _Path, brought: BroughtRow, columns: int) -> str:
    ground = {"bgcolor": style.mix(style.ROLE)} if brought.is_target else {}
    level = format_level(path.names, brought.competency, brought.level)
    others = find_other_courses(path.names, brought.competency, brought.level, {s.course.id for s in path.steps})
    told = f"{level}: {format_purpose(brought)}" + (f"; taught too by {others}" if others else "")
    colour = style.ROLE if brought.is_target else style.QUIET
    purpose = small(format_purpose(brought), columns=16, bold=brought.is_target, colour=colour)
    link = get_link("competencies", brought.competency)
    return row(
        cell(words(level, columns=columns + 4), link=link, tooltip=told, **ground),
        cell(purpose, align="RIGHT", **ground),
    )
