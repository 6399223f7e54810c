"""A picture of one table: a graphviz Digraph with our style, heading, text alternative. Imports cards, style, text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import graphviz

from api.diagrams import old_style as style
from api.diagrams.old_cards import Key, build_heading
from api.diagrams.text import build_comments, clean, to_tooltip


@dataclass(frozen=True, slots=True)
class Picture:
    """A finished picture: its DOT text, and what it says in words (also the first lines of the text)."""

    dot: str
    title: str
    description: str


@dataclass(slots=True)
class Canvas:
    """One picture in the making. Statements come out in the order of the calls: same calls, same bytes."""

    title: str
    subtitle: str
    keys: Sequence[Sequence[Key]]
    caution: str = ""
    heading_columns: int = 92
    page: str = ""
    graph: Any = field(init=False)

    def __post_init__(self) -> None:
        self.graph = graphviz.Digraph(
            name="picture",
            graph_attr=style.GRAPH_ATTRIBUTES
            | {
                "label": build_heading(self.title, self.subtitle, self.caution, self.keys, self.heading_columns),
            }
            # the page's own margin is enough
            | ({"pad": f"{style.PAGE_PAD:g}"} if self.page else {}),
            node_attr=style.NODE_ATTRIBUTES,
            edge_attr=style.EDGE_ATTRIBUTES,
        )

    def add_card(self, name: str, card: str, *, link: str = "", tooltip: str = "") -> None:
        """Add a node with ready markup as its label."""
        more = {"URL": link} if link else {}
        self.graph.node(name, label=card, tooltip=to_tooltip(tooltip or " "), **more)

    def finish(self, description: str) -> Picture:
        """Return the picture with its text alternative in front."""
        words = clean(" ".join(filter(None, (description, self.caution))))
        head = build_comments(self.title, words, f"page: {self.page}" if self.page else "")
        return Picture(head + self.graph.source, clean(self.title), words)
