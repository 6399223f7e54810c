"""Who could close a hole in a team's cover by learning or renewing, and the last day to begin with it. Pure.

May import nearest, the team's calendar, levels and records. Of everyone there when the hole opens, or on the day asked
about where it has opened before, first who renews what lapsed, then who is done soonest.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Annotated, Literal

from ontology.analysis.cover.nearest import PathFinder, compute_course_time
from ontology.analysis.outlook.team_calendar import TeamCalendar
from ontology.analysis.paths.expected import with_outcomes
from ontology.analysis.profiles.appointments import find_appointed
from ontology.analysis.profiles.belonging import find_last_day_in_team
from ontology.analysis.profiles.levels import get_level, get_levels
from ontology.analysis.profiles.own_levels import LevelOnDate
from ontology.analysis.profiles.profile import Profile, add_what_it_hangs_on
from ontology.analysis.profiles.seats import get_coming_seats
from ontology.model.identity import PersonId
from ontology.model.records import Person
from ontology.model.work_records import Session

__all__ = ["Mend", "MendedLevel", "find_mend"]


@dataclass(frozen=True, slots=True)
class MendedLevel:
    """A level that is reached or renewed, and what is held on the day asked about: None where never assessed."""

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level needed."]
    have: Annotated[int | None, "Level on the day asked about; null where never assessed: assess first."]
    source: Annotated[str | None, "Who assessed it."]
    assessed_on: Annotated[date | None, "The day it was assessed."]


@dataclass(frozen=True, slots=True)
class Mend:
    """What one person could do so that they count before the hole opens."""

    person: Annotated[PersonId, "Id of the person."]
    kind: Annotated[Literal["renewal", "learning"], "Whether levels are renewed, all of them, or learned."]
    have: Annotated[int | None, "Level of the first on the day asked about; null where never assessed: assess first."]
    source: Annotated[str | None, "Who assessed it."]
    assessed_on: Annotated[date | None, "The day it was assessed."]
    levels: Annotated[tuple[MendedLevel, ...], "All that is reached or renewed: one for a need, what a place takes."]
    courses: Annotated[tuple[str, ...], "The courses, in order."]
    study_hours: Annotated[float, "Hours of the learner."]
    weeks: Annotated[float, "Weeks the courses take: their own, or their hours at 40 a week."]
    lead_weeks: Annotated[float, "Weeks of waiting for them from the day of asking."]
    due: Annotated[date, "The day by which it must be done."]
    last_day_to_act: Annotated[date, "The last day to begin."]
    is_late: Annotated[bool, "Whether that day has passed on the day asked about."]
    ready_on: Annotated[
        date, "The day it is done when begun on the day asked about, or on the person's first day if later."
    ]
    is_there_throughout: Annotated[bool, "Whether the person is there on every day of the hole that is left."]
    booked_session: Annotated[
        str | None, "The session in which they have a seat for it: the act is taken; null: none is booked."
    ] = None


def find_mend(
    calendar: TeamCalendar,
    finder: PathFinder,
    levels: Mapping[str, int],
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
        Until the end of the hole or later.
    levels : Mapping of competency id to level
        What someone must hold to count: one level for a need, those of a role for a place.
    shift : str or None
        To which they must belong.
    hole : (date, date)
        First and last day.
    on : date
        The day from which there is time to act. Where the hole has begun before, levels and presence of this day count.
    taken : collection of str
        People who close another hole at that time, or have a slot already.

    Notes
    -----
    Of each candidate the course that reaches the level at once and is done soonest, or the path with the least hours
    where that is done sooner. Candidates who renew come first, then those who are there throughout the hole, then by
    days, hours and id. Who has a seat already in a session that brings the level before the hole opens comes before
    all: that act is taken.
    """
    if hole[1] < on:
        return None, "It was over before the day asked about."
    day = max(hole[0], on)
    people = [
        person
        for person in calendar.get_members(day, shift)
        if person.id not in taken
        and person.id not in calendar.away
        and calendar.is_present(person, day)
        and any(calendar.get_rank(person.id, i, day) < level for i, level in levels.items())
    ]
    if people:
        could = find_appointed(calendar.snapshot, [person.id for person in people], levels.items(), day)
        people = [person for person in people if person.id in could]
        if not people:
            return None, "Nobody else who is there and could learn it is appointed for it by the employer."
    if not people:
        return None, "Nobody else is there who could learn it: stand-ins of other teams, or another person, are left."
    booked = [mend for person in people for mend in _iterate_booked(calendar, finder, levels, hole, on, person)]
    if booked:
        return min(booked, key=lambda m: (m.ready_on, m.person, m.booked_session or "")), None
    mends = [
        mend for person in people for mend in _Candidate(calendar, finder, levels, hole, on, person).iterate_mends()
    ]
    if not mends:
        return None, _explain(calendar, finder, levels, people, day)
    return min(mends, key=lambda m: _order(m, on)), None


