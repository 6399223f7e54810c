"""Moves that exist but for an entry level as high as the full level: stepping stones that a default takes away. Pure.

An entry level left out counts as the full level, so nobody may learn on the job what the role asks. Which entry
level is right is the architect's to say; this only shows what hangs on it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Annotated

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.paths.catalogue import Stage, get_whole_minutes
from ontology.analysis.routes.moves import MoveCosts
from ontology.model.records import Requirement
from ontology.snapshot.snapshot import Snapshot

__all__ = ["HighEntryLevel", "find_high_entry_levels"]


@dataclass(frozen=True, slots=True)
class HighEntryLevel:
    """A requirement whose entry level is its full level, and the roles that lie within reach were it `lowered_to`."""

    role: Annotated[str, "The role that asks."]
    competency: Annotated[str, "What it asks."]
    level: Annotated[int, "Entry and full level."]
    lowered_to: Annotated[int, "The entry level at which the moves would be within reach."]
    stepping_stones: Annotated[tuple[str, ...], "The roles they start from."]


def find_high_entry_levels(
    snapshot: Snapshot,
    costs: MoveCosts,
    deadline: Deadline,
    profiles: Mapping[str, Mapping[str, int]],
    moves: Iterable[tuple[str, str]],
    *,
    preparation_limit: float,
    level_limit: int,
) -> tuple[HighEntryLevel, ...]:
    """Return the entry levels at full level that keep roles apart, most stepping stones first, then by ids.

    Parameters
    ----------
    costs : MoveCosts
        Of role profiles.
    deadline : Deadline
        Ends the search.
    profiles : mapping of role id to levels
        The full profile of every role that can be left.
    moves : iterable of (from, to)
        The moves within reach already.
    preparation_limit, level_limit : float, int
        As for moves.

    Notes
    -----
    For every requirement in question and every role below it, one small learning path for each lower entry level (at
    most `level_limit`, the first that opens something); level gates rule out most. Certificates are left alone:
    what law asks is not the architect's to lower.
    """
    known = set(moves)
    limit_minutes = get_whole_minutes(preparation_limit)
    found = []
    for role_id in profiles:
        for requirement in snapshot.get_requirements(role_id):
            if not _is_in_question(snapshot, requirement):
                continue
            starts = [s for s in profiles if s != role_id and (s, role_id) not in known]
            for lowered in range(requirement.level - 1, max(0, requirement.level - 1 - level_limit), -1):
                stones = tuple(
                    start
                    for start in starts
                    if not deadline.is_over()
                    and _opens(snapshot, costs, profiles[start], requirement, lowered, limit_minutes, level_limit)
                )
                if stones:
                    found.append(HighEntryLevel(role_id, requirement.competency, requirement.level, lowered, stones))
                    break
    return tuple(sorted(found, key=lambda row: (-len(row.stepping_stones), row.role, row.competency)))


def _is_in_question(snapshot: Snapshot, requirement: Requirement) -> bool:
    return (
        requirement.necessity != "desirable"
        and requirement.level > 1
        and requirement.entry_level == requirement.level
        and not snapshot.competencies[requirement.competency].is_certificate
    )


def _opens(
    snapshot: Snapshot,
    costs: MoveCosts,
    held: Mapping[str, int],
    requirement: Requirement,
    lowered: int,
    limit_minutes: int | None,
    level_limit: int,
) -> bool:
    """Whether the move is within reach with one entry level lowered."""
    if held.get(requirement.competency, 0) >= requirement.level:
        return False
    entry = costs.get_entry_levels(requirement.role) | {requirement.competency: lowered}
    for i, level in entry.items():
        if level - held.get(i, 0) > level_limit and not snapshot.competencies[i].is_certificate:
            return False
    goals = frozenset((i, level) for i, level in entry.items() if level > held.get(i, 0))
    plan = costs.joint.solve([Stage(held, goals)])
    return plan is not None and plan.value is not None and (limit_minutes is None or plan.value <= limit_minutes)
