"""What the architect asks of a whole framework: roles nobody reaches, dead ends, idle courses, high entry levels. Pure.

Stated on the role graph: an edge is a move within reach between full role profiles. Counts people, names none.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from itertools import compress
from typing import Annotated, Literal

import numpy as np
from numpy.typing import NDArray

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.obligations.bound import get_rules
from ontology.analysis.paths.catalogue import reach_levels
from ontology.analysis.paths.unreachable import explain_unreachable
from ontology.analysis.profiles.profile import Profile, build_profile, build_role_profile
from ontology.analysis.routes.chain_counts import (
    EFFORT,
    CentralRole,
    PivotalCompetency,
    count_chains,
    rank_competencies,
    rank_roles,
)
from ontology.analysis.routes.course_use import CourseUse
from ontology.analysis.routes.missing_most import MissingMost
from ontology.analysis.routes.moves import (
    LEVEL_LIMIT,
    PREPARATION_LIMIT,
    MoveCosts,
    find_broken_limits,
    require_limits,
)
from ontology.analysis.routes.role_graph import build_role_graph
from ontology.analysis.routes.stepping_stones import HighEntryLevel, find_high_entry_levels
from ontology.model.identity import PeopleCount
from ontology.snapshot.snapshot import Snapshot

__all__ = ["FrameworkReview", "LoneRole", "UntaughtLevel", "review_framework"]


@dataclass(frozen=True, slots=True)
class LoneRole:
    """A role at the edge of the role graph: the competencies that keep most others out of it (or it out of others).

    `held_back_by` holds competency ids by how many moves each breaks alone or with others, most first.
    """

    id: Annotated[str, "Id of the role."]
    label: Annotated[str, "Its label."]
    held_back_by: Annotated[
        tuple[str, ...], "The competencies that are missing in most of the moves that would join it to the others."
    ]


@dataclass(frozen=True, slots=True)
class UntaughtLevel:
    """A level that roles ask for and no order of courses reaches from nothing, with the reason.

    `learned_on_job`: every role named expects time in it to bring the level, so no course may be needed.
    """

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level."]
    roles: Annotated[tuple[str, ...], "The roles that ask for it."]
    learned_on_job: Annotated[bool, "Whether all of them expect time in the role to bring it."]
    reason: Annotated[str, "Why no courses reach it."]


@dataclass(frozen=True, slots=True)
class UnusedCourse:
    """A course that no cheapest path looked at uses."""

    id: Annotated[str, "Id of the course."]
    label: Annotated[str, "Its label."]


@dataclass(frozen=True, slots=True)
class FrameworkReview:
    """What stands out in a framework; every list is in the order in which it should be read.

    `status` is "feasible" when the time limit struck: then the remarks say which lists are not complete, and `moves`
    is the number found until then.
    `people` is how many were asked whether they reach a role: all who have begun and not left on the day.
    """

    status: Annotated[
        Literal["optimal", "feasible"],
        "optimal: proved for these entries; feasible: the best found when the time limit struck.",
    ]
    on: Annotated[date, "The day people's levels are taken on."]
    roles: Annotated[int, "Roles with requirements."]
    moves: Annotated[int, "Moves within reach between their full profiles; those found, where the time limit struck."]
    people: Annotated[PeopleCount, "People asked whether they reach a role; none is named."]
    unreachable_roles: Annotated[tuple[LoneRole, ...], "Roles that no role's profile and nobody has within reach."]
    dead_ends: Annotated[tuple[LoneRole, ...], "Roles from whose full profile no move is within reach."]
    untaught_levels: Annotated[tuple[UntaughtLevel, ...], "Levels that roles ask for and no courses reach."]
    unused_courses: Annotated[
        tuple[UnusedCourse, ...],
        "Courses in no path of least hours, from nothing or from a role one move away, that no obligation asks for.",
    ]
    high_entry_levels: Annotated[tuple[HighEntryLevel, ...], "Entry levels at full level that keep roles apart."]
    pivotal_competencies: Annotated[tuple[PivotalCompetency, ...], "Competencies that hold most routes up."]
    central_roles: Annotated[tuple[CentralRole, ...], "Roles that most routes pass through."]
    remarks: Annotated[tuple[str, ...], "What else should be known."] = ()


def review_framework(
    snapshot: Snapshot,
    on: date,
    *,
    preparation_limit: float = PREPARATION_LIMIT,
    level_limit: int = LEVEL_LIMIT,
    time_limit_s: float | None = None,
) -> FrameworkReview:
    """Return what stands out in the framework.

    Parameters
    ----------
    on : date
        The day on which people's levels are taken.
    preparation_limit, level_limit : float, int
        What counts as within reach, as for moves.
    time_limit_s : float or None
        Seconds for everything. What is told is right as far as it goes: a role stands on a list only where every move
        that could take it off has been looked at.

    Returns
    -------
    FrameworkReview
        unreachable_roles: no other role's full profile and nobody has a move within reach into it.
        dead_ends: from its full profile no move is within reach. untaught_levels: by role requirement. unused_courses:
        in no path of least study hours to a role's full levels, from nothing or from a role one move away (left out:
        courses that only renew, they keep what is held, and those that reach what an obligation asks).
        high_entry_levels: see `stepping_stones`. pivotal_competencies: for each edge that asks the competency to be
        learned, the edge's betweenness (Brandes 2001), added up. central_roles: betweenness of the roles. Both along
        chains of least study hours, each move counting one hour more.

    Raises
    ------
    InputError
        A limit is below 0.

    References
    ----------
    .. [1] Brandes (2001), Journal of Mathematical Sociology 25, 163-177.
    """
    require_limits(preparation_limit, level_limit)
    return _Review(snapshot, on, preparation_limit, level_limit, Deadline(time_limit_s)).run()


class _Review:
    """The role graph of a framework and the profiles behind it."""

    def __init__(
        self, snapshot: Snapshot, on: date, preparation_limit: float, level_limit: int, deadline: Deadline
    ) -> None:
        self._snapshot, self._on, self._deadline = snapshot, on, deadline
        self._limits = (preparation_limit, level_limit)
        self._graph = build_role_graph(
            snapshot, preparation_limit=preparation_limit, level_limit=level_limit, deadline=deadline
        )
        self._undecided: NDArray[np.bool_] = self._graph.graph["undecided"]
        self._n_undecided = int(self._undecided.sum())
        for _, _, move in self._graph.edges(data=True):
            # an hour for moving at all: shortest paths are counted right only where every weight is above 0
            move[EFFORT] = round(move["study_hours"] * 60) + 60
        self._profiles = {role_id: build_role_profile(snapshot, role_id) for role_id in self._graph}
        nobody = Profile(levels={}, kind="role")
        self._costs = MoveCosts(snapshot, nobody, deadline)
        self._people = [
            person for person in snapshot.people.values() if (person.start_date or on) <= on <= (person.end_date or on)
        ]

    @cached_property
    def _missing(self) -> MissingMost:
        return MissingMost(self._snapshot, {role_id: profile.levels for role_id, profile in self._profiles.items()})

    @cached_property
    def _people_profiles(self) -> list[Profile]:
        return [build_profile(self._snapshot, person.id, self._on) for person in self._people]

    def run(self) -> FrameworkReview:
        dead_ends = self._find_dead_ends()
        untaught = self._find_untaught()
        unreachable = self._find_unreachable()
        shares = count_chains(self._graph, self._deadline) if not self._n_undecided else None
        use = self._find_use()
        stones = find_high_entry_levels(
            self._snapshot,
            self._costs,
            self._deadline,
            {role_id: profile.levels for role_id, profile in self._profiles.items()},
            self._graph.edges,
            preparation_limit=self._limits[0],
            level_limit=self._limits[1],
        )
        remarks = []
        if self._n_undecided:
            remarks.append(
                f"The time limit struck: {self._n_undecided:,} moves were not looked at, so roles that nobody "
                "reaches and dead ends are not complete."
            )
        elif unreachable is None:
            remarks.append("The time limit struck: roles that nobody reaches are not complete.")
        if shares is None:
            remarks.append("The time limit struck: pivotal competencies and central roles are not told.")
        if self._deadline.is_over() or not use.is_complete:
            remarks.append("The time limit struck: unused courses and high entry levels are not complete.")
        return FrameworkReview(
            status="feasible" if remarks else "optimal",
            on=self._on,
            roles=len(self._graph),
            moves=self._graph.number_of_edges(),
            people=len(self._people),
            unreachable_roles=unreachable or (),
            dead_ends=dead_ends,
            untaught_levels=untaught,
            # a course is unused only where every path has been looked at
            unused_courses=tuple(
                UnusedCourse(i, self._snapshot.courses[i].label)
                for i in (use.get_unused(self._iterate_teaching()) if use.is_complete else ())
            ),
            high_entry_levels=stones,
            pivotal_competencies=rank_competencies(
                self._snapshot, self._graph, shares or {}, self._costs, self._profiles
            ),
            central_roles=rank_roles(self._snapshot, self._graph, shares or {}),
            remarks=tuple(remarks),
        )

    def _find_unreachable(self) -> tuple[LoneRole, ...] | None:
        """Return the roles that nobody reaches; None where the time did not suffice to tell."""
        open_targets = set(compress(self._graph, np.any(self._undecided, axis=0).tolist()))
        lone = [
            r
            for r in self._graph
            if not self._graph.in_degree(r) and r not in open_targets and not self._is_reached_by_people(r)
        ]
        if self._people and self._deadline.is_over():
            return None
        return tuple(self._build_lone(role_id, self._missing.list_into(role_id)) for role_id in sorted(lone))

    def _is_reached_by_people(self, role_id: str) -> bool:
        for profile in self._people_profiles:
            if self._deadline.is_over():
                return False
            if profile.role == role_id or find_broken_limits(
                self._snapshot, profile.levels, role_id, None, *self._limits
            ):
                continue
            # a person's own renewals decide which courses are of use
            costs = MoveCosts(self._snapshot, profile, self._deadline) if profile.renewable else self._costs
            plan = costs.find_plan(profile.levels, role_id)
            if plan is None or plan.value is None:
                continue
            if not find_broken_limits(self._snapshot, profile.levels, role_id, plan.value, *self._limits):
                return True
        return False

    def _find_dead_ends(self) -> tuple[LoneRole, ...]:
        open_starts = set(compress(self._graph, np.any(self._undecided, axis=1).tolist()))
        lone = sorted(r for r in self._graph if not self._graph.out_degree(r) and r not in open_starts)
        return tuple(self._build_lone(role_id, self._missing.list_out_of(role_id)) for role_id in lone)

    def _build_lone(self, role_id: str, held_back_by: tuple[str, ...]) -> LoneRole:
        return LoneRole(role_id, self._snapshot.roles[role_id].label, held_back_by)

    def _find_untaught(self) -> tuple[UntaughtLevel, ...]:
        reached = reach_levels(self._costs.catalogue, {})
        asking: dict[tuple[str, int], list[str]] = {}
        on_job: dict[tuple[str, int], bool] = {}
        for role_id in self._graph:
            for requirement in self._snapshot.get_requirements(role_id):
                fact = (requirement.competency, requirement.level)
                if requirement.level > reached.get(requirement.competency, 0):
                    asking.setdefault(fact, []).append(role_id)
                    learned = self._snapshot.is_learned_on_job(requirement)
                    on_job[fact] = on_job.get(fact, True) and learned
        rows = []
        for (competency_id, level), roles in asking.items():
            why = explain_unreachable(self._snapshot, self._costs.catalogue, reached, competency_id, level)
            rows.append(
                UntaughtLevel(competency_id, level, tuple(sorted(roles)), on_job[competency_id, level], why.reason)
            )
        return tuple(sorted(rows, key=lambda row: (row.learned_on_job, -len(row.roles), row.competency, row.level)))

    def _find_use(self) -> CourseUse:
        use = CourseUse(self._costs.catalogue, self._deadline)
        for target in self._graph:
            levels = {r.competency: r.level for r in self._snapshot.get_requirements(target)}
            use.add({}, levels)
            for start in sorted(self._graph.predecessors(target)):
                use.add(self._profiles[start].levels, levels)
        return use

    def _iterate_teaching(self) -> Iterator[str]:
        """Yield the courses that bring a level to someone who never held it, and that no obligation asks for."""
        asked: dict[str, int] = {}
        for rule in get_rules(self._snapshot).values():
            for competency, level in rule.keys:
                asked[competency] = min(level, asked.get(competency, level))
        for course_id in self._snapshot.courses:
            outcomes = self._snapshot.get_outcomes(course_id)
            is_asked = any(row.competency in asked and row.level >= asked[row.competency] for row in outcomes)
            if any(not outcome.renews for outcome in outcomes) and not is_asked:
                yield course_id
