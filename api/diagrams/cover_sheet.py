"""A team's cover on sheets: needs by state, with the names of who holds them up. Imports team_cover, sheet."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Final

from api.diagrams import style
from api.diagrams.canvas import Picture
from api.diagrams.cards import Line, build_note
from api.diagrams.cover_words import describe_cover, format_falls, format_scope, format_summary, get_shift_label
from api.diagrams.sheet import NAME_COLUMNS, NOTE_COLUMNS, Cell, Group
from api.diagrams.sheet_picture import SheetContent, build_sheet_picture
from api.diagrams.team_cover import CAUTION, Hold, build_keys, get_need_name, iterate_holds
from api.diagrams.text import format_count, get_link, get_node_name
from ontology.analysis.coverage import CoverageResult, CoverageRow
from ontology.analysis.single_points import SinglePoint, SinglePointsResult
from ontology.graph.snapshot import Snapshot

#: Names on a card at the most; how many more there are is told in words.
MOST_NAMES: Final = 6


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
        cells = tuple(_build_need(snapshot, row, mark, holds[row]) for row in rows)
        groups.append(Group(f"state/{state}", f"{mark.word.capitalize()} ({len(rows)})", cells, mark.colour))
    people = tuple(_build_point(snapshot, points[i], is_away=i in coverage.absent) for i in sorted(points))
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


def _build_need(snapshot: Snapshot, row: CoverageRow, mark: style.Mark, holds: Sequence[Hold]) -> Cell:
    label = snapshot.competencies[row.competency].label
    numbers = f"{row.depth} present, minimum {row.minimum}, target {row.target}"
    scope = f"level {row.level} {format_scope(snapshot, row)}; criticality {row.criticality}"
    holders = _name_holders(snapshot, holds)
    lines = [
        Line(label, style.NAME_PT, bold=True, columns=NAME_COLUMNS, max_lines=None),
        Line(f"{mark.word}: {numbers}", columns=NOTE_COLUMNS, max_lines=None),
        *(Line(words, colour=style.QUIET, columns=NOTE_COLUMNS, max_lines=None) for words in (scope, *holders)),
    ]
    return Cell(
        get_need_name(row),
        tuple(lines),
        mark.colour,
        "; ".join((f"{label}, {scope}: {mark.word}, {numbers}", *holders)),
        get_link("competencies", row.competency),
        border_width=mark.width,
    )


def _name_holders(snapshot: Snapshot, holds: Sequence[Hold]) -> list[str]:
    """Return who can do it in words, a paragraph for each shift, those it would be short without first."""
    if not holds:
        return ["nobody can do it"]
    groups: defaultdict[str, list[Hold]] = defaultdict(list)
    for hold in holds:
        groups[get_shift_label(snapshot, hold.shift) or "held up by"].append(hold)
    lines = []
    for where, group in groups.items():
        group.sort(key=lambda hold: not hold.is_critical)
        names = [
            snapshot.people[hold.person].name
            + (" (away)" if not hold.is_present else " (short without)" if hold.is_critical else "")
            for hold in group
        ]
        more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
        lines.append(f"{where}: {', '.join(names[:MOST_NAMES])}{more}")
    return lines


def _build_point(snapshot: Snapshot, point: SinglePoint, *, is_away: bool) -> Cell:
    person = snapshot.people[point.id]
    where = (get_shift_label(snapshot, person.shift) or "no shift") + (", away" if is_away else "")
    falls = format_falls(snapshot, point)
    rows = [
        Line(person.name, style.NAME_PT, bold=True, columns=NAME_COLUMNS, max_lines=None),
        build_note(where, NOTE_COLUMNS),
        *(Line(f"if away: {words}", columns=NOTE_COLUMNS, max_lines=None) for words in falls),
    ]
    return Cell(
        get_node_name("person", point.id),
        tuple(rows),
        style.PERSON.colour,
        f"{person.name} ({point.id}), {where}. If away: {'; '.join(falls)}",
        get_link("people", point.id),
        style.CRITICAL,
        is_dashed=is_away,
    )
