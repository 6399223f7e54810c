"""A plan that is in time for the people in it: someone who cannot be released gives way to someone who can. Pure.

Where a date is asked for, a course for which its learner cannot be spared
until then is no good way to close a hole. So each such learner is exchanged for somebody without a course, for whom the
same courses come to the same missing people, hours, cost and courses: the plan stays as good as it was proved to be,
only the order of ids gives way. Where there is nobody of the kind the conflict stays, and is told.
"""

from __future__ import annotations

from collections.abc import Iterator

from ontology.analysis.cover.presence import Presence
from ontology.analysis.training.dated_plan import DatedPlan, build_dated_plan
from ontology.analysis.training.learners import CanDoAfter, Plan, TeamLearning
from ontology.analysis.training.training_goals import TrainingGoals

__all__ = ["find_released_plan"]


def find_released_plan(
    presence: Presence, team: TeamLearning, goals: TrainingGoals, plan: Plan
) -> tuple[dict[str, frozenset[int]], DatedPlan]:
    """Return a plan as good as one given, with fewer courses for which nobody can be spared, and its days.

    Notes
    -----
    Each exchange takes one conflict away, so there are as many rounds as conflicts; in each O(conflicts x members)
    exchanges are looked at, and those that come to the same are placed on the calendar.
    """
    best, dated = dict(plan), build_dated_plan(presence, team, plan)
    found = True
    while found and dated.conflicts:
        found = False
        for other in _exchange(team, goals, best, dated):
            placed = build_dated_plan(presence, team, other)
            if _count(placed) < _count(dated):
                best, dated, found = other, placed, True
                break
    return best, dated


def _count(dated: DatedPlan) -> int:
    return len({(row.person, row.course) for row in dated.conflicts})


def _exchange(
    team: TeamLearning, goals: TrainingGoals, plan: Plan, dated: DatedPlan
) -> Iterator[dict[str, frozenset[int]]]:
    """Yield the plans in which someone with a conflict gives way to someone else, by ids."""
    missing = goals.count_missing(CanDoAfter(team, plan))
    for person_id in sorted({row.person for row in dated.conflicts}):
        courses = {team.learners[person_id].offers[operator].id for operator in plan[person_id]}
        for other_id in sorted(team.learners.keys() - plan.keys()):
            offers = team.learners[other_id].offers
            operators = frozenset(n for n, offer in enumerate(offers) if offer.id in courses)
            if len(operators) < len(courses):
                continue
            other = {i: taken for i, taken in plan.items() if i != person_id} | {other_id: operators}
            is_as_good = team.get_aims(other) == team.get_aims(plan) and team.is_within_limits(other)
            if is_as_good and goals.count_missing(CanDoAfter(team, other)) == missing:
                yield other
