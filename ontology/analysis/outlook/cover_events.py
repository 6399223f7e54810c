"""What happens on which day, and what to begin by when: the changes and acts of a timeline. Pure.

May import the rows.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Any

from ontology.analysis.outlook.cover_timeline_rows import (
    CoverAct,
    CoverChange,
    CoverInterval,
    NeedTimeline,
    SlotInterval,
    SlotTimeline,
    TimelineKind,
)

__all__ = ["iterate_acts", "iterate_changes"]


def iterate_changes(rows: Iterable[NeedTimeline | SlotTimeline]) -> Iterator[CoverChange]:
    """Yield every day on which a need changes its state, or more or fewer slots are filled, row by row."""
    for row in rows:
        intervals: Sequence[CoverInterval | SlotInterval] = row.intervals
        for before, after in pairwise(intervals):
            if before.depth != after.depth if isinstance(row, SlotTimeline) else before.state != after.state:
                yield CoverChange(
                    on=after.from_date,
                    **_name(row),
                    from_state=before.state,
                    to_state=after.state,
                    from_depth=before.depth,
                    to_depth=after.depth,
                    causes=after.causes,
                )


def iterate_acts(rows: Iterable[NeedTimeline | SlotTimeline]) -> Iterator[CoverAct]:
    """Yield the mend of every hole that has one, row by row; what is booked is no act any more."""
    for row in rows:
        for hole in row.holes:
            if hole.mend is not None and hole.mend.booked_session is None:
                yield CoverAct(
                    last_day_to_act=hole.mend.last_day_to_act,
                    is_late=hole.mend.is_late,
                    due=hole.mend.due,
                    person=hole.mend.person,
                    courses=hole.mend.courses,
                    **_name(row),
                )


def _name(row: NeedTimeline | SlotTimeline) -> dict[str, Any]:
    """Return what a row is about."""
    kind: TimelineKind = "need"
    place = together = None
    if isinstance(row, SlotTimeline):
        kind, place, together = row.kind, row.place, row.together
    return {
        "kind": kind,
        "place": place,
        "competency": row.competency,
        "level": row.level,
        "applies": row.applies,
        "together": together,
        "shift": row.shift,
        "criticality": row.criticality,
    }
