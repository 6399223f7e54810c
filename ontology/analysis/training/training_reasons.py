"""Why a cross-training plan leaves people missing from needs, in sentences. Pure.

May import learners, goals and the explanation of unreachable levels.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby
from typing import Annotated, Literal

from ontology.analysis.paths.offers import Fact, build_catalogue, reach_levels
from ontology.analysis.paths.unreachable import explain_unreachable
from ontology.analysis.training.learners import CanDoAfter, Learner, TeamLearning
from ontology.analysis.training.training_goals import CountGoal, TrainingGoals
from ontology.analysis.training.training_rules import LearnerRules
from ontology.model.identity import PeopleShort
from ontology.model.records import APPLIES_EACH_SHIFT

__all__ = ["MissingInShift", "UnmetGoal", "count_people", "describe_unmet_needs", "explain_people"]


@dataclass(frozen=True, slots=True)
class MissingInShift:
    """How many people are still missing in one shift."""

    shift: Annotated[str, "Id of the shift."]
    missing: Annotated[PeopleShort, "People missing."]


@dataclass(frozen=True, slots=True)
class UnmetGoal:
    """What a plan does not close: how many people are missing, summed over shifts, and why.

    `kind` is "need" (people short of the target), "place" or "together" (empty slots of a place or of a need of the
    group `together`); a place has a `role` and no competency and level. `shift` is the shift where people lack when
    that is one, else None; `shifts` lists them for an each-shift need.
    """

    kind: Annotated[
        Literal["need", "place", "together"],
        "need: people short of its target; place: empty slots of a place; together: those of a need of a group.",
    ]
    place: Annotated[str | None, "Id of the place; null otherwise."]
    role: Annotated[str | None, "Id of the role of the place; null otherwise."]
    competency: Annotated[str | None, "Id of the competency; null for a place."]
    level: Annotated[int | None, "The level needed; null for a place."]
    applies: Annotated[str, "team, each-shift, or the id of one shift."]
    shift: Annotated[str | None, "The shift that lacks people where it is one."]
    together: Annotated[str | None, "The group whose slots are empty; null otherwise."]
    missing: Annotated[PeopleShort, "People missing or slots empty, summed over shifts."]
    reason: Annotated[str, "Why."]
    shifts: Annotated[tuple[MissingInShift, ...], "The shifts of a need that applies to each."]


def describe_unmet_needs(
    rules: LearnerRules, team: TeamLearning, goals: TrainingGoals, can_do: CanDoAfter
) -> tuple[UnmetGoal, ...]:
    """Return every need with people still missing, one row each, in the order of needs."""
    rows = []
    for need, group in groupby(goals.counts, key=lambda goal: goal.need):
        lacking = [(goal, goal.count_missing(can_do)) for goal in group]
        lacking = [(goal, missing) for goal, missing in lacking if missing]
        if not lacking:
            continue
        reasons = [_explain(rules, team, goal, can_do) for goal, _ in lacking]
        shifts = [MissingInShift(goal.shift, missing) for goal, missing in lacking if goal.shift is not None]
        rows.append(
            UnmetGoal(
                kind="need",
                place=None,
                role=None,
                competency=need.competency,
                level=need.level,
                applies=need.applies,
                shift=shifts[0].shift if len(shifts) == 1 else None,
                together=None,
                missing=sum(missing for _, missing in lacking),
                reason=" ".join(dict.fromkeys(reasons)),
                shifts=tuple(shifts) if need.applies == APPLIES_EACH_SHIFT else (),
            )
        )
    return tuple(rows)


def _explain(rules: LearnerRules, team: TeamLearning, goal: CountGoal, can_do: CanDoAfter) -> str:
    where = "The team" if goal.shift is None else f"Shift {goal.shift}"
    if goal.need.applies == APPLIES_EACH_SHIFT and goal.shift is None:
        return "The team has no shifts, so nobody counts for it."
    sentences = []
    if len(goal.people) < goal.wanted:
        sentences.append(f"{where} has {count_people(len(goal.people))} who could count, {goal.wanted} are wanted.")
    others = [i for i in goal.people if not can_do(i, goal.facts)]
    sentences += explain_people(rules, team, others, goal.facts)
    if any(team.learners[i].is_reachable(goal.facts) for i in others):
        sentences.append(describe_limits(rules))
    return " ".join(sentences)


def explain_people(rules: LearnerRules, team: TeamLearning, people: Iterable[str], facts: frozenset[Fact]) -> list[str]:
    """Return a sentence for each reason why some people cannot come to these levels, with the people it holds for."""
    stuck: dict[str, list[str]] = {}
    for person_id in people:
        learner = team.learners[person_id]
        if not learner.is_reachable(facts):
            stuck.setdefault(_explain_unreachable(rules, learner, facts), []).append(person_id)
    return [f"For {', '.join(ids)}: {reason}" for reason, ids in stuck.items()]


def describe_limits(rules: LearnerRules) -> str:
    """Return what keeps those from learning who could."""
    asked = rules.asked
    limits = [] if asked.hours_limit is None else [f"the limit of {asked.hours_limit:g} hours a person"]
    limits += [] if asked.by is None else [f"the time until {asked.by}"]
    if any(person.end_date is not None for person in rules.presence.members):
        limits.append("the time until someone leaves")
    limit = " and ".join(limits) or "the time for the search"
    return f"{limit[0].upper()}{limit[1:]} {'leave' if len(limits) > 1 else 'leaves'} no room for more."


def _explain_unreachable(rules: LearnerRules, learner: Learner, facts: frozenset[Fact]) -> str:
    if learner.is_excluded:
        return "not to learn, as asked."
    snapshot, held = rules.presence.snapshot, learner.profile.levels
    everything = build_catalogue(snapshot, learner.profile)
    reached = reach_levels(everything, held)
    for competency_id, level in sorted(facts):
        if reached.get(competency_id, 0) < level:
            return explain_unreachable(snapshot, everything, reached, competency_id, level).reason
    lost = next((i, level) for i, level in sorted(facts) if learner.reachable_levels.get(i, 0) < level)
    return rules.explain_loss(learner.id, everything, dict(held), lost)


def count_people(people: int) -> str:
    """Return a number of people in words."""
    return "nobody" if not people else "1 person" if people == 1 else f"{people} people"
