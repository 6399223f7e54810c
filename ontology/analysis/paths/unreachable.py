"""Why a level cannot be reached: no course teaches it, or those that do wait for something out of reach. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from typing import Annotated

from ontology.analysis.paths.catalogue import Catalogue, Fact
from ontology.snapshot.snapshot import Snapshot

__all__ = ["UnreachableLevel", "explain_unreachable"]


@dataclass(frozen=True, slots=True)
class UnreachableLevel:
    """A level that no order of courses reaches, with the reason as sentences."""

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level."]
    reason: Annotated[str, "Why."]


def explain_unreachable(
    snapshot: Snapshot,
    catalogue: Catalogue,
    reached: Mapping[str, int],
    competency_id: str,
    level: int,
    *,
    excluded: AbstractSet[str] = frozenset(),
) -> UnreachableLevel:
    """Return why a level is out of reach.

    Parameters
    ----------
    catalogue : Catalogue
        The offers usable by the profile.
    reached : Mapping of competency id to level
        What all offers together reach.
    competency_id, level : str, int
        A level above `reached`.
    excluded : set of str
        Courses left out of the catalogue because the person does not want them.

    Returns
    -------
    UnreachableLevel
        Its reason names every course that would reach the level and what that course waits for.
    """
    achievers = catalogue.get_achievers(competency_id, level)
    if not achievers:
        reason = _explain_no_course(snapshot, competency_id, level, excluded)
        return UnreachableLevel(competency_id, level, reason + _name_excluded(snapshot, excluded))
    target = frozenset({(competency_id, level)})
    sentences = []
    for offer in achievers:
        missing = [(i, asked) for i, asked in offer.conditions if asked > reached.get(i, 0)]
        waits = " and ".join(
            f"{_name(snapshot, i)} at level {asked}, {_describe(catalogue, snapshot, reached, (i, asked), target)}"
            for i, asked in missing
        )
        sentences.append(f"Course {_name_course(snapshot, offer.id)} would reach it but waits for {waits}.")
    return UnreachableLevel(competency_id, level, " ".join(sentences) + _name_excluded(snapshot, excluded))


def _name_excluded(snapshot: Snapshot, excluded: AbstractSet[str]) -> str:
    names = ", ".join(_name_course(snapshot, course) for course in sorted(excluded))
    return f" Excluded at the person's wish: {names}." if names else ""


def _name(snapshot: Snapshot, competency_id: str) -> str:
    return f"{snapshot.competencies[competency_id].label} ({competency_id})"


def _name_course(snapshot: Snapshot, course_id: str) -> str:
    return f"{snapshot.courses[course_id].label} ({course_id})"


def _explain_no_course(snapshot: Snapshot, competency_id: str, level: int, excluded: AbstractSet[str]) -> str:
    wanted = f"{_name(snapshot, competency_id)} at level {level}"
    outcomes = [o for o in snapshot.get_outcomes_of_competency(competency_id) if o.course not in excluded]
    renewing = [o.course for o in outcomes if o.renews and o.level >= level]
    if renewing:
        names = ", ".join(_name_course(snapshot, course) for course in renewing)
        return f"Only a refresher reaches {wanted}: {names}. It is for those who hold the level or lost it lately."
    best = max((o.level for o in outcomes if not o.renews), default=0)
    reach = f" (the highest level taught is {best})" if best else ""
    return f"No course teaches {wanted}{reach}."


def _describe(
    catalogue: Catalogue,
    snapshot: Snapshot,
    reached: Mapping[str, int],
    fact: Fact,
    seen: frozenset[Fact] = frozenset(),
) -> str:
    """Return the clause that follows the name of a missing condition, down to its root by the first course."""
    competency_id, level = fact
    achievers = catalogue.get_achievers(competency_id, level)
    if not achievers:
        if any(o.renews and o.level >= level for o in snapshot.get_outcomes_of_competency(competency_id)):
            return "which only a refresher for its present or recent holders reaches"
        return "which no course teaches"
    if fact in seen:
        return "which waits for itself"
    first = achievers[0]
    missing = next((i, asked) for i, asked in first.conditions if asked > reached.get(i, 0))
    rest = _describe(catalogue, snapshot, reached, missing, seen | {fact})
    return f"which cannot be reached either (course {first.id} waits for {missing[0]} at level {missing[1]}, {rest})"
