"""Courses of a learning path on sheets, told one by one: those that follow one another in a column.

Imports path_words, sheet, sheet_picture, start. A course stands below the course that makes it possible where there is
one free; what else it needs is told on its card by step.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence

from api.diagrams import old_style as style
from api.diagrams.old_cards import Key, Line, build_note
from api.diagrams.path_words import (
    CAUTION,
    Aim,
    build_description,
    build_subtitle,
    format_facts,
    format_level,
    get_reached_levels,
    get_title,
)
from api.diagrams.sheet import NAME_COLUMNS, NOTE_COLUMNS, Cell, Group
from api.diagrams.sheet_picture import SheetContent
from api.diagrams.start import build_start_cell, get_start_name
from api.diagrams.text import get_link, get_node_name
from ontology.analysis.paths.booking import BookedCourse
from ontology.analysis.paths.learning_path import LearningPathResult, PathCourse
from ontology.analysis.profiles.levels import Profile
from ontology.graph.snapshot import Snapshot


def build_path_content(
    snapshot: Snapshot, profile: Profile, result: LearningPathResult, aims: Sequence[Aim], steps: Collection[int]
) -> SheetContent:
    """Return these steps of a path (1..n) as the content of sheets.

    Notes
    -----
    O(c^2 + t) for c courses and t target levels.
    """
    reaches = get_reached_levels(snapshot, profile, result)
    target = snapshot.roles[result.role].label if result.role in snapshot.roles else "Target levels"
    return SheetContent(
        get_title(result, get_start_name(snapshot, profile), target),
        build_subtitle(result, aims),
        _build_keys(),
        CAUTION,
        build_start_cell(snapshot, profile),
        style.PERSON if profile.kind == "person" else style.ROLE,
        _build_course_groups(
            snapshot, result, reaches, {format_level(snapshot, aim.competency, aim.level) for aim in aims}, steps
        ),
        build_description(snapshot, result, aims, reaches),
    )


def _build_keys() -> list[list[Key]]:
    return [
        [
            Key(style.COURSE.colour, "course, numbered in an order that can be followed", "box", sample="1"),
            Key(style.COURSE.colour, "arrow: makes the next course possible", "line"),
        ]
    ]


def _build_course_groups(
    snapshot: Snapshot,
    result: LearningPathResult,
    reaches: Mapping[str, Sequence[str]],
    targets: set[str],
    shown: Collection[int],
) -> list[Group]:
    steps = {course.id: step for step, course in enumerate(result.taken, start=1)}
    needed: defaultdict[str, list[int]] = defaultdict(list)
    for course in result.taken:
        for later in course.enables:
            needed[later].append(steps[course.id])
    groups: list[Group] = []
    single: list[Cell] = []
    for chain in find_chains([course for course in result.taken if steps[course.id] in shown]):
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
    facts = format_facts(snapshot, course) + (", booked already" if isinstance(course, BookedCourse) else "")
    rows = [
        Line(course.label, style.NAME_PT, bold=True, columns=NAME_COLUMNS - 3, max_lines=None),
        build_note(facts, NOTE_COLUMNS - 3),
    ]
    if needed:
        rows.append(
            Line(f"needs all of step {', '.join(map(str, sorted(needed)))}", columns=NOTE_COLUMNS - 3, max_lines=None)
        )
    words = ""
    if reaches:
        words = f"reaches {'; '.join(level + (' (target)' if level in targets else '') for level in reaches)}"
        rows.append(Line(words, columns=NOTE_COLUMNS - 3, max_lines=None))
    return Cell(
        get_node_name("course", course.id),
        tuple(rows),
        style.COURSE.colour,
        f"Step {step}: {course.label} ({course.id}), {facts}" + (f"; {words}" if words else ""),
        get_link("courses", course.id),
        style.COURSE,
        mark=str(step),
    )
