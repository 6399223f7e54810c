"""Who holds what up in a team: people at the left, cover needs beside them, a line for each who can do it.

Imports sides, drawing, cover_cells, cover_holds, cover_words, sheet, the snapshot and the answers. Needs stand in
frames by their state, people in frames: single points of failure, others, away (never with a reason). A thick line:
without this person the need would be short. Needs whose lines would be too many name the people instead, in columns
further right.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from typing import Final

from api.diagrams import old_style as style
from api.diagrams.canvas import Picture
from api.diagrams.cover_cells import build_need_cell, build_point_cell
from api.diagrams.cover_holds import CAUTION, Hold, build_keys, choose_lines, get_need_name, iterate_holds
from api.diagrams.cover_words import describe_cover, format_summary, get_shift_label
from api.diagrams.drawing import Drawing
from api.diagrams.old_cards import Line, build_note
from api.diagrams.placed_heading import build_fixed_heading
from api.diagrams.sheet import COLUMN_GAP, GROUP_GAP, Cell, Group, flow_columns
from api.diagrams.sheet_picture import add_piece
from api.diagrams.sides import SideLine, add_side, add_side_lines
from api.diagrams.text import get_link, get_node_name
from ontology.analysis.cover.coverage import CoverageResult, CoverageRow
from ontology.analysis.places.single_points import SinglePoint, SinglePointsResult
from ontology.graph.snapshot import Snapshot

#: Points: the whole, a column of people, the space for lines, a column of needs.
_WIDTH: Final = 1240
_PEOPLE: Final = 200
_LINES: Final = 160
_NEEDS: Final = 230
_COLUMN: Final = 190


def build_team_cover_picture(
    snapshot: Snapshot, coverage: CoverageResult, single_points: SinglePointsResult
) -> Picture:
    """Return the picture of a team's cover on a date.

    Parameters
    ----------
    snapshot : Snapshot
    coverage : CoverageResult
    single_points : SinglePointsResult
        Of the same team, date and people away.

    Raises
    ------
    UnknownIdError
        There is no such team.

    Notes
    -----
    O(h log h) for h pairs of a need and a person able to meet it.
    """
    team = snapshot.require_team(coverage.team)
    points = {point.id: point for point in single_points.people}
    holds = list(iterate_holds(coverage, points))
    drawn = choose_lines(holds)
    drawing = Drawing(f"Cover of {team.label} on {coverage.on.isoformat()}")
    summary = format_summary(snapshot, coverage, points)
    heading = build_fixed_heading(drawing.title, summary, build_keys(coverage, drawn, holds), CAUTION, _WIDTH)
    drawing.add_card("heading", 0, 0, heading, link=get_link("teams", team.id), tooltip=drawing.title)
    lined = {hold.row for hold in drawn}
    named: defaultdict[CoverageRow, list[Hold]] = defaultdict(list)
    on_lines = set(drawn)
    for hold in dict.fromkeys(holds):
        if hold not in on_lines:
            named[hold.row].append(hold)
    x: float = 0
    if drawn:
        needs = _build_need_groups(snapshot, coverage, named, lined=lined, is_lined=True)
        order = {cell.name: number for number, cell in enumerate(cell for group in needs for cell in group.cells)}
        people = add_side(
            drawing, _build_people_groups(snapshot, coverage, points, drawn, order), x, heading.height, _PEOPLE
        )
        x = people.right + _LINES
        side = add_side(drawing, needs, x, heading.height, _NEEDS)
        add_side_lines(drawing, people, side, [_build_line(snapshot, hold) for hold in drawn])
        x = side.right + 2 * COLUMN_GAP
    rest = _build_need_groups(snapshot, coverage, named, lined=lined, is_lined=False)
    _add_columns(drawing, rest, x, heading.height)
    return drawing.finish(describe_cover(snapshot, coverage, points), CAUTION)


def _build_need_groups(
    snapshot: Snapshot,
    coverage: CoverageResult,
    named: Mapping[CoverageRow, Sequence[Hold]],
    *,
    lined: Collection[CoverageRow],
    is_lined: bool,
) -> list[Group]:
    """Return the needs with or without lines by state, the worst first."""
    groups = []
    for state, mark in style.COVER_STATES.items():
        rows = [row for row in coverage.needs if row.state == state and (row in lined) == is_lined]
        rows.sort(key=lambda row: (-row.criticality, snapshot.competencies[row.competency].label, row.applies))
        if rows:
            cells = tuple(build_need_cell(snapshot, row, mark, named.get(row, []), is_lined=is_lined) for row in rows)
            key = f"state/{state}/{'lines' if is_lined else 'names'}"
            groups.append(Group(key, f"{mark.word.capitalize()} ({len(rows)})", cells, mark.colour))
    return groups


def _build_people_groups(
    snapshot: Snapshot,
    coverage: CoverageResult,
    points: Mapping[str, SinglePoint],
    drawn: Sequence[Hold],
    order: Mapping[str, int],
) -> list[Group]:
    """Return the people by frame, each near the needs that they hold up."""
    ends: defaultdict[str, list[int]] = defaultdict(list)
    for hold in drawn:
        ends[hold.person].append(order[get_need_name(hold.row)])
    away = [i for i in coverage.absent if i in ends]
    groups = []
    for key, words, ids in (
        ("single points", "Single points of failure", [i for i in points if i in ends or i not in away]),
        ("others", "Others who hold something up", [i for i in ends if i not in points and i not in away]),
        ("away", "Away", [i for i in away if i not in points]),
    ):
        ids = sorted(ids, key=lambda i: (sum(ends[i]) / len(ends[i]) if ends[i] else len(order), i))
        if ids:
            cells = tuple(_build_person(snapshot, i, points.get(i), is_away=i in coverage.absent) for i in ids)
            groups.append(Group(f"people/{key}", f"{words} ({len(ids)})", cells, style.PERSON.colour))
    return groups


def _build_person(snapshot: Snapshot, person_id: str, point: SinglePoint | None, *, is_away: bool) -> Cell:
    if point is not None:
        return build_point_cell(snapshot, point, is_away=is_away)
    person = snapshot.people[person_id]
    where = (get_shift_label(snapshot, person.shift) or "no shift") + (", away" if is_away else "")
    return Cell(
        get_node_name("person", person_id),
        (Line(person.name, style.NAME_PT, bold=True, max_lines=3), build_note(where)),
        style.PERSON.colour,
        f"{person.name} ({person_id}), {where}",
        get_link("people", person_id),
        is_dashed=is_away,
    )


def _build_line(snapshot: Snapshot, hold: Hold) -> SideLine:
    mark = style.CRITICAL if hold.is_critical else style.HOLDS if hold.is_present else style.AWAY
    words = "is away" if not hold.is_present else mark.word
    shift = f" in {get_shift_label(snapshot, hold.shift)}" if hold.shift else ""
    label = snapshot.competencies[hold.row.competency].label
    tooltip = f"{snapshot.people[hold.person].name}, {label}{shift}: {words}"
    return SideLine(get_node_name("person", hold.person), get_need_name(hold.row), mark, tooltip)


def _add_columns(drawing: Drawing, groups: Sequence[Group], x: float, y: float) -> None:
    """Draw groups in columns side by side, of about the same height, as wide as the rest of the picture."""
    if not groups:
        return
    columns = max(1, int((_WIDTH - x + COLUMN_GAP) // (_COLUMN + COLUMN_GAP)))
    width = int((_WIDTH - x - (columns - 1) * COLUMN_GAP) // columns)
    for position, column in enumerate(flow_columns(groups, width * columns + COLUMN_GAP * (columns - 1), columns)):
        top = y
        for piece in column:
            add_piece(drawing, piece, x + position * (width + COLUMN_GAP), top, width)
            top += piece.measure(width) + GROUP_GAP
