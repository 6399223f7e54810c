"""Routes as cards in words, one for each: what a ladder on paper has no room for. Imports routes, sheet, text."""

from __future__ import annotations

from collections.abc import Sequence

from api.diagrams import old_style as style
from api.diagrams.old_cards import Line
from api.diagrams.routes import BEYOND, NamedRoute, describe_move, format_move, format_totals
from api.diagrams.sheet import Cell, Group
from api.diagrams.text import get_link, get_node_name
from ontology.graph.snapshot import Snapshot


def build_route_groups(snapshot: Snapshot, routes: Sequence[NamedRoute]) -> list[Group]:
    """Return the routes in groups by their name, in order."""
    groups: dict[str, list[NamedRoute]] = {}
    for named in routes:
        groups.setdefault(named.title, []).append(named)
    return [
        Group(
            f"routes/{number}",
            title if len(group) == 1 else f"{title} ({len(group)})",
            tuple(_build_cell(snapshot, named, f"{number}-{position}") for position, named in enumerate(group)),
            group[0].mark.colour,
        )
        for number, (title, group) in enumerate(groups.items())
    ]


def _build_cell(snapshot: Snapshot, named: NamedRoute, key: str) -> Cell:
    moves = [f"{move.label}: {', '.join(format_move(move))}" for move in named.route.moves]
    rows = [Line(format_totals(named.route), style.TEXT_PT, bold=True, max_lines=None)]
    rows += [Line(f"{number}. {words}", max_lines=None) for number, words in enumerate(moves, start=1)]
    rows += [Line(note, colour=style.QUIET, max_lines=None) for note in named.notes]
    return Cell(
        get_node_name("route", key),
        tuple(rows),
        named.mark.colour,
        "; ".join((named.words, *(describe_move(snapshot, move) for move in named.route.moves), *named.notes)),
        get_link("roles", named.route.roles[-1]),
        is_dashed=named.mark is BEYOND,
    )
