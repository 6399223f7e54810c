"""The rows that hold a team's learners together: needs count markers, slots take people, limits hold. Pure.

May import the team's problem only. Variables beside the operators: people missing from a goal, who fills which kind of
slot now (nobody more than one: a transportation problem), empty slots, and people able for a set of slots where a
tolerance is wished. Nothing here knows a solver.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product

from ontology.analysis.training.learners import CanDoAfter
from ontology.analysis.training.training_goals import ScarceKinds
from ontology.analysis.training.training_slots import SlotKind, count_empty_weight, find_able
from ontology.analysis.training.training_task import TeamTask

__all__ = ["Row", "TeamRows"]


@dataclass(frozen=True)
class Row:
    """lower <= sum(value x variable) <= upper; a variable below `operator_count` is an operator.

    `part` is the number of the learner where all variables are operators of one, else None.
    """

    entries: tuple[tuple[int, int], ...]
    lower: float = -math.inf
    upper: float = math.inf
    part: int | None = None


@dataclass
class TeamRows:
    """Rows and variables so far; sets of slots come as they are found to be scarce.

    Attributes
    ----------
    task : TeamTask
    rows : list of Row
    uppers : dict of variable to its greatest value
        Of the variables that are no operators; they are whole numbers, at least 0.
    groups : list of ScarceKinds
        The sets of slots that have rows.
    late : dict of (person, courses)
        Choices of one person that end too late, and have rows.
    missing_weights : dict of variable to weight
        The people missing from each goal, weighted: the first aim.
    asked : list of (int, markers)
        How many of some markers each goal asks for.
    """

    task: TeamTask
    rows: list[Row] = field(default_factory=list)
    uppers: dict[int, int] = field(default_factory=dict)
    missing_weights: dict[int, int] = field(default_factory=dict)
    asked: list[tuple[int, list[int]]] = field(default_factory=list)
    _missing_slots: int = -1
    groups: list[ScarceKinds] = field(default_factory=list)
    late: dict[tuple[str, frozenset[int]], None] = field(default_factory=dict)
    _known: set[tuple[int, ...]] = field(default_factory=set)

    def __post_init__(self) -> None:
        goals = self.task.goals
        for goal in goals.counts:
            ways = [self.task.get_way(person_id, goal.facts) for person_id in goal.people]
            wanted = goal.wanted - sum(way is True for way in ways)
            if wanted <= 0:
                continue
            missing = self._add_variable(wanted)
            self.missing_weights[missing] = goal.weight
            markers = [way for way in ways if not isinstance(way, bool)]
            self.asked.append((wanted, markers))
            self.rows.append(Row((*((way, 1) for way in markers), (missing, 1)), lower=wanted))
        if goals.tolerance is None:
            self._add_slots()
        elif goals.kinds:
            self._missing_slots = self._add_variable(sum(kind.count for kind in goals.kinds) + goals.tolerance)
            self.missing_weights[self._missing_slots] = goals.place_weight
        self.rows += self.build_load_rows(self.task.team.limits)
        self.rows += self._build_time_rows()

    def _add_variable(self, upper: int) -> int:
        variable = self.task.operator_count + len(self.uppers)
        self.uppers[variable] = upper
        return variable

    def _add_slots(self) -> None:
        """Give each group of slots those who can fill them, each person one at the most, and its empty slots."""
        task, kinds = self.task, self.task.goals.kinds
        if not count_empty_weight(kinds, find_able(kinds, CanDoAfter(task.team, {}))):
            return  # all are filled, and stay filled: levels never fall
        now: dict[str, list[int]] = {}
        for group, numbers in enumerate(task.alike):
            ways = {person_id: task.get_filling(person_id, group) for person_id in kinds[numbers[0]].people}
            fillings = [way for way in ways.values() if not isinstance(way, bool)]
            entries = list(fillings)
            for person_id in (person_id for person_id, way in ways.items() if way is True):
                entries.append(self._add_variable(1))
                now.setdefault(person_id, []).append(entries[-1])
            wanted = sum(kinds[number].count for number in numbers)
            self.asked.append((wanted - len(entries) + len(fillings), fillings))
            for number in numbers:
                entries.append(self._add_variable(kinds[number].count))
                self.missing_weights[entries[-1]] = kinds[number].weight
            self.rows.append(Row(tuple((v, 1) for v in entries), lower=wanted))
        for number, part in enumerate(task.parts):
            own = [part.first + n for n in part.filling_of.values()]
            if part.on_slot is not None:
                on_slot = part.first + part.on_slot
                self.rows.append(Row(((on_slot, -1), *((v, 1) for v in own)), lower=0, upper=0, part=number))
                own = [on_slot]
            if part.person_id in now:
                now[part.person_id] += own
        self.rows += [Row(tuple((v, 1) for v in own), upper=1) for own in now.values() if len(own) > 1]

    def build_load_rows(self, limits: Mapping[str, int]) -> list[Row]:
        """Return the rows that keep learners' own minutes within their limits, where these can be broken."""
        rows = []
        for number, part in enumerate(self.task.parts):
            entries = tuple((part.first + n, minutes) for n, minutes in enumerate(part.loads) if minutes)
            limit = limits.get(part.person_id, math.inf)
            if sum(minutes for _, minutes in entries) > limit:
                rows.append(Row(entries, upper=limit, part=number))
        return rows

    def _build_time_rows(self) -> list[Row]:
        """Return the rows that keep courses, one after the other, between some lead time and some last day."""
        rows: dict[Row, None] = {}
        for number, part in enumerate(self.task.parts):
            learner = self.task.team.learners[part.person_id]
            lengths = [(part.first + n, learner.lengths[c]) for n, c in enumerate(part.course_of) if c >= 0]
            last_days = {row.last_day for _, row in lengths if row.last_day is not None}
            parts_of_day = math.lcm(*(value.denominator for _, row in lengths for value in (row.lead, row.whole)))
            for lead, last_day in product(sorted({row.lead for _, row in lengths}), sorted(last_days)):
                entries = tuple(
                    (v, int(row.whole * parts_of_day))
                    for v, row in lengths
                    if row.whole and row.lead >= lead and row.last_day is not None and row.last_day <= last_day
                )
                limit = int((last_day - lead) * parts_of_day)
                if entries and sum(value for _, value in entries) > limit:
                    rows[Row(entries, upper=limit, part=number)] = None
        return list(rows)

    def add_late(self, choices: Iterable[tuple[str, frozenset[int]]]) -> int:
        """Forbid courses of one person that together end too late; return how many such choices were new.

        They may still be taken together with another course that meets one of their conditions sooner.
        """
        count = 0
        for person_id, courses in choices:
            if (person_id, courses) in self.late:
                continue
            self.late[person_id, courses] = None
            count += 1
            part = self.task.part_of.get(person_id)
            if part is None or not courses <= set(part.course_of):
                continue
            problem = self.task.team.learners[person_id].problem
            asked = frozenset[int]().union(*(problem.conditions[course] for course in courses))
            entries = []
            for n, course in enumerate(part.course_of):
                if course in courses:
                    entries.append((part.first + n, 1))
                elif course >= 0 and problem.effects[course] & asked:
                    entries.append((part.first + n, -1))
            number = self.task.parts.index(part)
            self.rows.append(Row(tuple(entries), upper=len(courses) - 1, part=number))
        return count

    def get_granted(self, values: Mapping[int, float]) -> float:
        """Return how many people a solution grants to be missing for slots."""
        return values.get(self._missing_slots, 0.0)

    def add_scarce(self, scarce: Iterable[ScarceKinds]) -> int:
        """Ask for enough people for these sets of kinds of slots; return how many were new."""
        count = 0
        for group in scarce:
            if group.kinds in self._known:
                continue
            self._known.add(group.kinds)
            self.groups.append(group)
            count += 1
            self._add_group([self.task.goals.kinds[number] for number in group.kinds])
        return count

    def _add_group(self, kinds: Sequence[SlotKind]) -> None:
        entries: list[tuple[int, int]] = []
        sure = 0
        for person_id in sorted({person for kind in kinds for person in kind.people}):
            # no set: in one the marker of number 1 would be the same as True
            ways = [
                self.task.get_way(person_id, kind.facts)
                for kind in kinds
                if kind.facts is not None and person_id in kind.people
            ]
            markers = sorted({way for way in ways if not isinstance(way, bool)})
            if any(way is True for way in ways):
                sure += 1
            elif len(markers) == 1:
                entries.append((markers[0], 1))
            elif markers:
                able = self._add_variable(1)
                self.rows.append(Row((*((way, 1) for way in markers), (able, -1)), lower=0))
                entries.append((able, 1))
        wanted = sum(kind.count for kind in kinds) + (self.task.goals.tolerance or 0) - sure
        if wanted > 0:
            self.asked.append((wanted, [v for v, _ in entries if v < self.task.operator_count]))
            self.rows.append(Row((*entries, (self._missing_slots, 1)), lower=wanted))