def _order(mend: Mend, on: date) -> tuple[object, ...]:
    days = (mend.ready_on - on).days
    return (mend.kind != "renewal", not mend.is_there_throughout, days, mend.study_hours, mend.person, mend.courses)


class _Candidate:
    """Someone who could close a hole: what they lack when it opens, and by when it must be done."""

    def __init__(
        self,
        calendar: TeamCalendar,
        finder: PathFinder,
        levels: Mapping[str, int],
        hole: tuple[date, date],
        on: date,
        person: Person,
    ) -> None:
        self._calendar, self._finder, self._person = calendar, finder, person
        self._snapshot = calendar.snapshot
        self._hole = hole
        self._on, self._begin = on, max(on, person.start_date or on)
        self._first = day = max(hole[0], on)
        self._profile = finder.build_profile(person.id, day, *levels)
        # of a level that is suspended that day, what it hangs on
        asked = add_what_it_hangs_on(self._snapshot, levels)
        self._missing = {i: level for i, level in asked.items() if self._profile.get(i) < level}
        self._known = {
            i: get_level(self._snapshot, person.id, self._snapshot.require_competency(i), on) for i in self._missing
        }
        #: by when what is held today and gone by then must be renewed, while it is held
        self._lapses: dict[str, date | None] = {}
        for i, level in self._missing.items():
            held = self._known[i].level or 0
            if held >= level and self._profile.renewable.get(i, 0) < level:
                self._lapses[i] = calendar.find_first_day_below(person.id, i, level, on)
                self._profile = _with_renewable(self._profile, i, held)

    def iterate_mends(self) -> Iterator[Mend]:
        """Yield a mend for every way to what is missing that is no earlier than the first day and ends by the last.

        Who has not started yet and would have to begin before is no way to close the hole.
        """
        is_there = all(self._calendar.is_present(self._person, day) for day in self._get_turning_days())
        start = self._person.start_date
        end = find_last_day_in_team(self._snapshot, self._person.id, self._calendar.team, self._first)
        for courses in self._find_ways():
            mend = self._build(courses, is_there=is_there)
            is_too_early = start is not None and self._on < start and mend.last_day_to_act < start
            if not is_too_early and (end is None or mend.ready_on <= end):
                yield mend

    def _find_ways(self) -> Iterator[tuple[str, ...]]:
        ways: list[tuple[str, ...]] = []
        if len(self._missing) == 1:
            ((i, level),) = self._missing.items()
            ways = [(course,) for course in self._finder.find_single_courses(self._profile, i, level)]
        path = self._finder.find_levels(self._profile, self._missing)
        if path.status != "unreachable":
            ways.append(tuple(course.id for course in path.courses))
        yield from dict.fromkeys(ways)

    def _build(self, courses: tuple[str, ...], *, is_there: bool) -> Mend:
        records = [self._snapshot.require_course(course) for course in courses]
        time = compute_course_time(records)
        renewed = {
            outcome.competency
            for course in courses
            for outcome in self._snapshot.get_outcomes(course)
            if outcome.renews and outcome.level >= self._missing.get(outcome.competency, outcome.level + 1)
        }
        # only a renewal hangs on what is held: on the day of the lapse it is too late for it
        lapses = [_add_days(lapse, -1) for i, lapse in self._lapses.items() if i in renewed and lapse is not None]
        due = min([self._hole[0], *lapses])
        last = _add_days(due, -time.days)
        levels = tuple(_describe(self._known[i], level) for i, level in sorted(self._missing.items()))
        return Mend(
            person=self._person.id,
            kind="renewal" if renewed == self._missing.keys() else "learning",
            have=levels[0].have,
            source=levels[0].source,
            assessed_on=levels[0].assessed_on,
            levels=levels,
            courses=courses,
            study_hours=sum(course.hours for course in records),
            weeks=round(time.weeks, 6),
            lead_weeks=round(time.lead_weeks, 6),
            due=due,
            last_day_to_act=last,
            is_late=last < self._on,
            ready_on=_add_days(self._begin, time.days),
            is_there_throughout=is_there,
        )

    def book(self, session: Session) -> Mend:
        """Return the mend by a session in which the person has a seat."""
        is_there = all(self._calendar.is_present(self._person, day) for day in self._get_turning_days())
        return replace(
            self._build((session.course,), is_there=is_there),
            last_day_to_act=session.from_date,
            is_late=False,
            ready_on=session.to_date,
            booked_session=session.id,
        )

    def _get_turning_days(self) -> list[date]:
        changes = [d for i in self._missing for d in self._calendar.find_days_of_change(self._person, i)]
        return [self._first, *(day for day in changes if self._first < day <= self._hole[1])]


