"""The lists below a learning path: courses without lines, other ways, what is not reached."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Final, NamedTuple

from api.pictures.cards import cell, count_lines, listing, small, words
from api.pictures.names import Names
from api.pictures.path_steps import Step
from api.pictures.path_words import Lost, format_facts, format_level, format_levels, tell_step
from api.pictures.text import format_number, get_link
from ontology.analysis.paths.learning_path import LearningPathResult

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
    return [listing(_HEADERS[kind], [item.cells for item in same]) for kind, same in groupby(rows, lambda r: r.kind)]


def list_steps(names: Names, steps: Sequence[Step], *, has_order: bool) -> Iterator[ListRow]:
    """Yield courses as rows: with what each comes after, or in any order."""
    for step in steps:
        name = names.course(step.course.id)
        linked = cell(
            words(name, columns=_NAME), link=get_link("courses", step.course.id), tooltip=tell_step(names, step)
        )
        targets = format_levels(names, [(row.competency, row.level) for row in step.rows if row.is_target])
        facts = format_facts(names, step)
        after = ", ".join(map(str, step.needs)) or "nothing"
        cells = [words(f"{step.number}", bold=True), linked, small(facts, columns=_NAME)]
        cells += [small(after, columns=12)] * has_order + [small(targets, columns=_LONG)]
        heights = ((name, _NAME), (facts, _NAME), (targets, _LONG), (after, 12))
        yield ListRow("course" if has_order else "single", tuple(cells), max(count_lines(*each) for each in heights))


def list_rest(names: Names, result: LearningPathResult, lost: Sequence[Lost]) -> Iterator[ListRow]:
    """Yield other ways to the same levels, at most three, and the levels that are not reached."""
    for other in (result.alternatives or ())[:_MOST]:
        without, instead = names.join("courses", other.left_out), names.join("courses", other.added)
        more = f"{'+' if other.more_hours >= 0 else ''}{format_number(other.more_hours)} h"
        cells = (words(without, columns=_NAME), words(instead, columns=_LONG), words(more))
        yield ListRow("other", cells, max(count_lines(without, _NAME), count_lines(instead, _LONG)))
    for competency_id, level, why in lost:
        told = format_level(names, competency_id, level)
        link = get_link("competencies", competency_id)
        linked = cell(words(told, columns=_NAME), link=link, tooltip=f"{told}: {why}")
        height = max(count_lines(told, _NAME), count_lines(why, 2 * _NAME))
        yield ListRow("lost", (linked, small(why, columns=2 * _NAME)), height)
