"""The stair of a way: study hours upwards over months, flat while a role teaches; numerals and no word.

The one picture that Graphviz does not draw: it is a plot. All stairs of a page share one scale.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

__all__ = ["Climb", "Scale", "build_scale", "write_stair"]

_WIDTH, _HEIGHT = 320.0, 132.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 34.0, 10.0, 12.0, 22.0
_RADIUS: Final = 9.0
_MONTHS_STEPS: Final = (1, 3, 6, 12, 24, 60, 120, 240)
_HOURS_STEPS: Final = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
#: Most lines across and up: more than these would crowd the numerals.
_MOST_ACROSS, _MOST_UP = 4, 3


@dataclass(frozen=True, slots=True)
class Climb:
    """One move: hours of study in so many months, then so many months in the role that teach by themselves."""

    study_hours: float
    study_months: float
    months_in_role: float


@dataclass(frozen=True, slots=True)
class Scale:
    """How much there is room for, and where the lines stand."""

    hours: float
    months: float
    hour_lines: tuple[int, ...]
    month_lines: tuple[int, ...]

    def get_x(self, months: float) -> float:
        """Return how far to the right so many months are."""
        return round(_LEFT + months / self.months * (_WIDTH - _LEFT - _RIGHT), 1)

    def get_y(self, hours: float) -> float:
        """Return how far down so many hours are."""
        return round(_HEIGHT - _BOTTOM - hours / self.hours * (_HEIGHT - _TOP - _BOTTOM), 1)


def build_scale(stairs: Iterable[Sequence[Climb]]) -> Scale:
    """Return one scale in which all these stairs have room.

    Examples
    --------
    >>> build_scale([[Climb(154, 5.9, 18), Climb(78, 3, 0)]]).month_lines
    (0, 6, 12, 18, 24)
    """
    hours = months = 0.0
    for stair in stairs:
        hours = max(hours, sum(climb.study_hours for climb in stair))
        months = max(months, sum(climb.study_months + climb.months_in_role for climb in stair))
    return Scale(
        hours=hours * 1.06 or 1.0,
        months=months * 1.04 or 1.0,
        hour_lines=_find_lines(hours, _HOURS_STEPS, _MOST_UP),
        month_lines=_find_lines(months, _MONTHS_STEPS, _MOST_ACROSS),
    )


def _find_lines(most: float, steps: Sequence[int], count: int) -> tuple[int, ...]:
    """Return 0 and the multiples of the smallest step of which no more than `count` stand up to the most."""
    step = next((step for step in steps if most / step < count + 1), math.ceil(most / count))
    return tuple(range(0, math.floor(most) + 1, step))


def write_stair(climbs: Sequence[Climb], scale: Scale, *, is_dashed: bool = False) -> Markup:
    """Return the plot as SVG: the numeral of a move in the middle of its flat part, of the last one at its end.

    It is shown as one thing with the words that tell it; the list of moves beside it says what the numerals are.
    """
    parts = [_write_lines(scale)]
    points, marks = [(0.0, 0.0)], list[tuple[float, float]]()
    for number, climb in enumerate(climbs, start=1):
        months, hours = points[-1]
        top = months + climb.study_months, hours + climb.study_hours
        points.append(top)
        if number < len(climbs):
            marks.append((top[0] + climb.months_in_role / 2, top[1]))
            points.append((top[0] + climb.months_in_role, top[1]))
        else:
            marks.append(top)
    line = " ".join(f"{scale.get_x(months)},{scale.get_y(hours)}" for months, hours in points)
    dashes = Markup(' stroke-dasharray="6 4"') if is_dashed else ""
    parts.append(Markup('<polyline class="climb" points="{}"{}/>').format(line, dashes))
    parts += [_write_mark(n, *mark, scale, is_last=n == len(marks)) for n, mark in enumerate(marks, start=1)]
    return Markup(
        '<svg class="stair" viewBox="0 0 {:g} {:g}" role="img" aria-label="{}" '
        'font-size="12" text-anchor="middle">{}</svg>'
    ).format(_WIDTH, _HEIGHT, tell_stair(climbs), Markup("").join(parts))


def tell_stair(climbs: Sequence[Climb]) -> str:
    """Return the stair in words, for who does not see it.

    Examples
    --------
    >>> tell_stair([Climb(154, 5.9, 18), Climb(78, 3, 0)])
    '1: 154 hours of study in 5.9 months, then 18 months in the role. 2: 78 hours of study in 3 months.'
    """
    told = []
    for number, climb in enumerate(climbs, start=1):
        flat = f", then {climb.months_in_role:g} months in the role" if number < len(climbs) else ""
        hours, months = round(climb.study_hours, 1), round(climb.study_months, 1)
        told.append(f"{number}: {hours:g} hours of study in {months:g} months{flat}.")
    return " ".join(told)


def _write_lines(scale: Scale) -> Markup:
    right, bottom = scale.get_x(scale.months), scale.get_y(0)
    lines = [
        Markup('<path class="line" d="M{:g} {:g}H{:g}"/><text x="{:g}" y="{:g}" text-anchor="end">{}</text>').format(
            _LEFT, scale.get_y(hours), right, _LEFT - 6, scale.get_y(hours) + 4, hours
        )
        for hours in scale.hour_lines
    ]
    lines += [
        Markup('<path class="line" d="M{:g} {:g}V{:g}"/><text x="{:g}" y="{:g}">{}</text>').format(
            scale.get_x(months), _TOP - 4, bottom, scale.get_x(months), bottom + 16, months
        )
        for months in scale.month_lines
    ]
    return Markup("").join(lines)


def _write_mark(number: int, months: float, hours: float, scale: Scale, *, is_last: bool) -> Markup:
    x, y = scale.get_x(months), scale.get_y(hours)
    dot = Markup('<circle class="{}" cx="{:g}" cy="{:g}" r="{:g}"/>').format(
        "end" if is_last else "stay", x, y, _RADIUS
    )
    numeral = Markup('<text class="{}" x="{:g}" y="{:g}">{}</text>')
    return dot + numeral.format("on" if is_last else "of", x, y + 4, number)
