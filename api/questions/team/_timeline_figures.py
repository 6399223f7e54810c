"""Cover over time in figures: days on which nothing but people changed are one stretch, a hole is told once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

from ontology.analysis.outlook.cover_timeline_rows import (
    CoverInterval,
    CoverTimelineResult,
    NeedTimeline,
    SlotInterval,
    SlotTimeline,
)

_R = TypeVar("_R", NeedTimeline, SlotTimeline)
_I = TypeVar("_I", CoverInterval, SlotInterval)


def join_days(result: CoverTimelineResult, least: int) -> CoverTimelineResult:
    """Return cover over time without the days on which a figure changes that is not told."""
    needs = (
        replace(row, intervals=_join(row.intervals, min(one.depth for one in row.intervals) < least))
        for row in result.needs
    )
    slots = (
        replace(row, intervals=_join(row.intervals, min(one.filled for one in row.intervals) < least))
        for row in result.slots
    )
    return replace(
        result,
        needs=tuple(map(_keep_first, needs)),
        slots=tuple(map(_keep_first, slots)),
        changes=tuple(change for change in result.changes if change.from_state != change.to_state),
    )


def _keep_first(row: _R) -> _R:
    """Return a need or place with each of its holes once, for however many people are missing."""
    return replace(row, holes=tuple(hole for hole in row.holes if hole.lacking == 1))


def _join(intervals: Sequence[_I], is_hidden: bool) -> tuple[_I, ...]:
    """Return stretches of days, those of one state joined where how many there are is hidden."""
    joined: list[_I] = []
    for one in intervals:
        if is_hidden and joined and joined[-1].state == one.state:
            joined[-1] = replace(joined[-1], to_date=one.to_date)
        else:
            joined.append(one)
    return tuple(joined)
