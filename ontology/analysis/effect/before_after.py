"""The effect of a change: what differs for people, teams and courses before and after it, on one day. Pure.

Only what the change can touch is asked; what it does not touch is equal.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Final

from ontology.analysis.effect.purpose import find_courses_with_purpose
from ontology.analysis.effect.results import (
    Asked,
    CourseEffect,
    Effect,
    GroupEffect,
    LevelEffect,
    NumberEffect,
    PathEffect,
    RoleEffect,
    SinglePointEffect,
    TeamEffect,
)
from ontology.analysis.effect.team_day import get_team_day, iterate_need_differences
from ontology.analysis.effect.touched import Touched, find_touched
from ontology.analysis.effect.values import NOBODY, PathValue, Values, get_values
from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.profiles.gap import Standing
from ontology.analysis.profiles.levels import get_ranks
from ontology.snapshot.snapshot import Snapshot

__all__ = ["compute_effect"]

#: Standings that are reached and lost, the least first; who has one has those before it.
_REACHED: Final[tuple[Standing, ...]] = ("may-start", "works-alone", "full")
_RANKS: Final = {"none": 0, "may-start": 1, "works-alone": 2, "full": 3}


def compute_effect(
    before: Snapshot, after: Snapshot, on: date, *, time_limit_s: float | None = None, asks_everything: bool = False
) -> Effect:
    """Return what differs between two states of the framework, offers and teams for the same people on a day.

    Parameters
    ----------
    before, after : Snapshot
        The people and what is recorded of them are those of `before`, and the same in both.
    time_limit_s : float or None
        Seconds after which what is left is not asked: status "cut-short". None: all of it.
    asks_everything : bool
        Ask also what the change cannot touch; the same is told.

    Notes
    -----
    Each touched role by everyone employed, each touched competency by everyone employed, each touched path (NP-hard
    each, small in practice), each touched team. The values of both states are kept with them and the day.
    """
    run = _Run(before, after, on, Deadline(time_limit_s), asks_everything)
    roles = tuple(run.iterate_roles())
    levels = tuple(run.iterate_levels())
    teams = tuple(run.iterate_teams())
    paths = tuple(run.iterate_paths())
    return Effect(
        on=on,
        roles=roles,
        levels=levels,
        paths=paths,
        teams=teams,
        courses=tuple(_iterate_courses(before, after)),
        examined=Asked(run.n_pairs, run.n_paths, run.n_teams),
        of=run.count_all(),
        status="cut-short" if run.is_cut else "complete",
    )


class _Run:
    """One comparison, with what it counts."""

    def __init__(self, before: Snapshot, after: Snapshot, on: date, deadline: Deadline, asks_everything: bool) -> None:
        self.before, self.after, self.on = before, after, on
        self.deadline = deadline
        self.asks_everything = asks_everything
        self.touched: Touched = find_touched(before, after)
        self.then: Values = get_values(before, on)
        self.now: Values = get_values(after, on)
        self.is_cut = False
        self.n_pairs = self.n_paths = self.n_teams = 0
        self.all_roles = sorted(before.roles.keys() | after.roles.keys())
        #: There is a path to them in both.
        self.lasting_roles = sorted(before.roles.keys() & after.roles.keys())
        self.all_teams = sorted(before.teams.keys() | after.teams.keys())

    def count_all(self) -> Asked:
        """Return how much there is to ask."""
        n_holders = sum(len(self.then.get_holders(role)) for role in self.lasting_roles)
        n_paths = len(self.lasting_roles) + n_holders
        return Asked(len(self.all_roles) * len(self.then.employed), n_paths, len(self.all_teams))

    def _is_over(self) -> bool:
        self.is_cut = self.is_cut or self.deadline.is_over()
        return self.is_cut

    def iterate_roles(self) -> Iterator[RoleEffect]:
        """Yield the roles for which someone stands otherwise, or whose requirements changed."""
        for role in self.all_roles if self.asks_everything else sorted(self.touched.roles):
            if self._is_over():
                return
            everyone = self._compare_group(role, self.then.employed)
            n_changed = self.touched.requirements[role]
            if n_changed or everyone.readiness_up or everyone.readiness_down or _has_moved(everyone):
                yield RoleEffect(role, n_changed, everyone, self._compare_group(role, self.then.get_holders(role)))
            self.n_pairs += len(self.then.employed)

    def _compare_group(self, role: str, people: Sequence[str]) -> GroupEffect:
        up = down = 0
        started: dict[str, list[str]] = {standing: [] for standing in _REACHED}
        stopped: dict[str, list[str]] = {standing: [] for standing in _REACHED}
        for person in people:
            old = self.then.get_stand(self.before, person, role)
            new = self.now.get_stand(self.after, person, role)
            if old == new:
                continue
            if old.readiness is not None and new.readiness is not None:
                up += new.readiness > old.readiness
                down += new.readiness < old.readiness
            for standing in _REACHED:
                had, has = (_RANKS[one.standing] >= _RANKS[standing] for one in (old, new))
                if had != has:
                    (started if has else stopped)[standing].append(person)
        return GroupEffect(
            people=len(people),
            readiness_up=up,
            readiness_down=down,
            started={standing: tuple(ids) for standing, ids in started.items()},
            stopped={standing: tuple(ids) for standing, ids in stopped.items()},
            started_people={standing: len(ids) for standing, ids in started.items()},
            stopped_people={standing: len(ids) for standing, ids in stopped.items()},
        )

    def iterate_levels(self) -> Iterator[LevelEffect]:
        """Yield the competencies in which a level differs."""
        known = self.before.competencies.keys() | self.after.competencies.keys()
        for competency in sorted(known if self.asks_everything else self.touched.competencies):
            if self._is_over():
                return
            ranks = (
                [
                    get_ranks(state, self.on)[person, competency] if competency in state.competencies else 0
                    for person in self.then.employed
                ]
                for state in (self.before, self.after)
            )
            steps = [new - old for old, new in zip(*ranks, strict=True)]
            up, down = sum(step > 0 for step in steps), sum(step < 0 for step in steps)
            if up or down:
                yield LevelEffect(competency, up, down)

    def iterate_teams(self) -> Iterator[TeamEffect]:
        """Yield the teams that stand otherwise."""
        for team in self.all_teams if self.asks_everything else sorted(self.touched.teams):
            if self._is_over():
                return
            self.n_teams += 1
            old, new = get_team_day(self.before, team, self.on), get_team_day(self.after, team, self.on)
            needs = tuple(iterate_need_differences(old, new))
            gained = tuple(sorted(new.falls.keys() - old.falls.keys()))
            lost = tuple(sorted(old.falls.keys() - new.falls.keys()))
            filled = NumberEffect(old.places_filled, new.places_filled)
            tolerance = NumberEffect(old.tolerance, new.tolerance)
            if needs or gained or lost or filled.before != filled.after or tolerance.before != tolerance.after:
                points = SinglePointEffect(gained, lost, len(gained), len(lost))
                yield TeamEffect(team, needs, points, filled, tolerance)

    def iterate_paths(self) -> Iterator[PathEffect]:
        """Yield the roles to which paths differ: from nothing, then from what their holders hold."""
        for role in self.lasting_roles:
            found = self._compare_paths(role, (NOBODY,))
            if found:
                yield _sum_paths(role, found, is_of_people=False)
            found = self._compare_paths(role, self.then.get_holders(role))
            if found:
                yield _sum_paths(role, found, is_of_people=True)

    def _compare_paths(self, role: str, starts: Sequence[str]) -> list[tuple[PathValue, PathValue]]:
        """Return the paths that differ."""
        differ = []
        for start in starts:
            if self.is_cut or not (self.asks_everything or self._can_differ(role, start)):
                continue
            old = self.then.get_path(self.before, start, role, self.deadline)
            new = self.now.get_path(self.after, start, role, self.deadline) if old is not None else None
            if old is None or new is None:
                self.is_cut = True
                continue
            self.n_paths += 1
            if (old.study_hours, old.is_possible) != (new.study_hours, new.is_possible):
                differ.append((old, new))
        return differ

    def _can_differ(self, role: str, start: str) -> bool:
        """Whether the change can touch a path: its role, or a course or competency that can matter for it."""
        touched = self.touched
        if role in touched.roles:
            return True
        if not touched.courses and not touched.competencies:
            return False
        courses: set[str] = set()
        for values, state in ((self.then, self.before), (self.now, self.after)):
            relevant = values.get_relevant(state, start, role)
            if not touched.competencies.isdisjoint(relevant.competencies):
                return True
            courses |= touched.courses & relevant.courses
        if not courses:
            return False
        if not courses <= touched.worse:
            return True
        # all of them only got worse: a plan without them stays the cheapest
        plan = self.then.get_path(self.before, start, role, self.deadline)
        return plan is None or not touched.courses.isdisjoint(plan.courses)


def _has_moved(group: GroupEffect) -> bool:
    return any((*group.started_people.values(), *group.stopped_people.values()))


def _sum_paths(role: str, found: Sequence[tuple[PathValue, PathValue]], *, is_of_people: bool) -> PathEffect:
    same = [(old.study_hours, new.study_hours) for old, new in found if old.is_possible == new.is_possible]
    return PathEffect(
        role=role,
        from_="holders" if is_of_people else "nothing",
        people=len(found) if is_of_people else None,
        longer=sum(new > old for old, new in same),
        shorter=sum(new < old for old, new in same),
        impossible=sum(old.is_possible and not new.is_possible for old, new in found),
        possible=sum(new.is_possible and not old.is_possible for old, new in found),
        hours_before=sum(old.study_hours for old, _ in found),
        hours_after=sum(new.study_hours for _, new in found),
    )


def _iterate_courses(before: Snapshot, after: Snapshot) -> Iterator[CourseEffect]:
    old, new = find_courses_with_purpose(before), find_courses_with_purpose(after)
    for course in sorted(old ^ new):
        yield CourseEffect(course, "lost" if course in old else "gained")
