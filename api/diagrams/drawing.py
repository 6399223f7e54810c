"""A picture whose every place is computed here: cards, frames and lines at exact points. Imports canvas, style, text.

The DOT text holds all positions, so the program only draws and never arranges: the same picture everywhere, and fast.
Points, x to the right and y down, as on a page; DOT counts y upwards.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, Final

import graphviz

from api.diagrams import old_style as style
from api.diagrams.canvas import Picture
from api.diagrams.old_cards import build_words
from api.diagrams.placed_cards import Card
from api.diagrams.text import build_comments, clean, to_tooltip

Point = tuple[float, float]

#: Comment of a picture whose places are in its text.
PLACED: Final = "draw with: neato -n2"
#: Points from the end of a line to the tip of its arrow, and the radius of a corner.
_ARROW: Final = 7.0
_CORNER: Final = 6.0


@dataclass(slots=True)
class Drawing:
    """One picture in the making. Statements come out in the order of the calls: same calls, same bytes."""

    title: str
    page: str = ""
    graph: Any = field(init=False)
    _frames: int = field(init=False, default=0)

    def __post_init__(self) -> None:
        graph_attr = {"bgcolor": "white", "charset": "UTF-8", "outputorder": "edgesfirst", "fontname": style.FONT}
        self.graph = graphviz.Digraph(
            name="picture",
            graph_attr=graph_attr | {"pad": f"{style.PAGE_PAD:g}" if self.page else "0.25"},
            node_attr=style.NODE_ATTRIBUTES,
            edge_attr=style.EDGE_ATTRIBUTES,
        )

    def add_card(self, name: str, x: float, y: float, card: Card, *, link: str = "", tooltip: str = "") -> None:
        """Add a card with its upper left corner at a point."""
        more = {"URL": link} if link else {}
        centre = _format(x + card.width / 2, y + card.height / 2)
        self.graph.node(name, label=card.markup, pos=centre, tooltip=to_tooltip(tooltip or " "), **more)

    def add_frame(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        *,
        ground: str = style.PAPER,
        border: str = style.HAIR,
        is_rounded: bool = True,
    ) -> None:
        """Add a ground behind cards; one without height or width is a rule. Frames lie behind everything."""
        self._frames += 1
        with self.graph.subgraph(name=f"cluster frame/{self._frames}") as frame:
            frame.attr(
                bb=f"{x:.1f},{-y - height:.1f},{x + width:.1f},{-y:.1f}",
                style="rounded,filled" if is_rounded else "filled",
                fillcolor=ground,
                color=border,
                penwidth="0.8",
                label="",
                tooltip=" ",
            )

    def add_line(
        self,
        tail: str,
        head: str,
        points: Sequence[Point],
        *,
        tooltip: str,
        mark: style.Mark,
        has_arrow: bool = True,
        words: Sequence[str] = (),
        words_at: Point = (0, 0),
    ) -> None:
        """Add a line through points, its corners rounded; `words` stand in the middle of `words_at`."""
        self._add_edge(
            tail,
            head,
            _round_corners(points, _ARROW if has_arrow else 0),
            points[-1],
            mark,
            tooltip,
            has_arrow=has_arrow,
            words=words,
            words_at=words_at,
        )

    def add_curve(
        self,
        tail: str,
        head: str,
        points: Sequence[Point],
        *,
        tooltip: str,
        mark: style.Mark,
        has_arrow: bool = True,
        is_upright: bool = False,
    ) -> None:
        """Add a line that swings from point to point, level at each (or plumb, when it leads down)."""
        stops = list(points)
        tip = stops[-1]
        if has_arrow:
            step = math.copysign(_ARROW, tip[1] - stops[-2][1] if is_upright else tip[0] - stops[-2][0])
            stops[-1] = (tip[0], tip[1] - step) if is_upright else (tip[0] - step, tip[1])
        curve = [stops[0]]
        for (x0, y0), (x1, y1) in pairwise(stops):
            if is_upright:
                middle = (y0 + y1) / 2
                curve += [(x0, middle), (x1, middle), (x1, y1)]
            else:
                middle = (x0 + x1) / 2
                curve += [(middle, y0), (middle, y1), (x1, y1)]
        self._add_edge(tail, head, curve, tip, mark, tooltip, has_arrow=has_arrow)

    def _add_edge(
        self,
        tail: str,
        head: str,
        curve: Sequence[Point],
        tip: Point,
        mark: style.Mark,
        tooltip: str,
        *,
        has_arrow: bool,
        words: Sequence[str] = (),
        words_at: Point = (0, 0),
    ) -> None:
        end = f"e,{_format(*tip)} " if has_arrow else ""
        tip_words = to_tooltip(tooltip)
        more = {"label": build_words(words), "lp": _format(*words_at)} if words else {}
        self.graph.edge(
            tail,
            head,
            pos=end + " ".join(_format(*point) for point in curve),
            color=mark.colour,
            style=mark.pen,
            penwidth=f"{mark.width:g}",
            arrowhead="normal" if has_arrow else "none",
            tooltip=tip_words,
            labeltooltip=tip_words,
            **more,
        )

    def finish(self, description: str, caution: str = "") -> Picture:
        """Return the picture with its text alternative in front."""
        words = clean(" ".join(filter(None, (description, caution))))
        head = build_comments(self.title, words, f"page: {self.page}" if self.page else "", PLACED)
        return Picture(head + self.graph.source, clean(self.title), words)


def _format(x: float, y: float) -> str:
    return f"{x:.1f},{-y:.1f}"


def _round_corners(points: Sequence[Point], arrow: float) -> list[Point]:
    """Return a straight-sided line as a Bezier curve with rounded corners, shorter by its arrow."""
    stops = [points[0]]
    for point in points[1:]:
        if math.dist(point, stops[-1]) > 0.05:
            stops.append(point)
    if len(stops) == 1:
        stops.append(stops[0])
    stops[-1] = _move_towards(stops[-1], stops[-2], arrow)
    curve = [stops[0]]
    for before, corner, after in zip(stops, stops[1:], stops[2:], strict=False):
        radius = min(_CORNER, math.dist(before, corner) / 2, math.dist(corner, after) / 2)
        enter, leave = _move_towards(corner, before, radius), _move_towards(corner, after, radius)
        curve += [*_straight(curve[-1], enter), corner, corner, leave]
    return [*curve, *_straight(curve[-1], stops[-1])]


def _straight(start: Point, end: Point) -> list[Point]:
    return [start, end, end]


def _move_towards(start: Point, end: Point, length: float) -> Point:
    whole = math.dist(start, end)
    if not whole:
        return start
    share = min(1.0, length / whole)
    return (start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share)
