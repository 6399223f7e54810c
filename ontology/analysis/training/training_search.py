"""The best cross-training plan, proved where time allows: aims in order, each fixed before the next. Pure.

May import the parts of the state. Missing people, then (when asked) the largest load of one learner, minutes of
learners and coaches, courses that nobody could coach, cents, number of courses, then ids.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.training.learners import CanDoAfter, TeamLearning
from ontology.analysis.training.training_aim import minimise
from ontology.analysis.training.training_goals import TrainingGoals
from ontology.analysis.training.training_state import (
    CENTS,
    COURSES,
    LOAD,
    MINUTES,
    MISSING,
    UNCOACHED,
    TrainingState,
)
from ontology.analysis.training.training_ties import level_loads, settle_ids

__all__ = ["TrainingAnswer", "find_best_training"]

_FIRST_AIM_SHARE: Final = 0.5
"""Of the time: what proving the fewest missing may take at the most, so that some is left for the hours."""

_LEAST_FOR_TIES_S: Final = 2.0
"""Seconds that plans of the same hours are chosen among, however soon these were found."""


@dataclass(frozen=True)
class TrainingAnswer:
    """A plan and how good it is.

    `missing` people are weighted, and none of all plans misses fewer than `missing_bound`; with so few missing none
    takes fewer minutes than `minutes_bound` (where the largest load is to be small: none with such a load).
    `is_proved`: both are reached, and the load is the least where it is an aim.
    """

    plan: dict[str, frozenset[int]]
    missing: int
    missing_bound: int
    minutes_bound: int
    is_proved: bool


def find_best_training(
    team: TeamLearning, goals: TrainingGoals, deadline: Deadline, *, is_fair: bool = False
) -> TrainingAnswer:
    """Return the plan with the fewest missing people, then minutes, not coached, cents, courses, then ids.

    Parameters
    ----------
    deadline : Deadline
        When it is over the best plan so far is returned.
    is_fair : bool
        Right after the missing people, the largest load of one learner (own minutes) is to be small.

    Returns
    -------
    TrainingAnswer

    Notes
    -----
    NP-hard (one person's part alone is minimum-cost delete-free planning).
    """
    began = deadline.get_remaining_s()
    state = TrainingState(team, goals, is_fair=is_fair)
    everything = {person_id: frozenset(learner.courses) for person_id, learner in team.learners.items()}
    least = goals.count_missing(CanDoAfter(team, everything))
    if deadline.is_over():
        return TrainingAnswer(state.plan, state.value[MISSING], min(least, state.value[MISSING]), 0, False)
    state.prepare()
    missing_bound, is_proved = minimise(state, MISSING, least, deadline.get_share(_FIRST_AIM_SHARE))
    if is_fair:
        is_proved &= level_loads(state, deadline.get_share(_FIRST_AIM_SHARE))
    load = state.value[LOAD]
    minutes_bound, is_cheapest = minimise(state, MINUTES, 0, deadline)
    is_proved &= is_cheapest
    deadline = _leave_for_ties(deadline, began)
    if is_proved and all(minimise(state, aim, 0, deadline)[1] for aim in (UNCOACHED, CENTS, COURSES)):
        settle_ids(state, deadline)
    if state.value[MISSING] < missing_bound or (
        state.value[MISSING] == missing_bound and state.value[LOAD] == load and state.value[MINUTES] < minutes_bound
    ):
        # the solver's word was wrong somewhere: what it proved is worth nothing
        return TrainingAnswer(state.plan, state.value[MISSING], min(least, state.value[MISSING]), 0, False)
    return TrainingAnswer(state.plan, state.value[MISSING], missing_bound, minutes_bound, is_proved)


def _leave_for_ties(deadline: Deadline, began: float | None) -> Deadline:
    """Return when to stop choosing among plans of the same hours: a limited time lasts as long again as these took."""
    left = deadline.get_remaining_s()
    if left is None or began is None:
        return deadline
    return Deadline(min(left, max(_LEAST_FOR_TIES_S, began - left)))
