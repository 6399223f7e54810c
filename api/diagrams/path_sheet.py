"""A learning path on sheets: courses that follow one another in a column. Imports learning_path, sheet, start.

A course stands below the course that makes it possible where there is one free; what else it needs is told on its card
by step.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Final

from api.diagrams import style
from api.diagrams.canvas import Picture
from api.diagrams.cards import Key, Line, build_note
from api.diagrams.learning_path import (
    CAUTION,
    Aim,
    build_description,
    build_subtitle,
    get_aims,
    get_reached_levels,
)
from api.diagrams.sheet import NAME_COLUMNS, NOTE_COLUMNS, Cell, Group, Layout
from api.diagrams.sheet_picture import SheetContent, build_sheet_picture
from api.diagrams.start import build_start_cell, get_start_name
from api.diagrams.text import TIE, format_count, format_number, get_link, get_node_name
from ontology.analysis.learning_path import LearningPathResult, PathCourse
from ontology.analysis.levels import Profile
from ontology.graph.snapshot import Snapshot

#: Courses in a row that a wide screen has room for.
LONGEST_CHAIN: Final = 4


def build_path_sheet(
    snapshot: Snapshot, profile: Profile, result: LearningPathResult, page: int = 1, layout: Layout = "paper"
) -> Picture:
    """Return one page of a learning path as a sheet.

    Raises
    ------
    PageError
        There is no such page.

    Notes
    -----
    O(c^2 + t) for c courses and t target levels.
    """
    aims = get_aims(snapshot, profile, result)
    reaches = get_reached_levels(snapshot, profile, result)
    start = get_start_name(snapshot, profile)
    target = snapshot.roles[result.role].label if result.role in snapshot.roles else "Target levels"
    unassessed = ", ".join(snapshot.competencies[i].label for i in result.assess_first)
    more = []
    if unassessed:
        count = format_count(len(result.assess_first), "competency", "competencies")
        more.append(Line(f"not assessed in {count}: assess first", columns=NOTE_COLUMNS, bold=True))
    return build_sheet_picture(
        SheetContent(
            f"Learning path of {start} to {target}" if result.role else f"Learning path of {start}",
            build_subtitle(result, aims),
            _build_keys(result, aims),
            CAUTION,
            build_start_cell(snapshot, profile, more, f"Assess first: {unassessed}" if unassessed else ""),
            style.PERSON if profile.kind == "person" else style.ROLE,
            [
                *_build_course_groups(snapshot, result, reaches, {f"{aim.label}{TIE}{aim.level}" for aim in aims}),
                *_build_aim_groups(result, target, aims),
            ],
            build_description(result, aims, reaches),
        ),
        page,
        layout,
    )


def _build_keys(result: LearningPathResult, aims: Sequence[Aim]) -> list[list[Key]]:
    keys = []
    if result.courses:
        keys.append(Key(style.COURSE.colour, "course, numbered in an order that can be followed", "box", sample="1"))
    if any(course.enables for course in result.courses):
        keys.append(Key(style.COURSE.colour, "arrow: makes the next course possible", "line"))
    if any(aim.step is None for aim in aims):
        keys.append(Key(style.NOT_REACHED.colour, "dashed: cannot be reached", "dashes"))
    return [keys]


def _build_course_groups(
    snapshot: Snapshot, result: LearningPathResult, reaches: Mapping[str, Sequence[str]], targets: set[str]
) -> list[Group]:
    steps = {course.id: step for step, course in enumerate(result.courses, start=1)}
    needed: defaultdict[str, list[int]] = defaultdict(list)
    for course in result.courses:
        for later in course.enables:
            needed[later].append(steps[course.id])
    groups: list[Group] = []
    single: list[Cell] = []
    for chain in find_chains(result.courses):
        cells = tuple(
            _build_course(snapshot, course, steps[course.id], needed[course.id], reaches[course.id], targets)
            for course in chain
        )
        if len(chain) == 1:
            single += cells
        else:
            words = f"Steps {', then '.join(str(steps[course.id]) for course in chain)}"
            groups.append(Group(f"chain/{steps[chain[0].id]}", words, cells, style.COURSE.colour, has_arrows=True))
    if single:
        groups.append(Group("single", f"Courses on their own ({len(single)})", tuple(single), style.COURSE.colour))
    return groups


def has_long_chain(result: LearningPathResult) -> bool:
    """Whether a path on one line would be wider than a screen: it is folded into columns then."""
    return max(map(len, find_chains(result.courses)), default=0) > LONGEST_CHAIN


def find_chains(courses: Sequence[PathCourse]) -> list[list[PathCourse]]:
    """Return the courses in chains, each making the next possible, in the order of their first steps."""
    free = {course.id: course for course in courses}
    chains = []
    for first in courses:
        if first.id not in free:
            continue
        chain = [free.pop(first.id)]
        while True:
            later = [course for course in courses if course.id in free and course.id in chain[-1].enables]
            if not later:
                break
            chain.append(free.pop(later[0].id))
        chains.append(chain)
    return chains


def _build_course(
    snapshot: Snapshot,
    course: PathCourse,
    step: int,
    needed: Sequence[int],
    reaches: Sequence[str],
    targets: set[str],
) -> Cell:
    method = snapshot.courses[course.id].method
    facts = [f"{format_number(course.study_hours)} h", *filter(None, [method])]
    if course.cost:
        facts.append(f"cost {format_number(course.cost)}")
    rows = [
        Line(course.label, style.NAME_PT, bold=True, columns=NAME_COLUMNS - 3, max_lines=None),
        build_note(", ".join(facts), NOTE_COLUMNS - 3),
    ]
    if needed:
        rows.append(Line(f"after step {', '.join(map(str, sorted(needed)))}", columns=NOTE_COLUMNS - 3, max_lines=None))
    words = ""
    if reaches:
        words = f"reaches {'; '.join(level + (' (target)' if level in targets else '') for level in reaches)}"
        rows.append(Line(words, columns=NOTE_COLUMNS - 3, max_lines=None))
    return Cell(
        get_node_name("course", course.id),
        tuple(rows),
        style.COURSE.colour,
        f"Step {step}: {course.label} ({course.id}), {', '.join(facts)}" + (f"; {words}" if words else ""),
        get_link("courses", course.id),
        style.COURSE,
        mark=str(step),
    )


def _build_aim_groups(result: LearningPathResult, target: str, aims: Sequence[Aim]) -> list[Group]:
    lost = [aim for aim in aims if aim.step is None]
    held = [aim for aim in aims if aim.step == 0]
    reached = len(aims) - len(lost) - len(held)
    rows = (
        Line(target, style.NAME_PT, bold=True, columns=NAME_COLUMNS, max_lines=None),
        Line(f"{format_count(len(aims), 'target level')}: {reached} reached by these courses", columns=NOTE_COLUMNS),
        Line(f"{len(held)} held already, {len(lost)} cannot be reached", columns=NOTE_COLUMNS),
    )
    link = get_link("roles", result.role) if result.role else ""
    cell = Cell("target", rows, style.ROLE.colour, f"Target: {target}", link, style.ROLE)
    return [
        Group("lost", f"Cannot be reached ({len(lost)})", tuple(map(_build_aim, lost)), style.NOT_REACHED.colour),
        Group("held", f"Held already ({len(held)})", tuple(map(_build_aim, held)), style.COMPETENCY.colour),
        Group("target", "Target", (cell,), style.ROLE.colour),
    ]


def _build_aim(aim: Aim) -> Cell:
    rows = [Line(f"{aim.label}{TIE}{aim.level}: {aim.words}", columns=NOTE_COLUMNS, max_lines=None)]
    if aim.reason:
        rows.append(build_note(aim.reason, NOTE_COLUMNS))
    return Cell(
        get_node_name("aim", aim.competency),
        tuple(rows),
        style.NOT_REACHED.colour if aim.step is None else style.COMPETENCY.colour,
        f"{aim.label} at level {aim.level}: {aim.reason or aim.words}",
        get_link("competencies", aim.competency),
        style.NOT_REACHED if aim.step is None else style.COMPETENCY,
        is_dashed=aim.step is None,
    )
