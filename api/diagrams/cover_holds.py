"""Who holds what up in a team: pairs of a person and a need, which of them are drawn as lines, and the legend.

Imports cards, cover_words, style, text, the snapshot and the answers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from api.diagrams import old_style as style
from api.diagrams.old_cards import Key
from api.diagrams.text import get_node_name
from ontology.analysis.cover.coverage import CoverageResult, CoverageRow
from ontology.analysis.places.single_points import SinglePoint

#: More lines than this cannot be followed with the eye.
MOST_LINES: Final = 40
CAUTION: Final = (
    "A level in this graph is no authorisation to work: the employer's appointment of a competent person and the "
    "local code are. No roster law is checked. A single point of failure is a fault of the organisation, no ground "
    "to refuse leave."
)


@dataclass(frozen=True, slots=True)
class Hold:
    """A person able to meet a need; critical: it would be short without them."""

    person: str
    row: CoverageRow
    shift: str | None
    state: str
    is_present: bool
    is_critical: bool


def choose_lines(holds: Sequence[Hold]) -> list[Hold]:
    """Return the pairs drawn as lines: the critical ones, then those of each state as long as the eye can follow."""
    chosen = {hold for hold in holds if hold.is_critical}
    urgent = {hold for hold in holds if hold.state in ("short", "sole-holder", "no-reserve")}
    groups = [urgent, *({hold for hold in holds if hold.row.state == state} for state in style.COVER_STATES)]
    for group in groups:
        if len(chosen | group) <= MOST_LINES:
            chosen |= group
    return [hold for hold in holds if hold in chosen]


def iterate_holds(coverage: CoverageResult, points: dict[str, SinglePoint]) -> Iterator[Hold]:
    """Yield every pair of a need and a person able to meet it."""
    fallen = {
        (point.id, need.competency, need.level, need.applies, need.shift)
        for point in points.values()
        for need in point.needs
    }
    for row in coverage.needs:
        for scope in row.shifts or (row,):
            for person in scope.qualified:
                is_critical = (person, row.competency, row.level, row.applies, scope.shift) in fallen
                yield Hold(person, row, scope.shift, scope.state, person in scope.present, is_critical)


def get_need_name(row: CoverageRow) -> str:
    """Return the DOT name of a need."""
    return get_node_name("need", row.competency, str(row.level), row.applies)


def build_keys(coverage: CoverageResult, drawn: Sequence[Hold], holds: Sequence[Hold]) -> list[list[Key]]:
    """Return the legend: states, and the lines that are drawn."""
    present = {row.state for row in coverage.needs}
    words = {
        "short": "short: below the minimum",
        "sole-holder": "sole holder: one person, and one is the minimum",
        "no-reserve": "no reserve: just the minimum",
        "below-target": "below target",
        "covered": "covered",
    }
    states = [Key(style.COVER_STATES[state].colour, words[state]) for state in words if state in present]
    lines = []
    if any(hold.is_critical for hold in drawn):
        lines.append(Key(style.CRITICAL.colour, "thick: the need would be short without this person", "line"))
    if any(hold.is_present and not hold.is_critical for hold in drawn):
        lines.append(Key(style.LINE, "thin: able and present", "line"))
    if any(not hold.is_present for hold in drawn):
        lines.append(Key(style.LINE, "able, but away (dashed)", "dashes"))
    rows = [states, lines]
    if len(drawn) < len(holds):
        rows.append([Key(style.INK, "Too many lines for one picture: some are names in the need's card.", "none")])
    return rows
