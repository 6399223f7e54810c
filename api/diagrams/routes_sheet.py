"""Upskilling routes on sheets: a column of moves for each route. Imports routes, sheet, sheet_picture, start."""

from __future__ import annotations

from api.diagrams import style
from api.diagrams.canvas import Picture
from api.diagrams.cards import Line, build_note
from api.diagrams.routes import (
    BEYOND,
    CAUTION,
    Lane,
    build_description,
    build_keys,
    build_subtitle,
    format_move,
    iterate_lanes,
)
from api.diagrams.sheet import NAME_COLUMNS, NOTE_COLUMNS, Cell, Group
from api.diagrams.sheet_picture import SheetContent, build_sheet_picture
from api.diagrams.start import build_start_cell, get_start_name
from api.diagrams.text import get_link, get_node_name
from ontology.analysis.levels import Profile
from ontology.analysis.routes import RoutesResult
from ontology.graph.snapshot import Snapshot


def build_routes_sheet(snapshot: Snapshot, profile: Profile, result: RoutesResult, page: int = 1) -> Picture:
    """Return one page of the routes to a role on paper, with every route of the answer.

    Raises
    ------
    UnknownIdError
        There is no such role.
    PageError
        There is no such page.
    """
    target = snapshot.require_role(result.role)
    lanes = list(iterate_lanes(snapshot, result))
    lanes.sort(key=lambda lane: lane.mark is BEYOND)
    return build_sheet_picture(
        SheetContent(
            f"Routes of {get_start_name(snapshot, profile)} to {target.label}",
            build_subtitle(result, lanes, 0),
            build_keys(lanes, "On a card: study hours before the move; months of that study and then in the role."),
            CAUTION,
            build_start_cell(snapshot, profile),
            style.PERSON if profile.kind == "person" else style.ROLE,
            [_build_group(snapshot, lane, number) for number, lane in enumerate(lanes, start=1)],
            build_description(snapshot, result, lanes, lanes),
        ),
        page,
    )


def _build_group(snapshot: Snapshot, lane: Lane, number: int) -> Group:
    cells = []
    for position, move in enumerate(lane.route.moves, start=1):
        is_last = position == len(lane.route.moves)
        rows = [
            build_note(f"move {position}, into " + ("the target role" if is_last else "the role"), NOTE_COLUMNS),
            Line(move.label, style.NAME_PT, bold=True, columns=NAME_COLUMNS, max_lines=None),
            Line(", ".join(format_move(move)), columns=NOTE_COLUMNS),
        ]
        if is_last:
            rows += [Line(note, columns=NOTE_COLUMNS, max_lines=None) for note in lane.notes]
        words = f"Move into {move.label}: {'; '.join(format_move(move))}"
        if move.courses:
            words += f". Courses: {', '.join(snapshot.courses[i].label for i in move.courses)}"
        cells.append(
            Cell(
                get_node_name("role", move.role, str(number)),
                tuple(rows),
                style.ROLE.colour,
                "; ".join((words, *(lane.notes if is_last else ()))),
                get_link("roles", move.role),
                lane.mark,
                is_dashed=lane.mark is BEYOND,
            )
        )
    return Group(f"route/{number}", lane.words, tuple(cells), lane.mark.colour, has_arrows=True)
