"""How many holders the occasions of a year keep current, where that matters for a plan. Pure; imports goals.

Whoever holds a level and never does the work loses it: more holders than the occasions keep current are cover on
paper. A plan trains nobody beyond the ceiling.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

from ontology.analysis.paths.offers import Fact
from ontology.analysis.training.training_goals import TrainingGoals
from ontology.model.identity import PeopleCount

__all__ = ["PracticeCeiling", "describe_ceilings"]


@dataclass(frozen=True, slots=True)
class PracticeCeiling:
    """A need with more people wanted, or held after the plan, than its occasions keep current.

    `ceiling` = whole (occasions a year / practices a year of the competency), for each shift of an each-shift need;
    `wanted` as it stands in the need (or for the wished tolerance); `holders` after the plan.
    """

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level needed."]
    applies: Annotated[str, "team, each-shift, or the id of one shift."]
    shift: Annotated[str | None, "The shift; null for the team."]
    ceiling: Annotated[int, "Holders that the occasions of a year keep current."]
    wanted: Annotated[int, "People wanted."]
    holders: Annotated[PeopleCount, "People who hold it after the plan."]
    reason: Annotated[str, "What follows."]


def describe_ceilings(
    goals: TrainingGoals, can_do: Callable[[str, frozenset[Fact]], bool]
) -> tuple[PracticeCeiling, ...]:
    """Return the needs whose ceiling is below what is wanted or held, in the order of needs and shifts."""
    rows = []
    for goal in goals.counts:
        holders = sum(can_do(person_id, goal.facts) for person_id in goal.people)
        wanted = goal.wanted + goal.beyond
        if goal.ceiling is None or max(wanted, holders) <= goal.ceiling:
            continue
        need = goal.need
        name = f"{need.competency} at level {need.level}{'' if goal.shift is None else f' in shift {goal.shift}'}"
        reason = f"{name} comes up often enough to keep {goal.ceiling} current"
        if goal.beyond:
            reason += f": the {wanted} wanted would be cover on paper, the plan asks for {goal.wanted}"
        if holders > goal.ceiling:
            reason += f"; {holders} hold it"
        if goal.ceiling < need.minimum:
            reason += f"; that is below the minimum of {need.minimum}: more occasions (exercises) come first"
        rows.append(
            PracticeCeiling(
                need.competency, need.level, need.applies, goal.shift, goal.ceiling, wanted, holders, reason + "."
            )
        )
    return tuple(rows)
