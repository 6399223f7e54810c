"""A team over a stretch of days: who belongs, who is there and what each holds, as steps between days of change. Pure.

May import presence, levels, the snapshot and records. Nothing is sampled: employment changes on the first day and the
day after the last, an absence, a membership and an appointment likewise, a level on the day of an assessment and the
day after its last valid one.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from functools import cached_property

from ontology.analysis.cover.presence import Presence, find_absences, find_members, is_absent, is_employed
from ontology.analysis.places.holding import Holding, build_holding
from ontology.analysis.profiles.appointments import find_days_of_appointment
from ontology.analysis.profiles.belonging import find_days_of_belonging, get_people_of_team, get_person_on
from ontology.analysis.profiles.levels import find_days_of_change, get_level
from ontology.analysis.profiles.own_levels import LevelOnDate
from ontology.model.records import Person
from ontology.snapshot.snapshot import Snapshot

__all__ = ["TeamCalendar", "get_day_after"]

_DAY = timedelta(days=1)


def get_day_after(day: date | None) -> date | None:
    """Return the next day; None after the last day of the calendar, and for None."""
    return None if day is None or day == date.max else day + _DAY


class TeamCalendar:
    """Everyone who is a member of a team at some time, with their days of change.

    Parameters
    ----------
    team_id : str
        A team that exists.
    first, last : date
        The stretch, both inclusive; what was before it can be asked for too, what is after it cannot.
    away : iterable of str
        People taken as absent on every day of the stretch, and on no day before.
    """

    def __init__(self, snapshot: Snapshot, team_id: str, first: date, last: date, away: Iterable[str] = ()) -> None:
        self.snapshot = snapshot
        self.team = team_id
        self.first = first
        self.last = last
        self.away = frozenset(away)
        self.people = get_people_of_team(snapshot, team_id)
        self._level_turns: dict[str, list[date]] = {}
        self._ranks: dict[tuple[str, int], dict[str, int]] = {}
        self._holdings: dict[date, Holding] = {}
        self._steps: dict[tuple[str, str], tuple[list[date], list[LevelOnDate]]] = {}

    def get_scope(self, shift_id: str | None) -> tuple[Person, ...]:
        """Return everyone who is in a shift at some time, or in the team for None, by id."""
        return self.people if shift_id is None else tuple(p for p in self.people if self._is_ever_in(p, shift_id))

    def _is_ever_in(self, person: Person, shift_id: str) -> bool:
        days = [date.min, *find_days_of_belonging(self.snapshot, person.id)]
        there = (get_person_on(self.snapshot, person.id, day) for day in days)
        return any(record.team == self.team and record.shift == shift_id for record in there)

    def get_members(self, day: date, shift_id: str | None = None) -> tuple[Person, ...]:
        """Return who belongs to the team (and a shift) on a day and is employed, as they are that day, by id."""
        members = find_members(self.snapshot, self.people, self.team, day)
        return members if shift_id is None else tuple([p for p in members if p.shift == shift_id])

    def get_known(self, person_id: str, competency_id: str, day: date) -> LevelOnDate:
        """Return what is known of a level on a day until the last; `get_level` for that day."""
        days, known = self._get_steps(person_id, competency_id)
        return known[bisect_right(days, day) - 1]

    def get_rank(self, person_id: str, competency_id: str, day: date) -> int:
        """Return the level that counts on a day until the last; 0 where there is none."""
        return self.get_known(person_id, competency_id, day).level or 0

    def get_ranks(self, competency_id: str, day: date) -> Mapping[str, int]:
        """Return the level that counts on a day of everyone who is ever in the team; the same until one changes."""
        turns = self._level_turns.get(competency_id)
        if turns is None:
            days = (day for person in self.people for day in self._get_steps(person.id, competency_id)[0])
            turns = self._level_turns[competency_id] = sorted(set(days))
        key = competency_id, bisect_right(turns, day)
        if key not in self._ranks:
            self._ranks[key] = {person.id: self.get_rank(person.id, competency_id, day) for person in self.people}
        return self._ranks[key]

    def is_present(self, person: Person, day: date) -> bool:
        """Whether someone belongs to the team on a day, has started, not ended, and is not absent."""
        is_away = person.id in self.away and day >= self.first
        return self.is_member(person, day) and not is_away and not is_absent(self.snapshot, person.id, day)

    def is_member(self, person: Person, day: date, shift_id: str | None = None) -> bool:
        """Whether someone belongs to the team (and a shift) on a day and is employed."""
        there = get_person_on(self.snapshot, person.id, day)
        return is_employed(person, day) and there.team == self.team and shift_id in (None, there.shift)

    def get_presence(self, day: date) -> Presence:
        """Return the team on a day, as `presence.get_presence` does."""
        members = self.get_members(day)
        present = frozenset([person.id for person in members if self.is_present(person, day)])
        away = tuple(sorted(self.away)) if day >= self.first else ()
        return Presence(self.snapshot, self.team, day, away, members, present, _RanksOfDay(self, day))

    def find_days_of_presence(self, person: Person) -> list[date]:
        """Return the days until the last on which presence may differ from the day before, sorted."""
        days = {person.start_date, get_day_after(person.end_date), *find_days_of_belonging(self.snapshot, person.id)}
        for first, last in find_absences(self.snapshot, person.id):
            days.update((first, get_day_after(last)))
        return sorted(day for day in days if day is not None and date.min < day <= self.last)

    def find_days_of_change(self, person: Person, competency_id: str) -> list[date]:
        """Return the days until the last on which presence or what counts may differ from the day before, sorted."""
        competency = self.snapshot.require_competency(competency_id)
        appointed = (d for d in find_days_of_appointment(self.snapshot, person.id, competency) if d <= self.last)
        days = {*self._get_steps(person.id, competency_id)[0][1:], *self.find_days_of_presence(person), *appointed}
        return sorted(days - {date.min})

    @cached_property
    def turns(self) -> list[date]:
        """The days after the first on which anything asked of the team may differ from the day before, sorted."""
        snapshot = self.snapshot
        asked = {need.competency for need in snapshot.get_cover_needs(self.team)}
        for place in snapshot.get_places(self.team):
            asked.update(row.competency for row in snapshot.get_requirements(place.role))
        competencies = [snapshot.competencies[i] for i in asked]
        found: set[date] = set()
        for person in self.people:
            found.update(self.find_days_of_presence(person))
            for competency in competencies:
                found.update(find_days_of_change(snapshot, person.id, competency))
                found.update(find_days_of_appointment(snapshot, person.id, competency))
        return sorted(day for day in found if self.first < day <= self.last)

    def find_begin(self, day: date) -> date:
        """Return the first of the days in a row, up to one of the stretch, on which nothing in the team changes."""
        position = bisect_right(self.turns, day)
        return self.turns[position - 1] if position else self.first

    def get_holding(self, day: date) -> Holding:
        """Return what holds in the team on a day of the stretch; looked at once for days that are alike."""
        begin = self.find_begin(day)
        if begin not in self._holdings:
            self._holdings[begin] = build_holding(self.get_presence(begin))
        return self._holdings[begin]

    def find_first_day_below(self, person_id: str, competency_id: str, level: int, start: date) -> date | None:
        """Return the first day from `start` on which someone is below a level; None where there is none."""
        if self.get_rank(person_id, competency_id, start) < level:
            return start
        days, known = self._get_steps(person_id, competency_id)
        return next((d for d, k in zip(days, known, strict=True) if d > start and (k.level or 0) < level), None)

    def _get_steps(self, person_id: str, competency_id: str) -> tuple[list[date], list[LevelOnDate]]:
        key = (person_id, competency_id)
        if key not in self._steps:
            competency = self.snapshot.require_competency(competency_id)
            changes = find_days_of_change(self.snapshot, person_id, competency)
            ordered = [date.min, *(day for day in changes if day <= self.last)]
            known = [get_level(self.snapshot, person_id, competency, day) for day in ordered]
            self._steps[key] = (ordered, known)
        return self._steps[key]


class _RanksOfDay(dict[tuple[str, str], int]):
    """(person, competency) -> the level that counts on a day of a calendar; looked up when it is asked for."""

    def __init__(self, calendar: TeamCalendar, day: date) -> None:
        super().__init__()
        self._calendar = calendar
        self._day = day
        self._by_competency: dict[str, Mapping[str, int]] = {}

    def __missing__(self, key: tuple[str, str]) -> int:
        person_id, competency_id = key
        ranks = self._by_competency.get(competency_id)
        if ranks is None:
            ranks = self._by_competency[competency_id] = self._calendar.get_ranks(competency_id, self._day)
        rank = ranks.get(person_id)
        if rank is None:
            rank = self._calendar.get_rank(person_id, competency_id, self._day)
        self[key] = rank
        return rank
