"""The lists below a learning path: courses without lines, other ways, what is not reached. Imports path_words."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import Final, NamedTuple

from api.pictures.cards import cell, count_lines, listing, small, words
from api.pictures.path_steps import Step
from api.pictures.path_words import Lost, format_facts, format_level, format_levels, tell_step
from api.pictures.text import format_number, get_link, get_name
from ontology.analysis.paths.learning_path import LearningPathResult
from ontology.snapshot.snapshot import Snapshot

_HEADERS: Final = {
    "single": ("in any order", "course", "hours, kind, cost", "target levels"),
    "course": ("step", "course", "hours, kind, cost", "after", "target levels"),
    "other": ("instead of", "you can take", "more hours"),
    "lost": ("not reached", "why"),
}
#: Other ways at the most.
_MOST: Final = 3
_NAME: Final = 36
_LONG: Final = 44


class ListRow(NamedTuple):
    """A row of one of the lists: which list, its cells, and the lines of text it takes."""

    kind: str
    cells: tuple[str, ...]
    height: int


def build_lists(rows: Sequence[ListRow]) -> list[str]:
    """Return the lists that these rows are."""
    return [listing(_HEADERS[kind], [line.cells for line in same]) for kind, same in groupby(rows, lambda r: r.kind)]


def list_steps(snapshot: Snapshot, steps: Sequence[Step], *, has_order: bool) -> list[ListRow]:
    """Return courses as rows: with what each comes after, or in any order."""
    rows = []
    for step in steps:
        name = get_name(step.course.label, step.course.id)
        link = get_link("courses", step.course.id)
        linked = cell(words(name, columns=_NAME), link=link, tooltip=tell_step(snapshot, step))
        targets = format_levels(snapshot, [(row.competency, row.level) for row in step.rows if row.is_target])
        facts = format_facts(snapshot, step)
        after = ", ".join(map(str, step.needs)) or "nothing"
        cells = [words(f"{step.number}", bold=True), linked, small(facts, columns=_NAME)]
        cells += [small(after, columns=12)] * has_order + [small(targets, columns=_LONG)]
        height = max(count_lines(name, _NAME), count_lines(facts, _NAME), count_lines(targets, _LONG))
        rows.append(ListRow("course" if has_order else "single", tuple(cells), max(height, count_lines(after, 12))))
    return rows


def list_rest(snapshot: Snapshot, result: LearningPathResult, lost: Sequence[Lost]) -> list[ListRow]:
    """Return other ways to the same levels, at most three, and the levels that are not reached."""

    def name(ids: Sequence[str]) -> str:
        return ", ".join(get_name(snapshot.courses[i].label, i) for i in ids)

    rows = []
    for other in (result.alternatives or ())[:_MOST]:
        without, instead = name(other.left_out), name(other.added)
        more = f"{'+' if other.more_hours >= 0 else ''}{format_number(other.more_hours)} h"
        cells = (words(without, columns=_NAME), words(instead, columns=_LONG), words(more))
        rows.append(ListRow("other", cells, max(count_lines(without, _NAME), count_lines(instead, _LONG))))
    for competency_id, level, why in lost:
        told = format_level(snapshot, competency_id, level)
        link = get_link("competencies", competency_id)
        linked = cell(words(told, columns=_NAME), link=link, tooltip=f"{told}: {why}")
        height = max(count_lines(told, _NAME), count_lines(why, 2 * _NAME))
        rows.append(ListRow("lost", (linked, small(why, columns=2 * _NAME)), height))
    return rows
