"""The steps of a learning path as a picture needs them: what each needs from which step, and brings for which.

Pure: imports the snapshot and the answer. A level is there as soon as the first course has brought it: that course,
and no later one, is what a course that asks for it waits for.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ontology.analysis.paths.learning_path import LearningPathResult, PathCourse, build_path_graph
from ontology.analysis.profiles.profile import Profile
from ontology.snapshot.snapshot import Snapshot


@dataclass(frozen=True, slots=True)
class BroughtRow:
    """A level that a step brings first: for later steps (1..n), as a target, or on the way to one not reached."""

    competency: str
    level: int
    steps: tuple[int, ...]
    is_target: bool
    is_towards: bool

    @property
    def counts(self) -> bool:
        """Whether the level matters on this path."""
        return bool(self.steps) or self.is_target or self.is_towards


@dataclass(frozen=True, slots=True)
class Step:
    """One course of a path, 1..n in an order that can be followed.

    `needs` holds for each earlier step the levels (competency, level asked) that come from there; `held` those that
    were held from the start.
    """

    number: int
    course: PathCourse
    is_booked: bool
    rows: tuple[BroughtRow, ...]
    needs: Mapping[int, tuple[tuple[str, int], ...]]
    held: tuple[tuple[str, int], ...]

    @property
    def targets(self) -> int:
        """How many target levels it brings."""
        return sum(row.is_target for row in self.rows)


def build_steps(snapshot: Snapshot, profile: Profile, result: LearningPathResult) -> list[Step]:
    """Return the steps of a path in order. O(c (t + e)) for c courses, t targets and e entry conditions."""
    graph = build_path_graph(snapshot, profile, result)
    booked = {row.id for row in result.booked}
    numbered = list(enumerate(result.taken, start=1))

    def find_first(competency_id: str, level: int) -> int | None:
        brought = ((number, row) for number, course in numbered for row in course.brings)
        return next(
            (n for n, row in brought if row.competency == competency_id and row.before < level <= row.level), None
        )

    needs: dict[int, defaultdict[int, list[tuple[str, int]]]] = {}
    held: defaultdict[int, list[tuple[str, int]]] = defaultdict(list)
    serves: defaultdict[tuple[int, str], set[int]] = defaultdict(set)
    for number, course in numbered:
        needs[number] = defaultdict(list)
        for node in sorted(graph.predecessors(("course", course.id))):
            competency_id, level = graph.nodes[node]["competency"], graph.nodes[node]["level"]
            giver = None if graph.nodes[node]["is_held"] else find_first(competency_id, level)
            if giver is None or giver >= number:
                held[number].append((competency_id, level))
            else:
                needs[number][giver].append((competency_id, level))
                serves[giver, competency_id].add(number)
    reached = {(find_first(i, level), i) for i, level in result.targets.items() if profile.get(i) < level}
    open_targets = {i for number, i in reached if number is None}
    steps = []
    for number, course in numbered:
        rows = [
            BroughtRow(
                row.competency,
                row.level,
                tuple(sorted(serves[number, row.competency])),
                (number, row.competency) in reached,
                row.competency in open_targets,
            )
            for row in course.brings
        ]
        rows.sort(key=lambda row: (not row.counts, not row.is_target, snapshot.competencies[row.competency].label))
        needed = {giver: tuple(levels) for giver, levels in sorted(needs[number].items())}
        steps.append(Step(number, course, course.id in booked, tuple(rows), needed, tuple(held[number])))
    return steps


def rank_steps(steps: Sequence[Step]) -> dict[int, int]:
    """Return the rank of each of these steps, 0 for what needs none of them, each as near to what needs it as can be.

    It says how many stand beside and below each other, as the layout will have it: for paging. O(c + e).
    """
    shown = {step.number for step in steps}
    ranks: dict[int, int] = {}
    for step in steps:
        ranks[step.number] = max((ranks[n] + 1 for n in step.needs if n in shown), default=0)
    later: defaultdict[int, list[int]] = defaultdict(list)
    for step in steps:
        for needed in step.needs:
            later[needed].append(step.number)
    for step in reversed(steps):
        if later[step.number]:
            ranks[step.number] = min(ranks[n] for n in later[step.number]) - 1
    return ranks
