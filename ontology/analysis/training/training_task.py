"""A team's learning as one problem: each learner's courses made few, and markers that say who becomes able. Pure.

May import learners, goals and the reduction of delete-free problems. An *ability* is a set of levels that some goal
counts together. It becomes an operator of its own, the marker: no cost, its conditions are the levels. Whoever takes
the marker is able, so goals count markers, and all else about a learner is a delete-free problem as for a single path.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from ontology.analysis.engine.landmark_reduction import build_task, reduce_task
from ontology.analysis.engine.landmark_task import ReducedTask
from ontology.analysis.engine.relaxed import RelaxedProblem, SideRow, get_closure
from ontology.analysis.paths.offers import Fact
from ontology.analysis.training.learners import Learner, TeamLearning
from ontology.analysis.training.training_goals import TrainingGoals

__all__ = ["LearnerTask", "TeamTask", "build_team_task"]

_MARKER = "~{:04d}"
"""Ids of markers; no id of a course begins so."""


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
    """

    person_id: str
    task: ReducedTask
    first: int
    course_of: tuple[int, ...]
    loads: tuple[int, ...]
    marker_of: dict[frozenset[Fact], int]

    @property
    def span(self) -> slice:
        """Where its operators stand among those of the team."""
        return slice(self.first, self.first + self.task.paid_count)


@dataclass(frozen=True)
class TeamTask:
    """All learners' parts; operators are numbered through.

    Attributes
    ----------
    team : TeamLearning
    goals : TrainingGoals
    parts : tuple of LearnerTask
        By person id; those who can learn nothing that counts are left out.
    """

    team: TeamLearning
    goals: TrainingGoals
    parts: tuple[LearnerTask, ...]

    @cached_property
    def operator_count(self) -> int:
        """Operators of all parts."""
        return sum(part.task.paid_count for part in self.parts)

    @cached_property
    def part_of(self) -> dict[str, LearnerTask]:
        """Person id -> part."""
        return {part.person_id: part for part in self.parts}

    def get_costs(self, aim: int) -> list[int]:
        """Return the cost of every operator: minutes of learner and coach, not coached, cents, courses."""
        return [costs[aim] for part in self.parts for costs in part.task.aims]

    def get_loads(self) -> list[int]:
        """Return the learner's own minutes of every operator."""
        return [minutes for part in self.parts for minutes in part.loads]

    def get_way(self, person_id: str, facts: frozenset[Fact]) -> int | bool:
        """Return the marker (numbered through) by which a person becomes able; True: is able, False: never will."""
        learner = self.team.learners[person_id]
        open_facts = frozenset(fact for fact in facts if not learner.is_held(fact))
        if not open_facts:
            return True
        part = self.part_of.get(person_id)
        if part is None or open_facts not in part.marker_of:
            return False
        return part.first + part.marker_of[open_facts]

    def keep(self, operators: Iterable[int]) -> TeamTask:
        """Return the same problem with these operators alone, reduced again; operators are numbered anew."""
        wanted = set(operators)
        parts: list[LearnerTask] = []
        first = 0
        for part in self.parts:
            kept = _keep(part, [n for n in range(part.task.paid_count) if part.first + n in wanted], first)
            if kept is not None:
                parts.append(kept)
                first += kept.task.paid_count
        return TeamTask(self.team, self.goals, tuple(parts))

    def get_plan(self, chosen: Iterable[int]) -> dict[str, frozenset[int]]:
        """Return the courses of each person among chosen operators."""
        wanted = set(chosen)
        plan: dict[str, frozenset[int]] = {}
        for part in self.parts:
            courses = frozenset(
                course for n, course in enumerate(part.course_of) if course >= 0 and part.first + n in wanted
            )
            if courses:
                plan[part.person_id] = courses
        return plan