def _iterate_booked(
    calendar: TeamCalendar,
    finder: PathFinder,
    levels: Mapping[str, int],
    hole: tuple[date, date],
    on: date,
    person: Person,
) -> Iterator[Mend]:
    """Yield the sessions in which someone has a seat that bring all that is missing before the hole opens."""
    snapshot = calendar.snapshot
    candidate = None
    for session in get_coming_seats(snapshot, person.id, on):
        if session.to_date >= max(hole[0], on):
            continue
        # with the outcomes of the seat they count on the first day that is left
        after = with_outcomes(snapshot, [(person.id, session.course, session.to_date)])
        day = max(hole[0], on)
        competencies = [snapshot.competencies[i] for i in levels]
        held = get_levels(after, person.id, competencies, day)
        if all((known.level or 0) >= level for known, level in zip(held, levels.values(), strict=True)):
            candidate = candidate or _Candidate(calendar, finder, levels, hole, on, person)
            yield candidate.book(session)


def _describe(known: LevelOnDate, level: int) -> MendedLevel:
    basis = known.basis
    source, day = (basis.source, basis.date) if basis else (None, None)
    return MendedLevel(known.competency, level, known.level, source, day)


def _with_renewable(profile: Profile, competency_id: str, level: int) -> Profile:
    return replace(profile, renewable={**profile.renewable, competency_id: level})


def _explain(
    calendar: TeamCalendar, finder: PathFinder, levels: Mapping[str, int], people: list[Person], day: date
) -> str:
    snapshot = calendar.snapshot
    names = " and ".join(f"{snapshot.competencies[i].label} at level {level}" for i, level in sorted(levels.items()))
    for person in people:
        missing = {i: level for i, level in levels.items() if calendar.get_rank(person.id, i, day) < level}
        path = finder.find_levels(finder.build_profile(person.id, day, *levels), missing)
        if path.status == "unreachable":
            return f"No course leads anyone who is there to {names}: {path.unreachable[0].reason}"
    return f"Nobody who is there could begin with {names} in time after their first day and end before they leave."


def _add_days(day: date, days: int) -> date:
    try:
        return day + timedelta(days=days)
    except OverflowError:
        return date.max if days > 0 else date.min
