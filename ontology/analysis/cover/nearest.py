"""How far someone is from one level of one competency: hours of the learning path, and weeks until it is done. Pure.

May import the learning path, levels, catalogue and the snapshot. Only what can matter for the competency is looked at,
so people who stand alike in that are worked out once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Final, Literal

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.paths.aims import read_decimal
from ontology.analysis.paths.catalogue import build_catalogue
from ontology.analysis.paths.learning_path import LearningPathResult, find_path_to_levels
from ontology.analysis.paths.offers import get_relied_on
from ontology.analysis.paths.pace import get_days, get_working_weeks
from ontology.analysis.profiles.belonging import find_last_day_in_team, get_person_on
from ontology.analysis.profiles.profile import Profile, add_what_it_hangs_on, get_restored_level
from ontology.model.records import Course
from ontology.snapshot.snapshot import Snapshot

__all__ = ["CourseTime", "PathFinder", "can_end", "compute_course_time"]

#: Nothing is planned further ahead than the calendar goes.
_MOST_DAYS: Final = 3_000_000


@dataclass(frozen=True, slots=True)
class CourseTime:
    """Calendar time of courses taken one after another, all asked for on the first day.

    `weeks` are those of the courses themselves, `lead_weeks` those spent waiting before and between them, `days` the
    whole in days, rounded up.
    """

    weeks: float
    lead_weeks: float
    days: int


def compute_course_time(courses: Iterable[Course]) -> CourseTime:
    """Return how long courses take that close a hole in a team: in paid working time.

    Parameters
    ----------
    courses : iterable of Course
        In the order in which they are taken.

    Returns
    -------
    CourseTime
        A course takes the longer of its elapsed weeks and its hours at 40 a week; it begins once the one before has
        ended and its own lead is over. The sums are exact, the weeks are told as decimals.

    Examples
    --------
    None of the courses given takes no time:

    >>> compute_course_time([])
    CourseTime(weeks=0.0, lead_weeks=0.0, days=0)
    """
    weeks = end = Fraction(0)
    for course in courses:
        length = get_working_weeks(course)
        weeks += length
        end = max(end, read_decimal(course.lead_weeks)) + length
    return CourseTime(float(weeks), float(end - weeks), min(get_days(end), _MOST_DAYS))


def can_end(snapshot: Snapshot, person_id: str, course_ids: Iterable[str], on: date) -> bool:
    """Return whether someone can end courses by their last day in the team, taken one after another from a day on."""
    team = get_person_on(snapshot, person_id, on).team
    last = find_last_day_in_team(snapshot, person_id, team, on)
    time = compute_course_time(snapshot.courses[course_id] for course_id in course_ids)
    return last is None or on.toordinal() + time.days <= last.toordinal()


class PathFinder:
    """Finds learning paths to a level, or to a few, each way of standing once.

    Parameters
    ----------
    time_limit_s : float or None
        Seconds for all paths together; afterwards each is the best found at once.
    """

    def __init__(self, snapshot: Snapshot, time_limit_s: float | None = None) -> None:
        self._snapshot = snapshot
        self._deadline = Deadline(time_limit_s)
        self._relevant: dict[str, tuple[str, ...]] = {}
        self._paths: dict[tuple[object, ...], LearningPathResult] = {}

    @property
    def searched(self) -> int:
        """How many different paths were looked for."""
        return len(self._paths)

    @property
    def status(self) -> Literal["optimal", "feasible"]:
        """Whether every path is proved, or the time limit struck for one: "optimal" or "feasible"."""
        return "feasible" if any(path.status == "feasible" for path in self._paths.values()) else "optimal"

    def get_relevant(self, competency_id: str) -> tuple[str, ...]:
        """Return the competencies whose levels can matter on the way to one, itself included, sorted.

        Those that a course to it asks for, what it hangs on and what counts as it, the same of these, and so on.
        O(size of the courses).
        """
        if competency_id not in self._relevant:
            found = {competency_id}
            stack = [competency_id]
            while stack:
                more = set(self._iterate_needed(stack.pop())) - found
                found |= more
                stack += more
            self._relevant[competency_id] = tuple(sorted(found))
        return self._relevant[competency_id]

    def _iterate_needed(self, competency_id: str) -> Iterator[str]:
        """Yield what matters on the way to a competency at once."""
        snapshot = self._snapshot
        yield from snapshot.require_competency(competency_id).holds_while
        yield from (row.competency for row in snapshot.get_equivalences_to(competency_id))
        for outcome in snapshot.get_outcomes_of_competency(competency_id):
            yield from (condition.competency for condition in snapshot.get_entry_conditions(outcome.course))

    def build_profile(self, person_id: str, on: date, *competency_ids: str) -> Profile:
        """Return a person's profile on a date as far as it can matter on the way to some competencies.

        Raises
        ------
        UnknownIdError
            There is no such person.
        """
        self._snapshot.require_person(person_id)
        person = get_person_on(self._snapshot, person_id, on)
        levels: dict[str, int] = {}
        renewable: dict[str, int] = {}
        for i in sorted({i for competency_id in competency_ids for i in self.get_relevant(competency_id)}):
            known = get_restored_level(self._snapshot, person_id, self._snapshot.require_competency(i), on)
            if known.level:
                levels[i] = known.level
            if known.renewable_level:
                renewable[i] = known.renewable_level
        return Profile(
            levels,
            renewable,
            held_by=person_id,
            role=person.role,
            study_hours_per_week=person.study_hours_per_week,
            on=on,
        )

    def is_searched(self, profile: Profile, competency_id: str, level: int) -> bool:
        """Whether the path for this way of standing has been looked for already."""
        return self._get_key(profile, {competency_id: level}) in self._paths

    def find(self, profile: Profile, competency_id: str, level: int) -> LearningPathResult:
        """Return the path with the least hours from such a profile to a level of the competency."""
        return self.find_levels(profile, {competency_id: level})

    def find_levels(self, profile: Profile, targets: Mapping[str, int]) -> LearningPathResult:
        """Return the path with the least hours from such a profile to some levels by competency id.

        Notes
        -----
        NP-hard in general; small here, and solved once for all profiles that are alike.
        """
        key = self._get_key(profile, targets)
        if key not in self._paths:
            remaining = self._deadline.get_remaining_s()
            self._paths[key] = find_path_to_levels(self._snapshot, profile, targets, time_limit_s=remaining)
        return self._paths[key]

    def find_single_courses(self, profile: Profile, competency_id: str, level: int) -> list[str]:
        """Return the ids of the courses each of which reaches the level at once from the profile, sorted."""
        together = add_what_it_hangs_on(self._snapshot, {competency_id: level})
        return [
            offer.id
            for offer in build_catalogue(self._snapshot, profile).get_achievers(competency_id, level)
            if all(profile.get(i) >= asked for i, asked in offer.conditions)
            and all(max(profile.get(i), dict(offer.effects).get(i, 0)) >= asked for i, asked in together.items())
        ]

    def _get_key(self, profile: Profile, targets: Mapping[str, int]) -> tuple[object, ...]:
        """Return what a path hangs on: the levels, and what counts as another on the day of the profile."""
        levels = tuple(tuple(sorted(levels.items())) for levels in (targets, profile.levels, profile.renewable))
        return *levels, get_relied_on(self._snapshot, profile)
