"""Who could close a hole in a team's cover by learning or renewing, and the last day to begin with it. Pure.

May import nearest, the team's calendar, levels and records. Of everyone there when the hole opens, first who renews
what lapsed, then who is done soonest.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from ontology.analysis.cover.nearest import CourseTime, PathFinder, compute_course_time
from ontology.analysis.outlook.team_calendar import TeamCalendar
from ontology.analysis.profiles.levels import Profile, get_level
from ontology.records import CoverNeed, Person

__all__ = ["Mend", "find_mend"]


@dataclass(frozen=True, slots=True)
class Mend:
    """What one person could do so that they count for a need before it is short.

    Attributes
    ----------
    person : str
    kind : {"renewal", "learning"}
        "renewal" where a course renews the level for someone who holds it, or lost it lately enough.
    have : int or None
        Level on the day asked about, None where never assessed: then the first act is to assess.
    source, assessed_on : str or None, date or None
        The assessment it rests on.
    courses : tuple of str
        In the order in which they are taken.
    study_hours : float
        Hours of the learner.
    weeks, lead_weeks : float
        Calendar time of the courses in working time (`paths.pace`), and of waiting for them from the day of asking.
    due : date
        The day by which it must be done: the first of the hole, or the day of the lapse where only a holder can renew.
    last_day_to_act : date
        `due` less weeks and lead; date.min where that lies before the calendar.
    is_late : bool
        Whether that is before the day asked about.
    ready_on : date
        The day it is done when begun on the day asked about; date.max where that lies after the calendar.
    is_there_throughout : bool
        Whether the person is there on every day of the hole.
    """

    person: str
    kind: Literal["renewal", "learning"]
    have: int | None
    source: str | None
    assessed_on: date | None
    courses: tuple[str, ...]
    study_hours: float
    weeks: float
    lead_weeks: float
    due: date
    last_day_to_act: date
    is_late: bool
    ready_on: date
    is_there_throughout: bool


def find_mend(
    calendar: TeamCalendar,
    finder: PathFinder,
    need: CoverNeed,
    shift: str | None,
    hole: tuple[date, date],
    *,
    on: date,
    taken: Collection[str] = (),
) -> tuple[Mend | None, str | None]:
    """Return the mend of a hole, or None and the reason why there is none.

    Parameters
    ----------
    calendar : TeamCalendar
        From `on` or earlier until the end of the hole or later.
    finder : PathFinder
    need : CoverNeed
    shift : str or None
        Where the need counts.
    hole : (date, date)
        First and last day.
    on : date
        The day from which there is time to act.
    taken : collection of str
        People who close another hole of the need at that time.

    Notes
    -----
    Of each candidate the course that reaches the level at once and is done soonest, or the path with the least hours
    where that is done sooner. Candidates who renew come first, then those who are there throughout the hole, then by
    days, hours and id.
    """
    first = hole[0]
    people = [
        person
        for person in calendar.get_scope(shift)
        if person.id not in taken
        and calendar.is_present(person, first)
        and calendar.get_rank(person.id, need.competency, first) < need.level
    ]
    label = calendar.snapshot.competencies[need.competency].label
    if not people:
        return None, "Nobody else is there who could learn it: stand-ins of other teams, or another person, are left."
    mends = [mend for person in people for mend in _find_mends_of(calendar, finder, need, hole, person, on)]
    if not mends:
        return None, _explain(calendar, finder, need, people, first, label)
    return min(mends, key=lambda m: _order(m, on)), None


def _order(mend: Mend, on: date) -> tuple[object, ...]:
    days = (mend.ready_on - on).days
    return (mend.kind != "renewal", not mend.is_there_throughout, days, mend.study_hours, mend.person, mend.courses)


def _find_mends_of(
    calendar: TeamCalendar, finder: PathFinder, need: CoverNeed, hole: tuple[date, date], person: Person, on: date
) -> Iterator[Mend]:
    first = hole[0]
    snapshot = calendar.snapshot
    profile = finder.build_profile(person.id, first, need.competency)
    due = first
    known = get_level(snapshot, person.id, snapshot.require_competency(need.competency), on)
    held = known.level or 0
    if held >= need.level and profile.renewable.get(need.competency, 0) < need.level:
        # the level is held today and gone by then: it can be renewed while it is held
        lapse = calendar.get_first_day_below(person.id, need.competency, need.level, on)
        due = first if lapse is None else min(first, lapse)
        profile = _with_renewable(profile, need.competency, held)
    path = finder.find(profile, need.competency, need.level)
    ways: list[tuple[str, ...]] = [
        (course,) for course in finder.find_single_courses(profile, need.competency, need.level)
    ]
    if path.status != "unreachable":
        ways.append(tuple(course.id for course in path.courses))
    is_there = all(calendar.is_present(person, day) for day in _get_turning_days(calendar, need, person, hole))
    for courses in dict.fromkeys(ways):
        records = [snapshot.require_course(course) for course in courses]
        time = compute_course_time(records)
        is_renewal = any(
            outcome.renews and outcome.competency == need.competency and outcome.level >= need.level
            for course in courses
            for outcome in snapshot.get_outcomes(course)
        )
        # only a renewal hangs on what is held until it lapses
        last = _add_days(due if is_renewal else first, -time.days)
        yield Mend(
            person=person.id,
            kind="renewal" if is_renewal else "learning",
            have=known.level,
            source=known.basis.source if known.basis else None,
            assessed_on=known.basis.date if known.basis else None,
            courses=courses,
            study_hours=sum(course.hours for course in records),
            weeks=_round(time).weeks,
            lead_weeks=_round(time).lead_weeks,
            due=due if is_renewal else first,
            last_day_to_act=last,
            is_late=last < on,
            ready_on=_add_days(on, time.days),
            is_there_throughout=is_there,
        )


def _round(time: CourseTime) -> CourseTime:
    return CourseTime(round(time.weeks, 6), round(time.lead_weeks, 6), time.days)


def _with_renewable(profile: Profile, competency_id: str, level: int) -> Profile:
    return Profile(
        levels=profile.levels,
        renewable={**profile.renewable, competency_id: level},
        held_by=profile.held_by,
        role=profile.role,
        study_hours_per_week=profile.study_hours_per_week,
    )


def _get_turning_days(calendar: TeamCalendar, need: CoverNeed, person: Person, hole: tuple[date, date]) -> list[date]:
    changes = calendar.get_days_of_change(person, need.competency)
    return [hole[0], *(day for day in changes if hole[0] < day <= hole[1])]


def _explain(
    calendar: TeamCalendar, finder: PathFinder, need: CoverNeed, people: list[Person], day: date, label: str
) -> str:
    path = finder.find(finder.build_profile(people[0].id, day, need.competency), need.competency, need.level)
    return f"No course leads anyone who is there to {label} at level {need.level}: {path.unreachable[0].reason}"


def _add_days(day: date, days: int) -> date:
    try:
        return day + timedelta(days=days)
    except OverflowError:
        return date.max if days > 0 else date.min
