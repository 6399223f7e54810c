"""A team's cover on sheets: needs by state, with the names of who holds them up. Imports cover_cells, sheet."""

from __future__ import annotations

from collections import defaultdict

from api.diagrams import old_style as style
from api.diagrams.canvas import Picture
from api.diagrams.cover_cells import MOST_NAMES, build_need_cell, build_point_cell
from api.diagrams.cover_holds import CAUTION, Hold, build_keys, iterate_holds
from api.diagrams.cover_words import describe_cover, format_summary
from api.diagrams.old_cards import Line, build_note
from api.diagrams.sheet import NAME_COLUMNS, NOTE_COLUMNS, Cell, Group
from api.diagrams.sheet_picture import SheetContent, build_sheet_picture
from api.diagrams.text import format_count, get_link, get_node_name
from ontology.analysis.cover.coverage import CoverageResult, CoverageRow
from ontology.analysis.places.single_points import SinglePointsResult
from ontology.graph.snapshot import Snapshot


def build_cover_sheet(
    snapshot: Snapshot, coverage: CoverageResult, single_points: SinglePointsResult, page: int = 1
) -> Picture:
    """Return one page of a team's cover on paper, with every need.

    Raises
    ------
    UnknownIdError
        There is no such team.
    PageError
        There is no such page.
    """
    team = snapshot.require_team(coverage.team)
    points = {point.id: point for point in single_points.people}
    holds: defaultdict[CoverageRow, list[Hold]] = defaultdict(list)
    for hold in iterate_holds(coverage, points):
        holds[hold.row].append(hold)
    groups = []
    for state, mark in style.COVER_STATES.items():
        rows = [row for row in coverage.needs if row.state == state]
        rows.sort(key=lambda row: (-row.criticality, snapshot.competencies[row.competency].label, row.applies))
        cells = tuple(build_need_cell(snapshot, row, mark, holds[row]) for row in rows)
        groups.append(Group(f"state/{state}", f"{mark.word.capitalize()} ({len(rows)})", cells, mark.colour))
    people = tuple(build_point_cell(snapshot, points[i], is_away=i in coverage.absent) for i in sorted(points))
    groups.append(Group("points", f"Single points of failure ({len(people)})", people, style.PERSON.colour))
    head = Cell(
        get_node_name("team", team.id),
        (
            build_note("team", NOTE_COLUMNS),
            Line(team.label, style.NAME_PT, bold=True, columns=NAME_COLUMNS, max_lines=None),
            build_note(format_count(len(coverage.needs), "cover need"), NOTE_COLUMNS),
        ),
        style.PERSON.colour,
        f"Team {team.id}: {team.label}",
        get_link("teams", team.id),
    )
    return build_sheet_picture(
        SheetContent(
            f"Cover of {team.label} on {coverage.on.isoformat()}",
            f"{format_summary(snapshot, coverage, points)} A card names at most {MOST_NAMES} people of a shift, and "
            "how many more there are.",
            build_keys(coverage, [], []),
            CAUTION,
            head,
            style.PERSON,
            groups,
            describe_cover(snapshot, coverage, points),
        ),
        page,
    )
