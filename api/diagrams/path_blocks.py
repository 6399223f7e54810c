"""Blocks of a learning path's picture, laid out and drawn: parts of the AND/OR graph, groups of levels.

Imports drawing, layers, path_nodes, placed_cards. Where several levels lead to a course, their lines end at a bar, and
one arrow leads on: all of them. Where several courses reach a level, their lines end in one point: any of them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from api.diagrams import old_style as style
from api.diagrams.drawing import Drawing, Point
from api.diagrams.layers import Arrangement, Edge, Size, arrange_layers
from api.diagrams.old_cards import Line
from api.diagrams.path_nodes import PathPart
from api.diagrams.path_words import Aim
from api.diagrams.placed_cards import Card, build_fixed_card, build_words_card
from api.diagrams.text import get_link, get_node_name

#: Points: inside a frame, before a node, before one whose lines join, from the join to the node, between lines.
_SIDE: Final = 8
_GAP: Final = 28
_JOIN_GAP: Final = 62
_JOIN: Final = 32
_APART: Final = 6
_ACROSS: Final = 9
_ACROSS_UPRIGHT: Final = 14

_JOINS: Final = style.Mark("all of them", style.INK, width=1.2)


@dataclass(frozen=True, slots=True)
class PartBlock:
    """A part of the path, arranged from left to right or, upright, from top to bottom."""

    part: PathPart
    arrangement: Arrangement
    is_upright: bool

    @property
    def width(self) -> float:
        """Points, the frame included."""
        return 2 * _SIDE + (self.arrangement.across if self.is_upright else self.arrangement.along)

    @property
    def height(self) -> float:
        """Points, the frame included."""
        return 2 * _SIDE + (self.arrangement.along if self.is_upright else self.arrangement.across)

    def draw(self, drawing: Drawing, x: float, y: float) -> None:
        """Draw the block with its upper left corner at a point."""
        drawing.add_frame(x, y, self.width, self.height, is_rounded=False)
        origin = (x + _SIDE, y + _SIDE)
        before: defaultdict[str, list[str]] = defaultdict(list)
        for tail, head in self.part.edges:
            before[head].append(tail)
        for head, tails in before.items():
            self._draw_lines(drawing, origin, head, tails)
        for name, node in self.part.nodes.items():
            at = self._turn(origin, self.arrangement.places[name])
            drawing.add_card(name, *at, node.card, link=node.link, tooltip=node.tooltip)

    def _turn(self, origin: Point, point: Point) -> Point:
        along, across = point
        return (origin[0] + across, origin[1] + along) if self.is_upright else (origin[0] + along, origin[1] + across)

    def _get_size(self, name: str) -> Size:
        card = self.part.nodes[name].card
        return Size(card.height, card.width) if self.is_upright else Size(card.width, card.height)

    def _draw_lines(self, drawing: Drawing, origin: Point, head: str, tails: Sequence[str]) -> None:
        """Draw the lines to one node: straight on, or to a join from where one arrow leads on."""
        node = self.part.nodes[head]
        along, low = self.arrangement.places[head]
        middle = low + self._get_size(head).across / 2
        ways = sorted((self._get_way((tail, head)) for tail in tails), key=lambda way: (way[-1][1], way[0][1]))
        names = {way[0]: tail for tail in tails for way in [self._get_way((tail, head))]}
        mark = style.COMPETENCY if node.is_course else style.COURSE
        is_joined = len(ways) > 1
        for number, way in enumerate(ways):
            offset = (number - (len(ways) - 1) / 2) * _APART if node.is_course else 0.0
            end = (along - _JOIN, middle + offset) if is_joined else (along, middle)
            tail = names[way[0]]
            drawing.add_curve(
                tail,
                head,
                [self._turn(origin, point) for point in (*way, end)],
                tooltip=self._describe(tail, head),
                mark=mark,
                has_arrow=not is_joined,
                is_upright=self.is_upright,
            )
        if is_joined:
            self._draw_join(drawing, origin, head, tails[0], along, middle, len(ways))

    def _draw_join(
        self, drawing: Drawing, origin: Point, head: str, tail: str, along: float, middle: float, count: int
    ) -> None:
        is_course = self.part.nodes[head].is_course
        words = f"all {count}" if is_course else f"any of {count}"
        half = ((count - 1) * _APART) / 2 + 3 if is_course else 2.0
        corner = self._turn(origin, (along - _JOIN - 1, middle - half))
        width, height = (2 * half, 2.0) if self.is_upright else (2.0, 2 * half)
        drawing.add_frame(*corner, width, height, ground=style.INK, border=style.INK, is_rounded=False)
        at = (along - _JOIN / 2, middle + 18) if self.is_upright else (along - _JOIN / 2 - 2, middle - 7)
        drawing.add_line(
            tail,
            head,
            [self._turn(origin, (along - _JOIN, middle)), self._turn(origin, (along, middle))],
            tooltip=f"{words} needed" if is_course else f"{words} is enough",
            mark=_JOINS,
            words=[words],
            words_at=self._turn(origin, at),
        )

    def _get_way(self, edge: Edge) -> list[Point]:
        """Return where a line begins and passes layers, along and across."""
        along, low = self.arrangement.places[edge[0]]
        size = self._get_size(edge[0])
        way = [(along + size.along, low + size.across / 2)]
        for passed in self.arrangement.passes.get(edge, ()):
            way += passed
        return way

    def _describe(self, tail: str, head: str) -> str:
        first, second = (self.part.nodes[name].tooltip.split("; ")[0] for name in (tail, head))
        return f"{first} is needed for {second}" if self.part.nodes[head].is_course else f"{first} reaches {second}"


def build_part_block(part: PathPart, *, is_upright: bool = False) -> PartBlock:
    """Return a part of the path, laid out."""
    joined: defaultdict[str, int] = defaultdict(int)
    for _, head in part.edges:
        joined[head] += 1
    sizes = {
        name: Size(node.card.height, node.card.width) if is_upright else Size(node.card.width, node.card.height)
        for name, node in part.nodes.items()
    }
    gaps = {name: float(_JOIN_GAP if joined[name] > 1 else _GAP) for name in sizes}
    across = _ACROSS_UPRIGHT if is_upright else _ACROSS
    return PartBlock(part, arrange_layers(sizes, part.edges, gaps, across), is_upright)


@dataclass(frozen=True, slots=True)
class AimsBlock:
    """Target levels that no course of the path reaches, in a frame with a heading."""

    words: str
    aims: Sequence[Aim]
    mark: style.Mark
    columns: int
    column_width: int

    @property
    def width(self) -> float:
        """Points, the frame included."""
        return 2 * _SIDE + self.columns * (self.column_width + _ACROSS) - _ACROSS

    @property
    def height(self) -> float:
        """Points, the frame included."""
        return 2 * _SIDE + 18 + sum(max(card.height for card in row) + _ACROSS for row in self._get_rows()) - _ACROSS

    def draw(self, drawing: Drawing, x: float, y: float) -> None:
        """Draw the block with its upper left corner at a point."""
        drawing.add_frame(x, y, self.width, self.height, is_rounded=False)
        heading = build_words_card([Line(self.words, style.TEXT_PT, bold=True)], int(self.width - 2 * _SIDE))
        drawing.add_card(f"heading/{self.words}", x + _SIDE, y + _SIDE - 2, heading, tooltip=self.words)
        down = y + _SIDE + 18
        aims = iter(self.aims)
        for row in self._get_rows():
            for position, card in enumerate(row):
                aim = next(aims)
                drawing.add_card(
                    get_node_name("aim", aim.competency),
                    x + _SIDE + position * (self.column_width + _ACROSS),
                    down,
                    card,
                    link=get_link("competencies", aim.competency),
                    tooltip=f"{aim.label} at level {aim.level}: {aim.reason or aim.words}",
                )
            down += max(card.height for card in row) + _ACROSS

    def _get_rows(self) -> list[list[Card]]:
        cards = [self._build_card(aim) for aim in self.aims]
        return [cards[start : start + self.columns] for start in range(0, len(cards), self.columns)]

    def _build_card(self, aim: Aim) -> Card:
        rows = [Line(f"{aim.label} (level {aim.level}): {aim.words}", max_lines=4)]
        if aim.reason:
            rows.append(Line(aim.reason, colour=style.QUIET, max_lines=6))
        return build_fixed_card(rows, self.column_width, self.mark.colour, is_dashed=aim.step is None)