def build_team_task(team: TeamLearning, goals: TrainingGoals) -> TeamTask:
    """Return the problem of a team.

    Notes
    -----
    What a learner's courses can do without the plan getting worse in any aim is left out: a course for which another,
    no dearer in minutes, cents and load and no worse in ids, stands in. O(people x size of the courses) and the
    pairs of courses that share an outcome.
    """
    abilities: dict[str, set[frozenset[Fact]]] = {}
    for goal in goals.counts:
        for person_id in goal.people:
            abilities.setdefault(person_id, set()).add(goal.facts)
    for kind in goals.kinds:
        for person_id in kind.people:
            if kind.facts is not None:
                abilities.setdefault(person_id, set()).add(kind.facts)
    parts: list[LearnerTask] = []
    first = 0
    for person_id, learner in sorted(team.learners.items()):
        part = _build_part(learner, abilities.get(person_id, ()), team.limits.get(person_id), first)
        if part is not None:
            parts.append(part)
            first += part.task.paid_count
    return TeamTask(team, goals, tuple(parts))


def _build_part(
    learner: Learner, abilities: Iterable[frozenset[Fact]], limit_minutes: int | None, first: int
) -> LearnerTask | None:
    problem = learner.problem
    affordable = get_closure(
        problem, (o for o in learner.courses if limit_minutes is None or learner.offers[o].minutes <= limit_minutes)
    )
    lacking = {frozenset(fact for fact in facts if not learner.is_held(fact)) for facts in abilities}
    # a level that is not wanted belongs to a goal that is met already
    markers = sorted(
        (facts for facts in lacking if facts and facts <= learner.wanted and learner.is_reachable(facts)), key=sorted
    )
    markers = [facts for facts in markers if {learner.numbers[fact] for fact in facts} <= affordable]
    if not markers:
        return None
    marked = _add_markers(learner, markers, limit_minutes)
    task = build_task(marked, marked.goals)
    count = len(learner.offers)
    loads = [learner.offers[source].minutes if source < count else 0 for source in task.sources]
    task = reduce_task(task, (o for o, load in enumerate(loads) if limit_minutes is None or load <= limit_minutes))
    return LearnerTask(
        person_id=learner.id,
        task=task,
        first=first,
        course_of=tuple(source if source < count else -1 for source in task.sources),
        loads=tuple(learner.offers[source].minutes if source < count else 0 for source in task.sources),
        marker_of={markers[source - count]: n for n, source in enumerate(task.sources) if source >= count},
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


def _keep(part: LearnerTask, operators: Sequence[int], first: int) -> LearnerTask | None:
    task = part.task
    reached = task.get_reached(operators)
    usable = [o for o in operators if not task.needs[o] & ~reached]
    markers = [o for o in usable if part.course_of[o] < 0]
    if not markers:
        return None
    goals = sorted({fact for o in markers for fact in task.effects[o]})
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
    )


def _add_markers(learner: Learner, markers: Sequence[frozenset[Fact]], limit_minutes: int | None) -> RelaxedProblem:
    """Return the learner's problem with a marker for each ability; loads are kept comparable by a side row."""
    problem = learner.problem
    facts = range(problem.fact_count, problem.fact_count + len(markers))
    total = sum(offer.minutes for offer in learner.offers)
    loads = tuple((n, offer.minutes) for n, offer in enumerate(learner.offers) if offer.minutes)
    aims = [
        tuple(offer.minutes + coach for offer, coach in zip(learner.offers, learner.coach_minutes, strict=True)),
        tuple(int(is_uncoached) for is_uncoached in learner.is_uncoached),
        tuple(offer.cents for offer in learner.offers),
        (1,) * len(learner.offers),
    ]
    return RelaxedProblem(
        fact_count=problem.fact_count + len(markers),
        operator_ids=(*problem.operator_ids, *(_MARKER.format(n) for n in range(len(markers)))),
        conditions=(*problem.conditions, *(frozenset(learner.numbers[f] for f in marker) for marker in markers)),
        effects=(*problem.effects, *(frozenset({fact}) for fact in facts)),
        aims=tuple((*aim, *[0] * len(markers)) for aim in aims),
        initial=problem.initial,
        goals=frozenset(facts),
        side_rows=(SideRow(loads, total if limit_minutes is None else limit_minutes), *_keep_comparable(learner)),
    )
