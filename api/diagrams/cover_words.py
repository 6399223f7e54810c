"""The words of a team's cover: scope, state, what would fall with a person.

Imports style, text, the snapshot and the answers.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Final

from api.diagrams import old_style as style
from api.diagrams.text import TIE, format_count
from ontology.analysis.cover.coverage import CoverageResult, CoverageRow
from ontology.analysis.places.single_points import SinglePoint
from ontology.graph.snapshot import Snapshot
from ontology.records import APPLIES_TEAM

_COUNTED: Final = {
    "short": "short",
    "sole-holder": "with a sole holder",
    "no-reserve": "without reserve",
    "below-target": "below target",
    "covered": "covered",
}


def get_shift_label(snapshot: Snapshot, shift_id: str | None) -> str:
    """Return a shift's label; empty for the whole team."""
    return snapshot.shifts[shift_id].label if shift_id and shift_id in snapshot.shifts else shift_id or ""


def format_falls(snapshot: Snapshot, point: SinglePoint) -> list[str]:
    """Return what would fall with a person, a sentence for needs, places and needs met together."""
    falls = []
    if point.needs:
        needs = [f"{snapshot.competencies[need.competency].label} (level{TIE}{need.level})" for need in point.needs]
        falls.append(f"{', '.join(needs)} short")
    if point.places:
        roles = [snapshot.roles[snapshot.places[i].role].label for i in point.places]
        falls.append(f"{'a place' if len(roles) > 1 else 'the place'} {' or '.join(dict.fromkeys(roles))} empty")
    if point.together:
        labels = [snapshot.competencies[need.competency].label for need in point.together]
        falls.append(f"not enough people at once for {', '.join(dict.fromkeys(labels))}")
    return falls


def format_scope(snapshot: Snapshot, row: CoverageRow) -> str:
    """Return where a need counts, with the depth of every shift where there are several."""
    if row.shifts:
        shifts = ", ".join(f"{get_shift_label(snapshot, s.shift)}{TIE}{s.depth}" for s in row.shifts)
        return f"in each shift ({shifts} present)"
    return "in the team" if row.applies == APPLIES_TEAM else f"in {get_shift_label(snapshot, row.applies)}"


def format_summary(snapshot: Snapshot, coverage: CoverageResult, points: Mapping[str, SinglePoint]) -> str:
    """Return the whole in a sentence or two: counts by state, single points, who is away."""
    if not coverage.needs:
        return "This team has no cover needs yet."
    counts = Counter(str(row.state) for row in coverage.needs)
    states = [f"{counts[state]} {words}" for state, words in _COUNTED.items() if counts[state]]
    words = f"{format_count(len(coverage.needs), 'need')}: {', '.join(states)}. "
    words += format_count(len(points), "single point", "single points") + " of failure."
    if coverage.absent:
        words += f" Away: {', '.join(snapshot.people[i].name for i in coverage.absent)}."
    return words


def describe_cover(snapshot: Snapshot, coverage: CoverageResult, points: Mapping[str, SinglePoint]) -> str:
    """Return the picture in words."""
    sentences = [format_summary(snapshot, coverage, points)]
    for row in coverage.needs:
        label = snapshot.competencies[row.competency].label
        sentences.append(
            f"{label} at level {row.level}, {format_scope(snapshot, row)}: {style.COVER_STATES[row.state].word}, "
            f"{row.depth} present, minimum {row.minimum}, target {row.target}."
        )
    for person_id, point in points.items():
        falls = "; ".join(format_falls(snapshot, point))
        sentences.append(f"Single point of failure: {snapshot.people[person_id].name}; if away: {falls}.")
    return " ".join(sentences)
