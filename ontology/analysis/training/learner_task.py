"""One learner's part of a team's plan: courses made few, and markers that say who becomes able for what. Pure.

May import learners and the reduction of delete-free problems. An *ability* is a set of levels that some goal counts
together. It becomes an operator of its own, the marker: no cost, its conditions are the levels. Whoever takes the
marker is able, so goals count markers, and all else about a learner is a delete-free problem as for a single path.

Slots have a marker of their own for each learner, the filling. Since a person fills one slot at the most, all fillings
lead to one level more, *on a slot*, and one last marker asks for it: what all ways to any slot pass is a landmark of
that level, so a learner's halves of courses never fill more of a slot than they are.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from ontology.analysis.engine.landmark_reduction import build_task, reduce_task
from ontology.analysis.engine.landmark_task import ReducedTask
from ontology.analysis.engine.relaxed import RelaxedProblem, SideRow, find_closure
from ontology.analysis.paths.offers import Fact
from ontology.analysis.training.learners import Learner

__all__ = ["LearnerTask", "Marks", "build_learner_task", "find_marks", "keep_operators"]

_MARKER = "~{:04d}"
_FILLING = "~slot {:04d}"
_ON_SLOT = "~slot"
"""Ids of markers; no id of a course begins so."""


@dataclass(frozen=True)
class Marks:
    """What a learner can come to: abilities that needs count, and (group of kinds alike, ability) of slots."""

    abilities: tuple[frozenset[Fact], ...]
    fillings: tuple[tuple[int, frozenset[Fact]], ...]

    @property
    def is_choice(self) -> bool:
        """Whether there is more than one slot to choose from."""
        return len(self.fillings) > 1


@dataclass(frozen=True)
class LearnerTask:
    """One learner's part.

    Attributes
    ----------
    person_id : str
    task : ReducedTask
        Operators: courses and markers; its goals are of no account, since any of them may stay open.
    first : int
        Number of its first operator among those of the team.
    course_of : tuple of int
        For each operator the learner's course (operator of `Learner.problem`); -1 for a marker.
    loads : tuple of int
        For each operator the learner's own minutes.
    marker_of : dict of ability to operator
        Only of abilities that can be reached.
    filling_of : dict of group to operator
        The same for the kinds of slots alike; see `group_alike`.
    on_slot : int or None
        The marker that any filling leads to, where there are several.
    """

    person_id: str
    task: ReducedTask
    first: int
    course_of: tuple[int, ...]
    loads: tuple[int, ...]
    marker_of: dict[frozenset[Fact], int]
    filling_of: dict[int, int]
    on_slot: int | None

    @property
    def markers(self) -> list[int]:
        """All operators that are no courses."""
        return [n for n, course in enumerate(self.course_of) if course < 0]

    @property
    def span(self) -> slice:
        """Where its operators stand among those of the team."""
        return slice(self.first, self.first + self.task.paid_count)


def find_marks(
    learner: Learner,
    abilities: Iterable[frozenset[Fact]],
    slots: Iterable[tuple[int, frozenset[Fact]]],
    limit_minutes: int | None,
) -> Marks:
    """Return what a learner does not come to without courses, and can within the limit."""
    affordable = find_closure(
        learner.problem,
        (o for o in learner.courses if limit_minutes is None or learner.offers[o].minutes <= limit_minutes),
    )

    def find_open(facts: frozenset[Fact]) -> frozenset[Fact]:
        """Return what is lacking; nothing where it is out of reach."""
        lacking = frozenset(fact for fact in facts if not learner.is_held(fact))
        # a level that is not wanted belongs to a goal that is met already
        is_possible = lacking <= learner.wanted and learner.is_reachable(lacking)
        return lacking if is_possible and {learner.numbers[fact] for fact in lacking} <= affordable else frozenset()

    markers = {find_open(facts) for facts in abilities} - {frozenset()}
    fillings = ((group, find_open(facts)) for group, facts in slots)
    return Marks(tuple(sorted(markers, key=sorted)), tuple((group, facts) for group, facts in fillings if facts))


def build_learner_task(learner: Learner, marks: Marks, limit_minutes: int | None, first: int) -> LearnerTask:
    marked = _add_markers(learner, marks, limit_minutes)
    task = build_task(marked, marked.goals)
    count = len(learner.offers)
    loads = [learner.offers[source].minutes if source < count else 0 for source in task.sources]
    task = reduce_task(task, (o for o, load in enumerate(loads) if limit_minutes is None or load <= limit_minutes))
    place = {source: n for n, source in enumerate(task.sources)}
    fills = count + len(marks.abilities)
    return LearnerTask(
        person_id=learner.id,
        task=task,
        first=first,
        course_of=tuple(source if source < count else -1 for source in task.sources),
        loads=tuple(learner.offers[source].minutes if source < count else 0 for source in task.sources),
        marker_of={facts: place[count + n] for n, facts in enumerate(marks.abilities) if count + n in place},
        filling_of={group: place[fills + n] for n, (group, _) in enumerate(marks.fillings) if fills + n in place},
        on_slot=place.get(fills + len(marks.fillings)) if marks.is_choice else None,
    )


def keep_operators(part: LearnerTask, operators: Sequence[int], first: int) -> LearnerTask | None:
    task = part.task
    reached = task.get_reached(operators)
    usable = [o for o in operators if not task.needs[o] & ~reached]
    markers = [o for o in usable if part.course_of[o] < 0]
    if not markers:
        return None
    between = set() if part.on_slot is None else set(task.conditions[part.on_slot])
    goals = sorted({fact for o in markers for fact in task.effects[o]} - between)
    smaller = reduce_task(replace(task, goals=goals), usable)
    place = {source: n for n, source in enumerate(task.sources)}
    old = [place[source] for source in smaller.sources]
    number = {o: n for n, o in enumerate(old)}
    return LearnerTask(
        person_id=part.person_id,
        task=smaller,
        first=first,
        course_of=tuple(part.course_of[o] for o in old),
        loads=tuple(part.loads[o] for o in old),
        marker_of={facts: number[o] for facts, o in part.marker_of.items() if o in number},
        filling_of={group: number[o] for group, o in part.filling_of.items() if o in number},
        on_slot=None if part.on_slot is None else number.get(part.on_slot),
    )


def _keep_comparable(learner: Learner) -> list[SideRow]:
    """Return rows that never bind: a course stands in for another only if it begins and ends no later."""
    columns = zip(*((row.lead, row.own, row.is_off_job) for row in learner.lengths), strict=True)
    rows = []
    for column in columns:
        ranks = {value: rank for rank, value in enumerate(sorted({*column, 0}))}
        entries = tuple((n, ranks[value]) for n, value in enumerate(column) if ranks[value])
        if entries:
            rows.append(SideRow(entries, sum(rank for _, rank in entries)))
    return rows


def _add_markers(learner: Learner, marks: Marks, limit_minutes: int | None) -> RelaxedProblem:
    """Return the learner's problem with a marker for each ability; loads are kept comparable by a side row."""
    problem = learner.problem
    start = problem.fact_count
    ids = [_MARKER.format(n) for n in range(len(marks.abilities))]
    ids += [_FILLING.format(group) for group, _ in marks.fillings]
    asked = [*marks.abilities, *(facts for _, facts in marks.fillings)]
    conditions = [frozenset(learner.numbers[fact] for fact in facts) for facts in asked]
    effects = [frozenset({start + n}) for n in range(len(asked))]
    if marks.is_choice:
        on_slot = start + len(asked)
        effects[len(marks.abilities) :] = [own | {on_slot} for own in effects[len(marks.abilities) :]]
        ids.append(_ON_SLOT)
        conditions.append(frozenset({on_slot}))
        effects.append(frozenset({on_slot + 1}))
    total = sum(offer.minutes for offer in learner.offers)
    loads = tuple((n, offer.minutes) for n, offer in enumerate(learner.offers) if offer.minutes)
    aims = [
        tuple(offer.minutes + coach for offer, coach in zip(learner.offers, learner.coach_minutes, strict=True)),
        tuple(int(is_uncoached) for is_uncoached in learner.is_uncoached),
        tuple(offer.cents for offer in learner.offers),
        (1,) * len(learner.offers),
    ]
    goals = frozenset().union(*effects) - ({start + len(asked)} if marks.is_choice else set())
    return RelaxedProblem(
        fact_count=start + len(asked) + 2 * marks.is_choice,
        operator_ids=(*problem.operator_ids, *ids),
        conditions=(*problem.conditions, *conditions),
        effects=(*problem.effects, *effects),
        aims=tuple((*aim, *[0] * len(ids)) for aim in aims),
        initial=problem.initial,
        goals=goals,
        side_rows=(SideRow(loads, total if limit_minutes is None else limit_minutes), *_keep_comparable(learner)),
    )
