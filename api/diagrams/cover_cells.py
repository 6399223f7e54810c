"""The cards of a team's cover: a need with who can do it, a person with what would fall. Imports cover_holds, sheet."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Final

from api.diagrams import old_style as style
from api.diagrams.cover_holds import Hold, get_need_name
from api.diagrams.cover_words import format_falls, format_scope, get_shift_label
from api.diagrams.old_cards import Line, build_note
from api.diagrams.sheet import NAME_COLUMNS, NOTE_COLUMNS, Cell
from api.diagrams.text import get_link, get_node_name
from ontology.analysis.cover.coverage import CoverageRow
from ontology.analysis.places.single_points import SinglePoint
from ontology.graph.snapshot import Snapshot

#: Names on a card at the most; how many more there are is told in words.
MOST_NAMES: Final = 6


def build_need_cell(
    snapshot: Snapshot, row: CoverageRow, mark: style.Mark, holds: Sequence[Hold], *, is_lined: bool = False
) -> Cell:
    """Return the card of a need; it names those of `holds`, besides the people its lines come from (`is_lined`)."""
    label = snapshot.competencies[row.competency].label
    numbers = f"{row.depth} present, minimum {row.minimum}, target {row.target}"
    scope = f"level {row.level} {format_scope(snapshot, row)}; criticality {row.criticality}"
    holders = [] if is_lined and not holds else _name_holders(snapshot, holds, MOST_NAMES)
    lines = [
        Line(label, style.NAME_PT, bold=True, columns=NAME_COLUMNS, max_lines=None),
        Line(f"{mark.word}: {numbers}", columns=NOTE_COLUMNS, max_lines=None),
        *(Line(words, colour=style.QUIET, max_lines=None) for words in (scope, *holders)),
    ]
    return Cell(
        get_need_name(row),
        tuple(lines),
        mark.colour,
        "; ".join((f"{label}, {scope}: {mark.word}, {numbers}", *_name_holders(snapshot, holds, len(holds)))),
        get_link("competencies", row.competency),
        border_width=mark.width,
    )


def _name_holders(snapshot: Snapshot, holds: Sequence[Hold], most: int) -> list[str]:
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
        more = f" and {len(names) - most} more" if len(names) > most else ""
        lines.append(f"{where}: {', '.join(names[:most])}{more}")
    return lines


def build_point_cell(snapshot: Snapshot, point: SinglePoint, *, is_away: bool) -> Cell:
    """Return the card of a single point of failure."""
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
