"""The words of a team's cover: scope, state, what would fall with a person."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping

from api.pictures import style
from api.pictures.names import Names
from api.pictures.text import TIE, format_count
from ontology.analysis.cover.coverage import CoverageResult, CoverageRow, ShiftCover
from ontology.analysis.places.single_points import SinglePoint
from ontology.model.records import APPLIES_TEAM

#: A need where it counts: the row itself for a team or one shift, each of its shifts otherwise.
Scope = CoverageRow | ShiftCover


def get_scopes(need: CoverageRow) -> Collection[Scope]:
    """Return where a need counts: every shift of one that is needed in each, else the need itself."""
    return need.shifts or (need,)


def format_depth(names: Names, need: CoverageRow, scope: Scope) -> str:
    """Return the state of a need where it counts: how many are present, of how many at least, and where."""
    told = f"{style.STATE_WORDS[scope.state]}: {scope.depth} of at least {need.minimum} present"
    return ", ".join(filter(None, (told, names.shift(scope.shift))))


def format_falls(names: Names, point: SinglePoint) -> list[str]:
    """Return what would fall with a person, a sentence for needs, places and needs met together."""
    falls = []
    if point.needs:
        needs = [f"{names.competency(need.competency)} (level{TIE}{need.level})" for need in point.needs]
        falls.append(f"{', '.join(needs)} short")
    if point.places:
        places = ", ".join(map(names.place, point.places))
        falls.append(f"{'place' if len(point.places) == 1 else 'places'} {places} empty")
    if point.together:
        labels = dict.fromkeys(names.competency(need.competency) for need in point.together)
        falls.append(f"not enough people at once for {', '.join(labels)}")
    return falls


def format_away(names: Names, point: SinglePoint, drawn: Collection[CoverageRow] = ()) -> str:
    """Return what would fall with a person, short: needs in `drawn`, whose lines are seen, are counted, not named."""
    falls = format_falls(names, point)
    seen = {(need.competency, need.level, need.applies) for need in drawn}
    if point.needs and all((need.competency, need.level, need.applies) in seen for need in point.needs):
        falls[0] = f"{format_count(len(point.needs), 'need')} short"
    return ", ".join(falls)


def format_scope(names: Names, need: CoverageRow) -> str:
    """Return where a need counts, with the depth of every shift where there are several."""
    if need.shifts:
        shifts = ", ".join(f"{names.shift(s.shift)}{TIE}{s.depth}" for s in need.shifts)
        return f"in each shift ({shifts} present)"
    return "in the team" if need.applies == APPLIES_TEAM else f"in {names.shift(need.applies)}"


def format_summary(names: Names, coverage: CoverageResult, points: Mapping[str, SinglePoint]) -> str:
    """Return the whole in a sentence or two: counts by state, single points, who is away."""
    if not coverage.needs:
        return "This team has no cover needs yet."
    counts = Counter(str(need.state) for need in coverage.needs)
    states = [f"{counts[name]} {word}" for name, word in style.STATE_WORDS.items() if counts[name]]
    told = f"{format_count(len(coverage.needs), 'need')}: {', '.join(states)}."
    told += f" {format_count(len(points), 'single point')} of failure." if points else " No single point of failure."
    if coverage.absent:
        told += f" Away: {names.join('people', coverage.absent)}."
    return told


def describe_cover(names: Names, coverage: CoverageResult, points: Mapping[str, SinglePoint]) -> str:
    """Return the picture in words."""
    sentences = [format_summary(names, coverage, points)]
    for need in coverage.needs:
        label = names.competency(need.competency)
        sentences.append(
            f"{label} at level {need.level}, {format_scope(names, need)}: {style.STATE_WORDS[need.state]}, "
            f"{need.depth} present, minimum {need.minimum}, target {need.target}."
        )
    for person_id, point in points.items():
        falls = "; ".join(format_falls(names, point))
        sentences.append(f"Single point of failure: {names.person(person_id)}; if away: {falls}.")
    return " ".join(sentences)
