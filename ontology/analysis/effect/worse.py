"""Whether a course only got worse: then a plan without it stays the cheapest, and nothing comes in reach. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from ontology.analysis.effect.telling import TELLING_COLUMNS, Edits
from ontology.model.tables import TABLES

__all__ = ["is_only_worse"]

#: What may grow without making a plan cheaper, or possible that was not.
_PRICES: Final = frozenset({"hours", "coach_hours", "cost", "weeks"})


def is_only_worse(course_id: str, edits: Edits) -> bool:
    """Whether all that changed of a course makes it dearer, longer, teach less, ask more, or go."""
    if any(row.course == course_id for pair in edits.get("sessions", {}).values() for row in pair if row is not None):
        return False
    course = edits.get("courses", {}).get((course_id,))
    if course is not None and course[1] is None:
        return True
    if course is not None and not _is_worse_course(*course):
        return False
    outcomes = all(_is_worse_outcome(old, new) for old, new in _iterate_of(course_id, "outcomes", edits))
    return outcomes and all(
        _is_worse_asking(old, new) for old, new in _iterate_of(course_id, "entry_conditions", edits)
    )


def _iterate_of(course_id: str, table: str, edits: Edits) -> Iterator[tuple[Any, Any]]:
    return (pair for key, pair in edits.get(table, {}).items() if key[0] == course_id)


def _is_worse_course(old: Any, new: Any) -> bool:
    if old is None:
        return False
    for column in TABLES["courses"].columns:
        before, now = getattr(old, column.attribute), getattr(new, column.attribute)
        if before == now or column.name in TELLING_COLUMNS:
            continue
        if column.name not in _PRICES or before is None or now is None or now < before:
            return False
    return True


def _is_worse_outcome(old: Any, new: Any) -> bool:
    if new is None:
        return True
    # a lower level is renewed by more people
    return old is not None and not old.renews and bool(new.level <= old.level)


def _is_worse_asking(old: Any, new: Any) -> bool:
    return new is not None and (old is None or bool(new.level >= old.level))
