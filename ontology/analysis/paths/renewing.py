"""Which outcomes someone can use, and which courses keep a level that has an end: the one rule of renewal. Pure.

A refresher is for those who hold its level, or lost it no longer ago than the competency allows.
"""

from __future__ import annotations

from ontology.analysis.profiles.levels import LevelOnDate
from ontology.graph.snapshot import Snapshot
from ontology.records import Outcome

__all__ = ["can_use_outcome", "find_keepers"]


def can_use_outcome(outcome: Outcome, known: LevelOnDate) -> bool:
    """Return whether an outcome counts for someone of whom so much is known on the day of the course.

    A renewing one asks for its own level, held or lost lately enough; any other for nothing.
    """
    return not outcome.renews or max(known.level or 0, known.renewable_level) >= outcome.level


def find_keepers(snapshot: Snapshot, known: LevelOnDate) -> tuple[Outcome, ...]:
    """Return the outcomes that make the level known count anew, by course id.

    Those that reach it or more, and of renewing ones those that someone who stands so can use: of a level held the
    refreshers of just this level.
    """
    level = known.level or 0
    return tuple(
        outcome
        for outcome in snapshot.get_outcomes_of_competency(known.competency)
        if outcome.level >= level and can_use_outcome(outcome, known)
    )
