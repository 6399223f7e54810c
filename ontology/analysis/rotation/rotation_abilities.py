"""Who is there and able, or may begin, in which interval of a rotation. Pure.

May import presence, slots, closest, rotation_asked, the snapshot and records. A person is there in an interval when
employed on all its days and absent on none; able when able on its first and its last day. A learner stands beside a
holder, not able yet, but meets what is blocking at entry level: without that nothing begins.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from ontology.analysis.cover.presence import Presence, find_absences, get_presence, is_employed
from ontology.analysis.places.closest import find_missing_levels
from ontology.analysis.places.slots import is_able
from ontology.analysis.profiles.belonging import find_days_of_belonging, get_person_on
from ontology.analysis.rotation.rotation_asked import RotationAsked
from ontology.model.records import Person, Place, Requirement
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Abilities"]


@dataclass
class Abilities:
    """What the entries say of some people, places and intervals, all by number.

    Attributes
    ----------
    days : list of (Presence, Presence)
        The team on the first and the last day of each interval.
    there : list of frozenset of int
        For each person the intervals.
    able : list of dict of int to frozenset of int
        For each person: place -> intervals, never empty.
    lapses : dict
        (person, place, interval) -> the competencies for want of which someone there is not able, although on the first
        day of the period; empty where renewals are taken for granted.
    away_though_able : set of (int, int, int)
        (person, place, interval) of those able who are not there.
    remarks : list of str
    """

    snapshot: Snapshot
    team_id: str
    asked: RotationAsked
    people: Sequence[Person]
    places: Sequence[Place]
    dates: Sequence[tuple[date, date]]
    days: list[tuple[Presence, Presence]] = field(default_factory=list)
    there: list[frozenset[int]] = field(default_factory=list)
    able: list[dict[int, frozenset[int]]] = field(default_factory=list)
    lapses: dict[tuple[int, int, int], tuple[str, ...]] = field(default_factory=dict)
    away_though_able: set[tuple[int, int, int]] = field(default_factory=set)
    remarks: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        away = self.asked.away
        for first, last in self.dates:
            start = get_presence(self.snapshot, self.team_id, first, away)
            self.days.append((start, start if first == last else get_presence(self.snapshot, self.team_id, last, away)))
        self.there = [frozenset(t for t in range(len(self.dates)) if self._is_there(p, t)) for p in self.people]
        self.able = [{} for _ in self.people]
        renewed: set[tuple[str, str]] = set()
        for number, person in enumerate(self.people):
            for place in range(len(self.places)):
                if self.fits(number, place):
                    renewed.update((person.id, competency) for competency in self._settle(number, place))
        if self.asked.has_renewals:
            self.lapses.clear()
            if renewed:
                listed = ", ".join(f"{person} {competency}" for person, competency in sorted(renewed))
                self.remarks.append(f"Taken as renewed before it lapses in this period: {listed}.")

    def fits(self, number: int, place: int) -> bool:
        """Whether a place is one of the person's shift or of the whole team."""
        return self.places[place].shift in ("", self.people[number].shift)

    def get_barriers(self, number: int, place: int, t: int) -> list[str]:
        """Return the blocking competencies that someone lacks at entry level in an interval."""
        person_id = self.people[number].id
        days = self.days[0][:1] if self.asked.has_renewals else ()
        return [
            requirement.competency
            for requirement in self.snapshot.get_requirements(self.places[place].role)
            if requirement.necessity == "blocking"
            and not all(_may_begin(presence, person_id, requirement) for presence in self.days[t])
            and not any(_may_begin(presence, person_id, requirement) for presence in days)
        ]

    def find_possible(self, number: int, place: int) -> frozenset[int]:
        """Return the intervals in which someone may stand beside a holder to learn: there, not able, not barred."""
        able = self.able[number].get(place, frozenset())
        return frozenset(t for t in self.there[number] - able if not self.get_barriers(number, place, t))

    def _is_there(self, person: Person, t: int) -> bool:
        first, last = self.dates[t]
        if person.id in self.asked.away or not (is_employed(person, first) and is_employed(person, last)):
            return False
        turns = (day for day in find_days_of_belonging(self.snapshot, person.id) if first < day <= last)
        if any(not self._belongs(person, day) for day in (first, *turns)):
            return False
        return not any(begin <= last and end >= first for begin, end in find_absences(self.snapshot, person.id))

    def _belongs(self, person: Person, day: date) -> bool:
        """Whether someone is of the team, and of the shift they are planned for, on a day."""
        there = get_person_on(self.snapshot, person.id, day)
        return (there.team, there.shift) == (self.team_id, person.shift)

    def _settle(self, number: int, place: int) -> set[str]:
        """Note when someone can hold a place; return what lapses of that in the period."""
        person_id, role_id = self.people[number].id, self.places[place].role
        lapsed: set[str] = set()
        when = set()
        is_able_at_first = is_able(self.days[0][0], person_id, role_id)
        for t, days in enumerate(self.days):
            can = all(is_able(presence, person_id, role_id) for presence in days)
            if is_able_at_first and not can:
                found = [m.competency for presence in days for m in find_missing_levels(presence, person_id, role_id)]
                can = self.asked.has_renewals
                if t in self.there[number]:
                    self.lapses[number, place, t] = tuple(dict.fromkeys(found))
                    lapsed.update(found)
            if can and t in self.there[number]:
                when.add(t)
            elif can and is_employed(self.people[number], self.dates[t][0]):
                self.away_though_able.add((number, place, t))
        if when:
            self.able[number][place] = frozenset(when)
        return lapsed


def _may_begin(presence: Presence, person_id: str, requirement: Requirement) -> bool:
    return presence.get_level_rank(person_id, requirement.competency) >= requirement.entry_level
