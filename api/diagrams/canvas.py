"""A sheet to draw on: a graphviz Digraph with our style, heading, text alternative. Imports cards, style, text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, Literal

import graphviz

from api.diagrams import style
from api.diagrams.cards import Key, Line, build_heading, build_line_markup
from api.diagrams.text import clean, to_tooltip


@dataclass(frozen=True, slots=True)
class Picture:
    """A finished picture: its DOT text, and what it says in words (also the first two lines of the text)."""

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
    rankdir: Literal["LR", "TB"] = "LR"
    ranksep: float = 0.9
    nodesep: float = 0.12
    heading_columns: int = 92
    page: str = ""
    more: dict[str, str] = field(default_factory=dict)
    graph: Any = field(init=False)

    def __post_init__(self) -> None:
        self.graph = graphviz.Digraph(
            name="picture",
            graph_attr=style.GRAPH_ATTRIBUTES
            | {
                "rankdir": self.rankdir,
                "ranksep": f"{self.ranksep:g}",
                "nodesep": f"{self.nodesep:g}",
                "label": build_heading(self.title, self.subtitle, self.caution, self.keys, self.heading_columns),
            }
            # the page's own margin is enough
            | ({"pad": f"{style.PAGE_PAD:g}"} if self.page else {})
            | self.more,
            node_attr=style.NODE_ATTRIBUTES,
            edge_attr=style.EDGE_ATTRIBUTES,
        )

    def add_card(self, name: str, card: str, *, link: str = "", tooltip: str = "", into: Any = None) -> None:
        """Add a node with a ready card as its label, to the whole picture or to a cluster."""
        more = {"URL": link} if link else {}
        (into or self.graph).node(name, label=card, tooltip=to_tooltip(tooltip or " "), **more)

    def add_point(self, name: str, mark: style.Mark, *, into: Any) -> None:
        """Add a dot to a cluster, where a line enters or leaves it."""
        into.node(name, label="", shape="point", width="0.07", color=mark.colour, tooltip=" ")

    def add_edge(
        self,
        tail: str,
        head: str,
        *,
        tooltip: str,
        mark: style.Mark | None = None,
        label: str = "",
        port: str = "",
        **attributes: str,
    ) -> None:
        """Add an arrow; its words show on pointing, and on the picture where there is a `label` (markup).

        `port` is the row of the head's card it points at. Arrows leave and enter at the middle of a side.
        """
        attributes = {"tailport": "e", "headport": f"{port}:w" if port else "w"} | attributes
        if mark is not None:
            attributes = {"color": mark.colour, "style": mark.pen, "penwidth": f"{mark.width:g}"} | attributes
        if label:
            attributes["label"] = label
        tip = to_tooltip(tooltip)
        self.graph.edge(tail, head, tooltip=tip, labeltooltip=tip, **attributes)

    @contextmanager
    def add_cluster(self, name: str, words: str, *, link: str = "", columns: int = 34) -> Iterator[Any]:
        """Open a cluster with a name in words; nodes are added to what it yields."""
        more = {"URL": link} if link else {}
        heading = build_line_markup(Line(words, style.TEXT_PT, bold=True, columns=columns, max_lines=4))
        with self.graph.subgraph(name=f"cluster {name}") as cluster:
            cluster.attr(
                **(style.CLUSTER_ATTRIBUTES | {"label": f"<{heading}>", "tooltip": to_tooltip(words)}),
                **more,
            )
            yield cluster

    def keep_order(self, names: Sequence[str]) -> None:
        """Ask dot to keep nodes of one column in this order; crossing lines may still change it."""
        for above, below in pairwise(names):
            self.graph.edge(above, below, style="invis", constraint="false")

    def finish(self, description: str) -> Picture:
        """Return the picture with its text alternative in front."""
        title, words = clean(self.title), clean(" ".join(filter(None, (description, self.caution))))
        page = f"// page: {self.page}\n" if self.page else ""
        return Picture(f"// title: {title}\n// description: {words}\n{page}{self.graph.source}", title, words)
