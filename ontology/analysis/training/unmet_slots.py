"""Slots of places and `together` needs that a plan leaves empty, and why, in sentences. Pure.

May import learners, goals, slots and the reasons of needs.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated

from ontology.analysis.training.learners import CanDoAfter, TeamLearning
from ontology.analysis.training.training_goals import TrainingGoals
from ontology.analysis.training.training_reasons import (
    MissingInShift,
    UnmetGoal,
    count_people,
    describe_limits,
    explain_people,
)
from ontology.analysis.training.training_rules import LearnerRules
from ontology.analysis.training.training_slots import SlotKind, count_empty, find_able, find_rivals
from ontology.model.identity import PeopleShort
from ontology.model.records import APPLIES_EACH_SHIFT
from ontology.snapshot.snapshot import Snapshot

__all__ = ["UnmetPlaces", "describe_unmet_places", "describe_unmet_slots"]


@dataclass(frozen=True, slots=True)
class UnmetPlaces:
    """Slots that stay without as many able people to spare as wished: the places and competencies that compete."""

    places: Annotated[tuple[str, ...], "The places that compete."]
    competencies: Annotated[tuple[str, ...], "The competencies that compete."]
    missing: Annotated[PeopleShort, "People missing."]
    reason: Annotated[str, "Why."]


def describe_unmet_slots(
    rules: LearnerRules, team: TeamLearning, goals: TrainingGoals, can_do: CanDoAfter
) -> tuple[UnmetGoal, ...]:
    """Return every place and `together` need with slots still empty, one row each, in their order."""
    if goals.tolerance is not None:
        return ()
    empty = count_empty(goals.kinds, find_able(goals.kinds, can_do))
    rows: dict[object, UnmetGoal] = {}
    for kind, missing in zip(goals.kinds, empty, strict=True):
        if missing:
            row = _describe(rules.presence.snapshot, kind, missing, _explain(rules, team, goals, kind, can_do))
            key = kind.place or kind.need
            rows[key] = _join(rows[key], row) if key in rows else row
    return tuple(rows.values())


def _describe(snapshot: Snapshot, kind: SlotKind, missing: int, reason: str) -> UnmetGoal:
    need = kind.need
    applies = (kind.shift or "team") if need is None else need.applies
    shifts = () if kind.shift is None or applies != APPLIES_EACH_SHIFT else (MissingInShift(kind.shift, missing),)
    return UnmetGoal(
        kind="place" if need is None else "together",
        place=kind.place,
        role=None if kind.place is None else snapshot.places[kind.place].role,
        competency=None if need is None else need.competency,
        level=None if need is None else need.level,
        applies=applies,
        shift=kind.shift,
        together=None if need is None else need.together,
        missing=missing,
        reason=reason,
        shifts=shifts,
    )


def _join(row: UnmetGoal, other: UnmetGoal) -> UnmetGoal:
    """Return one row for the same need in several shifts."""
    reasons = dict.fromkeys((row.reason, other.reason))
    return replace(
        row,
        shift=None,
        missing=row.missing + other.missing,
        reason=" ".join(reasons),
        shifts=(*row.shifts, *other.shifts),
    )


def _explain(rules: LearnerRules, team: TeamLearning, goals: TrainingGoals, kind: SlotKind, can_do: CanDoAfter) -> str:
    facts = kind.facts
    if facts is None:
        return "Its role has no requirements, so nobody counts as able."
    where = "the team" if kind.shift is None else f"shift {kind.shift}"
    if not kind.people:
        return f"Nobody of {where} is present."
    sentences = []
    possible = find_able(goals.kinds, lambda person, levels: team.learners[person].is_reachable(levels))
    number = goals.kinds.index(kind)
    rivals = next((numbers for numbers, _ in find_rivals(goals.kinds, possible) if number in numbers), ())
    if rivals:
        slots = sum(goals.kinds[n].count for n in rivals)
        people = {person for n in rivals for person in possible[n]}
        sentences.append(
            f"{slots} {'slot' if slots == 1 else 'slots'} to be filled at once, for which {count_people(len(people))} "
            f"present {'is' if len(people) < 2 else 'are'} or could become able."
        )
    others = [person for person in kind.people if not can_do(person, facts)]
    sentences += explain_people(rules, team, others, facts)
    if not rivals:
        sentences.append(describe_limits(rules))
    return " ".join(sentences)


def describe_unmet_places(
    goals: TrainingGoals, can_do: CanDoAfter, hours_limit: float | None
) -> tuple[UnmetPlaces, ...]:
    """Return the scarcest set of slots for the wished tolerance, where people are missing for one."""
    scarce = [] if goals.tolerance is None else goals.find_scarce_kinds(find_able(goals.kinds, can_do))
    if not scarce:
        return ()
    kinds = [goals.kinds[number] for number in scarce[0].kinds]
    slots = sum(kind.count for kind in kinds)
    limit = "" if hours_limit is None else f" within the limit of {hours_limit:g} hours a person"
    reason = (
        f"{slots} {'slot' if slots == 1 else 'slots'} to be filled at once, with {goals.tolerance} to spare, would "
        f"take {scarce[0].missing} more able people present than courses{limit} lead to."
    )
    return (
        UnmetPlaces(
            places=tuple(sorted({kind.place for kind in kinds if kind.place is not None})),
            competencies=tuple(sorted({kind.need.competency for kind in kinds if kind.need is not None})),
            missing=scarce[0].missing,
            reason=reason,
        ),
    )
