"""The words of a team's cover: scope, state, what would fall with a person.

Imports style, text, the snapshot and the answers.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping
from typing import Final

from api.pictures.names import get_label, get_place_label, get_shift_label
from api.pictures.text import TIE, format_count
from ontology.analysis.cover.coverage import CoverageResult, CoverageRow, ShiftCover
from ontology.analysis.places.single_points import SinglePoint
from ontology.model.records import APPLIES_TEAM
from ontology.snapshot.snapshot import Snapshot

#: State of a need, as the analyses name it: the word that stands beside its colour; the worst first.
STATES: Final = {
    "short": "short",
    "sole-holder": "sole holder",
    "no-reserve": "no reserve",
    "below-target": "below target",
    "covered": "covered",
}

#: A need where it counts: the row itself for a team or one shift, each of its shifts otherwise.
Scope = CoverageRow | ShiftCover


def iterate_scopes(need: CoverageRow) -> Collection[Scope]:
    """Return where a need counts: every shift of one that is needed in each, else the need itself."""
    return need.shifts or (need,)


def format_depth(snapshot: Snapshot, need: CoverageRow, scope: Scope) -> str:
    """Return the state of a need where it counts: how many are present, of how many at least, and where."""
    where = get_shift_label(snapshot, scope.shift)
    return f"{STATES[scope.state]}: {scope.depth} of at least {need.minimum} present{f', {where}' if where else ''}"


def format_falls(snapshot: Snapshot, point: SinglePoint) -> list[str]:
    """Return what would fall with a person, a sentence for needs, places and needs met together."""
    falls = []
    if point.needs:
        needs = [
            f"{get_label(snapshot.competencies, need.competency)} (level{TIE}{need.level})" for need in point.needs
        ]
        falls.append(f"{', '.join(needs)} short")
    if point.places:
        names = [get_place_label(snapshot, place) for place in point.places]
        falls.append(f"{'place' if len(names) == 1 else 'places'} {', '.join(names)} empty")
    if point.together:
        labels = [get_label(snapshot.competencies, need.competency) for need in point.together]
        falls.append(f"not enough people at once for {', '.join(dict.fromkeys(labels))}")
    return falls


def format_away(snapshot: Snapshot, point: SinglePoint, drawn: Collection[CoverageRow]) -> str:
    """Return what would fall with a person, short: needs in `drawn`, whose lines are seen, are counted, not named."""
    seen = {(need.competency, need.level, need.applies) for need in drawn}
    is_seen = [(need.competency, need.level, need.applies) in seen for need in point.needs]
    if point.needs and all(is_seen):
        falls = format_falls(snapshot, point)[1:]
        return ", ".join([f"{format_count(len(point.needs), 'need')} short", *falls])
    return ", ".join(format_falls(snapshot, point))


def format_scope(snapshot: Snapshot, need: CoverageRow) -> str:
    """Return where a need counts, with the depth of every shift where there are several."""
    if need.shifts:
        shifts = ", ".join(f"{get_shift_label(snapshot, s.shift)}{TIE}{s.depth}" for s in need.shifts)
        return f"in each shift ({shifts} present)"
    return "in the team" if need.applies == APPLIES_TEAM else f"in {get_shift_label(snapshot, need.applies)}"


def format_summary(snapshot: Snapshot, coverage: CoverageResult, points: Mapping[str, SinglePoint]) -> str:
    """Return the whole in a sentence or two: counts by state, single points, who is away."""
    if not coverage.needs:
        return "This team has no cover needs yet."
    counts = Counter(str(need.state) for need in coverage.needs)
    states = [f"{counts[name]} {word}" for name, word in STATES.items() if counts[name]]
    told = f"{format_count(len(coverage.needs), 'need')}: {', '.join(states)}."
    told += f" {format_count(len(points), 'single point')} of failure." if points else " No single point of failure."
    if coverage.absent:
        told += f" Away: {', '.join(get_label(snapshot.people, i) for i in coverage.absent)}."
    return told


def describe_cover(snapshot: Snapshot, coverage: CoverageResult, points: Mapping[str, SinglePoint]) -> str:
    """Return the picture in words."""
    sentences = [format_summary(snapshot, coverage, points)]
    for need in coverage.needs:
        label = get_label(snapshot.competencies, need.competency)
        sentences.append(
            f"{label} at level {need.level}, {format_scope(snapshot, need)}: {STATES[need.state]}, "
            f"{need.depth} present, minimum {need.minimum}, target {need.target}."
        )
    for person_id, point in points.items():
        falls = "; ".join(format_falls(snapshot, point))
        sentences.append(f"Single point of failure: {get_label(snapshot.people, person_id)}; if away: {falls}.")
    return " ".join(sentences)
