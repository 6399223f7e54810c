"""Why a cross-training plan leaves people missing, in sentences. Pure.

May import learners, goals and the explanation of unreachable levels.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from ontology.analysis.paths.offers import build_catalogue, reach_levels
from ontology.analysis.paths.unreachable import explain_unreachable
from ontology.analysis.training.learners import CanDoAfter, Learner, TeamLearning
from ontology.analysis.training.training_goals import CountGoal, TrainingGoals
from ontology.analysis.training.training_rules import TrainingRules
from ontology.graph.snapshot import Snapshot
from ontology.records import APPLIES_EACH_SHIFT

__all__ = ["MissingInShift", "UnmetNeed", "UnmetPlaces", "describe_unmet_needs", "describe_unmet_places"]


@dataclass(frozen=True, slots=True)
class MissingInShift:
    """How many people are still missing in one shift."""

    shift: str
    missing: int


@dataclass(frozen=True, slots=True)
class UnmetNeed:
    """A need that the plan does not meet: how many people are missing, summed over shifts, and why.

    `shift` is the shift where it lacks people when that is one, else None; `shifts` lists them for an each-shift need.
    """

    competency: str
    level: int
    applies: str
    shift: str | None
    missing: int
    reason: str
    shifts: tuple[MissingInShift, ...]


@dataclass(frozen=True, slots=True)
class UnmetPlaces:
    """Slots for which too few people are able even so: the places and competencies that compete, and how many lack."""

    places: tuple[str, ...]
    competencies: tuple[str, ...]
    missing: int
    reason: str


def describe_unmet_needs(
    snapshot: Snapshot, team: TeamLearning, goals: TrainingGoals, can_do: CanDoAfter, rules: TrainingRules
) -> tuple[UnmetNeed, ...]:
    """Return every need with people still missing, one row each, in the order of needs."""
    rows = []
    for need, group in groupby(goals.counts, key=lambda goal: goal.need):
        lacking = [(goal, goal.count_missing(can_do)) for goal in group]
        lacking = [(goal, missing) for goal, missing in lacking if missing]
        if not lacking:
            continue
        reasons = [_explain(snapshot, team, goal, can_do, rules) for goal, _ in lacking]
        shifts = [MissingInShift(goal.shift, missing) for goal, missing in lacking if goal.shift is not None]
        rows.append(
            UnmetNeed(
                competency=need.competency,
                level=need.level,
                applies=need.applies,
                shift=shifts[0].shift if len(shifts) == 1 else None,
                missing=sum(missing for _, missing in lacking),
                reason=" ".join(dict.fromkeys(reasons)),
                shifts=tuple(shifts) if need.applies == APPLIES_EACH_SHIFT else (),
            )
        )
    return tuple(rows)


def _explain(snapshot: Snapshot, team: TeamLearning, goal: CountGoal, can_do: CanDoAfter, rules: TrainingRules) -> str:
    where = "The team" if goal.shift is None else f"Shift {goal.shift}"
    if goal.need.applies == APPLIES_EACH_SHIFT and goal.shift is None:
        return "The team has no shifts, so nobody counts for it."
    sentences = []
    if len(goal.people) < goal.wanted:
        sentences.append(f"{where} has {_count(len(goal.people))} who could count, {goal.wanted} are wanted.")
    others = [team.learners[i] for i in goal.people if not can_do(i, goal.facts)]
    stuck: dict[str, list[str]] = {}
    for learner in others:
        if not learner.is_reachable(goal.facts):
            reason = _explain_unreachable(snapshot, learner, goal)
            stuck.setdefault(reason, []).append(learner.id)
    sentences += [f"For {', '.join(people)}: {reason}" for reason, people in stuck.items()]
    if any(learner.is_reachable(goal.facts) for learner in others):
        limits = [] if rules.hours_limit is None else [f"the limit of {rules.hours_limit:g} hours a person"]
        limits += [] if rules.by is None else [f"the time until {rules.by}"]
        limit = " and ".join(limits) or "the time for the search"
        sentences.append(f"{limit[0].upper()}{limit[1:]} {'leave' if len(limits) > 1 else 'leaves'} no room for more.")
    return " ".join(sentences)


def _explain_unreachable(snapshot: Snapshot, learner: Learner, goal: CountGoal) -> str:
    level = (goal.need.competency, goal.need.level)
    if learner.is_excluded:
        return "not to learn, as asked."
    everything = build_catalogue(snapshot, learner.profile)
    if reach_levels(everything, learner.profile.levels).get(level[0], 0) >= level[1]:
        return "only by courses that are left out, have no coach or end too late."
    return explain_unreachable(snapshot, everything, learner.reachable_levels, *level).reason


def _count(people: int) -> str:
    return "nobody" if not people else "1 person" if people == 1 else f"{people} people"


def describe_unmet_places(
    goals: TrainingGoals, can_do: CanDoAfter, hours_limit: float | None
) -> tuple[UnmetPlaces, ...]:
    """Return the scarcest set of slots, where people are missing for one."""
    scarce = goals.find_scarce_kinds(can_do)
    if not scarce:
        return ()
    kinds = [goals.kinds[number] for number in scarce[0].kinds]
    slots = sum(kind.count for kind in kinds)
    limit = "" if hours_limit is None else f" within the limit of {hours_limit:g} hours a person"
    reason = (
        f"{slots} to be manned at once, with {goals.tolerance} to spare, would take {scarce[0].missing} more able "
        f"people present than courses{limit} lead to."
    )
    return (
        UnmetPlaces(
            places=tuple(sorted({kind.place for kind in kinds if kind.place is not None})),
            competencies=tuple(sorted({kind.need.competency for kind in kinds if kind.need is not None})),
            missing=scarce[0].missing,
            reason=reason,
        ),
    )
