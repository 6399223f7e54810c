"""Where the cards of a ladder stand: lanes from the bottom up, time to the right, rows so that nothing overlaps.

Imports ladder_parts and ladder_order. The axis is even where there is room and stretched where cards would overlap: a
card's left edge is its time, and whatever comes later stands no further left.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from api.diagrams.ladder_order import order_rows
from api.diagrams.ladder_parts import APPROACH, LANE_GAP, LANE_SIDE, ROW_GAP, TURN, Row, Rung

#: Steps between marks of the axis, in months; marks stand no closer than this, in points.
_MONTH_STEPS: Final = (1, 2, 3, 6, 12, 24, 60, 120)
_MOST_MARKS: Final = 14
_CLOSEST_MARKS: Final = 26
#: Points free at both ends.
SIDE: Final = 5


@dataclass(frozen=True, slots=True)
class Lane:
    """A band of rows with its name in words."""

    key: str
    top: float
    height: float


@dataclass(frozen=True, slots=True)
class Ladder:
    """A ladder with every card in its place; `width` and `height` in points.

    `evenness` is the share of the width that is even in time; the rest is stretched for the cards.
    """

    rungs: Sequence[Rung]
    rows: Sequence[Row]
    lanes: Sequence[Lane]
    marks: Sequence[tuple[float, float]]
    width: float
    height: float
    evenness: float


def arrange_ladder(rungs: Sequence[Rung], lanes: Sequence[str], width: float, name_height: float) -> Ladder:
    """Return a ladder with its cards placed.

    Parameters
    ----------
    rungs : sequence of Rung
        The start first, every other one behind its parent.
    lanes : sequence of str
        Keys, from the top down.
    width : float
        The whole width wished for, in points: it is exceeded where the cards side by side are wider.
    name_height : float
        Points left free above the start, for the name of its lane; the others' names stand in its column.

    Notes
    -----
    O(n^2) for n cards.
    """
    times = sorted({rung.time for rung in rungs[1:] if rung.time is not None})
    start = rungs[0]
    start.x = SIDE
    origin = start.right + TURN + APPROACH
    low, high = 0.0, width / max(1.0, times[-1] if times else 1.0)
    for _ in range(30):
        scale = (low + high) / 2
        if _place_across(rungs, times, origin, scale) <= width:
            low = scale
        else:
            high = scale
    places = _place(rungs, times, origin, low)
    taken = _place_across(rungs, times, origin, low)
    ordered = order_rows([rows for lane in lanes if (rows := _build_rows(rungs, lane))])
    rows = [row for own in ordered for row in own]
    bands = _stack(rows, start.lane, name_height)
    height = bands[-1].top + bands[-1].height if bands else 0
    marks = _build_marks(times, places, origin, low)
    evenness = low * times[-1] / width if times else 1.0
    return Ladder(rungs, rows, bands, marks, max(taken, width) + SIDE, height, evenness)


def _place(rungs: Sequence[Rung], times: Sequence[float], origin: float, scale: float) -> list[float]:
    """Set where each card stands across; return the place of each time."""
    places: list[float] = []
    before, place = 0.0, origin
    waiting = list(rungs[1:])
    for time in times:
        place += scale * (time - before)
        before = time
        for rung in waiting:
            if rung.time == time and rung.parent is not None and rung.parent.time != time:
                place = max(place, rung.parent.right + TURN + APPROACH)
        # a move that takes no time stands behind the one before it, as if a moment later
        place = _place_level(waiting, time, place)
        places.append(place)
    for rung in waiting:
        if rung.time is None and rung.parent is not None:
            rung.x = max(place, rung.parent.right + TURN + APPROACH)
    return places


def _place_level(rungs: Sequence[Rung], time: float, place: float) -> float:
    for rung in rungs:
        if rung.time == time:
            rung.x = place
            if rung.parent is not None and rung.parent.time == time:
                rung.x = max(place, rung.parent.right + TURN + APPROACH)
    return max((rung.x for rung in rungs if rung.time == time), default=place)


def _place_across(rungs: Sequence[Rung], times: Sequence[float], origin: float, scale: float) -> float:
    _place(rungs, times, origin, scale)
    return max(rung.right for rung in rungs)


def _build_rows(rungs: Sequence[Rung], lane: str) -> list[Row]:
    """Return the rows of a lane: each card in the first one where it and the level line to it fit."""
    rows: list[Row] = []
    # lines from below cross least when those that begin further left end higher up
    own = [rung for rung in rungs if rung.lane == lane]
    own.sort(key=lambda rung: rung.parent.right if rung.parent else 0)
    for rung in own:
        row = next((row for row in rows if row.is_free(rung)), None)
        if row is None:
            row = Row(lane)
            rows.append(row)
        row.rungs.append(rung)
        row.height = max(row.height, rung.card.height)
    return rows


def _stack(rows: Sequence[Row], start_lane: str, name_height: float) -> list[Lane]:
    """Set the height at which each row and card stands; return the lanes."""
    bands = []
    y = 0.0
    numbered = enumerate(rows)
    for lane, own in groupby(numbered, key=lambda item: item[1].lane):
        top = y
        y += LANE_SIDE + (name_height if lane == start_lane else 0)
        for number, row in own:
            row.top = y
            for rung in row.rungs:
                rung.row = number
                rung.y = y + (row.height - rung.card.height) / 2
            y += row.height + ROW_GAP
        y += LANE_SIDE - ROW_GAP
        bands.append(Lane(lane, top, y - top))
        y += LANE_GAP
    return bands


def _build_marks(
    times: Sequence[float], places: Sequence[float], origin: float, scale: float
) -> list[tuple[float, float]]:
    """Return the marks of the axis: months and their place across."""
    if not times:
        return [(0.0, origin)]
    step = next((step for step in _MONTH_STEPS if times[-1] / step <= _MOST_MARKS), _MONTH_STEPS[-1])
    marks: list[tuple[float, float]] = []
    month = 0.0
    while month <= times[-1]:
        place = _interpolate(month, times, places, origin, scale)
        if not marks or place - marks[-1][1] >= _CLOSEST_MARKS:
            marks.append((month, place))
        month += step
    return marks


def _interpolate(month: float, times: Sequence[float], places: Sequence[float], origin: float, scale: float) -> float:
    after = bisect_right(times, month)
    if after == len(times):
        return places[-1] + (month - times[-1]) * scale
    low_time, low_place = (times[after - 1], places[after - 1]) if after else (0.0, origin)
    high_time, high_place = times[after], places[after]
    if high_time <= low_time:
        return high_place
    return low_place + (high_place - low_place) * (month - low_time) / (high_time - low_time)
