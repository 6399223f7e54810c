"""The frame of every picture: title and answer above, the graph, then lists, legend and notes below.

`dot` lays it out from left to right. Statements come out in the order of the calls: same calls, same bytes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

import graphviz

from api.pictures import style
from api.pictures.cards import card, cell, gap, legend, line, row, small, table, words
from api.pictures.page import PAPER_COMMENT
from api.pictures.paging import SCREEN, Sheet
from api.pictures.text import build_comments, clean, to_tooltip, wrap

#: The caution below every picture that may be read as a permission.
NO_PERMISSION: Final = (
    "A level in this graph is not permission to work; only the employer's appointment and the local code give that."
)


@dataclass(frozen=True, slots=True)
class Picture:
    """A finished picture: its DOT text, and what it says in words (also the first lines of the text)."""

    dot: str
    title: str
    description: str


class Frame:
    """One picture in the making: nodes and edges are added, then it is finished.

    `answer` is one sentence that answers what is asked. Gaps are inches between ranks (0.3 to 0.5; 1.1 where many lines
    cross) and between nodes of a rank (0.07 to 0.18). The title says which page a sheet is, where there are several.
    """

    def __init__(
        self, title: str, answer: str, *, rank_gap: float = 0.4, node_gap: float = 0.12, sheet: Sheet = SCREEN
    ) -> None:
        self._title = clean(title)
        self._sheet = sheet
        self._graph: Any = graphviz.Digraph(
            name="picture",
            graph_attr=style.GRAPH_ATTRIBUTES | {"ranksep": f"{rank_gap:g}", "nodesep": f"{node_gap:g}"},
            node_attr=style.NODE_ATTRIBUTES,
            edge_attr=style.EDGE_ATTRIBUTES,
        )
        # a row for each line: large letters need more space between lines than dot gives
        lines = wrap(f"{self._title}{sheet.words}", style.TITLE_COLUMNS)
        rows = [line(words(part, size=style.TITLE_PT, bold=True), width=style.LEAST_WIDTH_PT) for part in lines]
        rows.append(line(words(answer, columns=style.PAPER_COLUMNS if sheet.is_paper else style.ANSWER_COLUMNS)))
        # lines may swing out a little above the highest card
        above = table(*rows, gap(6), padding=1)
        self._body: Any = graphviz.Digraph(
            name="cluster_frame",
            graph_attr={"label": f"<{above}>", "labelloc": "t", "labeljust": "l", "margin": "6", "peripheries": "0"},
        )
        self._is_empty = True

    def add_calm(self, told: str) -> None:
        """Add a card that says that nothing is wrong."""
        self.add_node("calm", card(style.STATES["covered"], told, columns=60), tooltip=told)

    def add_node(self, name: str, markup: str, *, tooltip: str, link: str = "") -> None:
        """Add a node: a table, or a column of cards. Names from `text.get_node_name`, which hold no colon."""
        self._is_empty = False
        more = {"URL": link} if link else {}
        self._body.node(name, label=f"<{markup}>", tooltip=to_tooltip(tooltip or " "), **more)

    def add_edge(
        self,
        tail: str,
        head: str,
        *,
        tooltip: str,
        colour: str = style.LINE,
        width: float = 1.2,
        is_dashed: bool = False,
        has_arrow: bool = True,
        label: str = "",
        weight: int = 1,
    ) -> None:
        """Add an edge from the right side of "node" or "node:port" to the left side of another.

        `label` only where the number is the message: every label doubles the ranks. `weight` keeps an edge straight.
        """
        marked = words(label, size=style.SMALL_PT, bold=True)
        more = {"label": f"<{marked}>", "labeltooltip": to_tooltip(tooltip or " ")} if marked else {}
        more |= {"weight": f"{weight}"} if weight != 1 else {}
        self._body.edge(
            f"{tail}:e",
            f"{head}:w",
            tooltip=to_tooltip(tooltip or " "),
            color=colour,
            penwidth=f"{width:g}",
            style="dashed" if is_dashed else "solid",
            arrowhead="normal" if has_arrow else "none",
            **more,
        )

    def add_line(self, tail: str, head: str, *, tooltip: str, is_thick: bool, is_dashed: bool) -> None:
        """Add an edge without an arrow from a person to what they can fill: thick ink, or thin and quieter."""
        colour, width = (style.INK, 3.0) if is_thick else (style.LINE, 1.2)
        self.add_edge(tail, head, tooltip=tooltip, colour=colour, width=width, is_dashed=is_dashed, has_arrow=False)

    def set_ranks(self, ranks: Sequence[Sequence[str]]) -> None:
        """Put the nodes of each rank below each other, the ranks from left to right; empty ones do not count."""
        ranks = [names for names in ranks if names]
        for names in ranks:
            with self._body.subgraph() as rank:
                rank.attr(rank="same")
                for name in names:
                    rank.node(name)
        for before, after in pairwise(ranks):
            # nothing to be seen: it keeps ranks apart between which no edge leads
            self._body.edge(before[0], after[0], style="invis", weight="0")

    def finish(
        self,
        description: str,
        *,
        lists: Sequence[str] = (),
        legend_keys: Sequence[tuple[str, str]] = (),
        notes: Sequence[str] = (),
    ) -> Picture:
        """Return the picture, with its text alternative in front: what it shows in sentences, and the notes.

        `lists` are markup of `listing`; a key of the legend is a colour and its meaning; empty ones do not count.
        """
        below = [listed for listed in lists if listed]
        below += [legend(legend_keys)] if legend_keys else []
        below += [small(note, columns=style.NOTE_COLUMNS) for note in notes if note]
        # the empty cell moves them below the title
        rows = [row(cell(width=4, cellpadding=0), cell(markup, cellpadding=3)) for markup in below]
        rows.append(row(cell(width=4, cellpadding=0), cell(width=style.LEAST_WIDTH_PT, height=1, cellpadding=0)))
        if self._is_empty:
            # dot draws no title above nothing
            self._body.node("nothing", label="", style="invis")
        self._graph.subgraph(self._body)
        self._graph.attr(label=f"<{table(gap(4, 2), *rows)}>")
        told = clean(" ".join(filter(None, (description, *notes))))
        paper = PAPER_COMMENT if self._sheet.is_paper else ""
        title = f"{self._title}{self._sheet.words}"
        return Picture(build_comments(title, told, paper) + self._graph.source, title, told)
