"""Who of a team can be released for a course off the job, day by day, while a plan is placed. Pure.

May import presence, coverage, holding, levels and the snapshot. Nobody is away in such a course on a day on which a
need that counts them would be short, or a place or slot of a group that holds would fall empty, as coverage and
staffing judge them on that day. Whoever is done with a course has what it brings from that day on.
"""

from __future__ import annotations

from bisect import bisect_right, insort
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import replace
from datetime import date, timedelta
from typing import NamedTuple

from ontology.analysis.cover.presence import Presence, find_absences, get_presence
from ontology.analysis.paths.expected import expect_assessment
from ontology.analysis.paths.offers import Fact
from ontology.analysis.places.holding import Fallen, Holding, build_holding
from ontology.analysis.profiles.appointments import find_days_of_appointment
from ontology.analysis.profiles.belonging import find_days_of_belonging, get_people_of_team
from ontology.analysis.profiles.levels import find_days_of_change

__all__ = ["Lost", "TeamRelease"]

_END = (date.max - date.min).days


class Lost(NamedTuple):
    """What someone's absence costs on a day: a need that is short then, or (where it is not None) a place."""

    competency: str | None
    level: int | None
    applies: str | None
    shift: str | None
    place: str | None


class TeamRelease:
    """The team on every day from the day asked about, with what has been placed so far.

    Parameters
    ----------
    presence : Presence
        The team on the day asked about; who is taken as away then is away throughout.
    """

    def __init__(self, presence: Presence) -> None:
        self._presence = presence
        self._away: dict[str, list[tuple[int, int]]] = {}
        self._learned: list[tuple[int, int, str, Fact]] = []
        self._turns = sorted({0, *_find_days_of_change(presence)})
        self._cuts = list(self._turns)
        self._presences: dict[int, Presence] = {}
        self._holdings: dict[tuple[int, ...], Holding] = {}

    def send(self, person_id: str, first: int, free: int) -> None:
        """Note that someone is in a course off the job from a day until the day before another."""
        self._away.setdefault(person_id, []).append((first, free))
        self._cut(first, free)

    def teach(self, person_id: str, facts: Iterable[Fact], day: int) -> None:
        """Note that someone has some levels from a day on."""
        for fact in facts:
            end = self._find_end(person_id, fact, day)
            self._learned.append((day, end, person_id, fact))
            self._cut(day, end)

    def find_free_day(self, person_id: str, first: int, free: int) -> int | None:
        """Return the first day, `first` or later, on which an absence that ends before the day `free` could begin.

        `first` itself where nothing is lost on any day of it; else the day after those that forbid it, for which it is
        to be asked again. None where no later day differs.
        """
        day = first
        while True:
            following = self._get_following(day)
            if self._find_lost(person_id, day):
                return following
            if following is None or following >= free:
                return first
            day = following

    def find_lost(self, person_id: str, first: int, free: int) -> list[Lost]:
        """Return what is lost on the days of an absence, each once, in the order of days."""
        days = [first, *(day for day in self._cuts if first < day < free)]
        return list(dict.fromkeys(lost for day in days for lost in self._find_lost(person_id, day)))

    def _get_following(self, day: int) -> int | None:
        place = bisect_right(self._cuts, day)
        return self._cuts[place] if place < len(self._cuts) else None

    def _cut(self, *days: int) -> None:
        for day in days:
            place = bisect_right(self._cuts, day)
            if not place or self._cuts[place - 1] != day:
                insort(self._cuts, day)

    def _find_lost(self, person_id: str, day: int) -> tuple[Lost, ...]:
        """Return what is lost on a day when someone leaves beside those who are away already."""
        holding = self._get_holding(day)
        away = {i for i, spans in self._away.items() if i != person_id and any(a <= day < b for a, b in spans)}
        needs = [
            Lost(scope.need.competency, scope.need.level, scope.need.applies, scope.shift, None)
            for scope in holding.scopes
            if person_id in scope.present and len(set(scope.present) - away) <= scope.need.minimum
        ]
        slots = _count_slots(holding.find_broken({*away, person_id}))
        if slots and away:
            slots -= _count_slots(holding.find_broken(away))
        return tuple(dict.fromkeys((*needs, *slots)))

    def _get_holding(self, day: int) -> Holding:
        """Return the team of a day; days between two changes are alike."""
        turn = self._turns[bisect_right(self._turns, day) - 1]
        known = [n for n, (begin, end, _, _) in enumerate(self._learned) if begin <= day < end]
        key = (turn, *known)
        holding = self._holdings.get(key)
        if holding is None:
            presence = self._get_presence(turn)
            if known:
                taught: dict[tuple[str, str], int] = {}
                for n in known:
                    _, _, person_id, (competency_id, level) = self._learned[n]
                    taught[person_id, competency_id] = max(level, taught.get((person_id, competency_id), 0))
                presence = replace(presence, _ranks=_TaughtRanks(presence, taught))
            holding = self._holdings[key] = build_holding(presence)
        return holding

    def _get_presence(self, turn: int) -> Presence:
        known = self._presences.get(turn)
        if known is None:
            asked = self._presence
            day = asked.on + timedelta(days=turn)
            known = self._presences[turn] = get_presence(asked.snapshot, asked.team, day, asked.away)
        return known

    def _find_end(self, person_id: str, fact: Fact, day: int) -> int:
        """Return the first day on which a level that someone reaches on a day is gone."""
        (competency_id, level), on, snapshot = fact, self._presence.on, self._presence.snapshot
        competency = snapshot.competencies[competency_id]
        if competency.expiry != "hard":
            return _END
        with suppress(OverflowError):
            done, known = on + timedelta(days=day), snapshot.get_assessments(person_id, competency_id)
            until = expect_assessment(person_id, competency, level, done, known).valid_until
            return _END if until is None else (until - on).days + 1
        return _END


class _TaughtRanks(dict[tuple[str, str], int]):
    """(person, competency) -> the level of a presence, or one that was learned where it is higher."""

    def __init__(self, presence: Presence, taught: Mapping[tuple[str, str], int]) -> None:
        super().__init__()
        self._presence = presence
        self._taught = taught

    def __missing__(self, key: tuple[str, str]) -> int:
        taught = self._taught.get(key, 0)
        if taught:
            # what is learned counts only while what it hangs on is held
            hangs_on = self._presence.snapshot.competencies[key[1]].holds_while
            taught = taught if all(self[key[0], other] for other in hangs_on) else 0
        rank = self[key] = max(self._presence.get_level_rank(*key), taught)
        return rank


def _count_slots(fallen: Fallen) -> Counter[Lost]:
    """Return how many slots of each place and need of a group fall empty."""
    slots = Counter(Lost(None, None, None, None, place) for place in fallen.places)
    for need in fallen.together:
        slots[Lost(need.competency, need.level, need.applies, need.shift, None)] += need.slots
    return slots


def _find_days_of_change(presence: Presence) -> Iterator[int]:
    """Yield the days after the one asked about on which the team may differ from the day before."""
    snapshot, on = presence.snapshot, presence.on
    asked = {need.competency for need in snapshot.get_cover_needs(presence.team)}
    for place in snapshot.get_places(presence.team):
        asked |= {requirement.competency for requirement in snapshot.get_requirements(place.role)}
    for person in get_people_of_team(snapshot, presence.team):
        spans: list[tuple[date | None, date | None]] = [(person.start_date, person.end_date)]
        spans += find_absences(snapshot, person.id)
        for competency_id in asked:
            competency = snapshot.require_competency(competency_id)
            yield from (
                (day - on).days
                for day in (
                    *find_days_of_change(snapshot, person.id, competency),
                    *find_days_of_appointment(snapshot, person.id, competency),
                )
                if day > on
            )
        yield from ((day - on).days for day in find_days_of_belonging(snapshot, person.id) if day > on)
        for first, last in spans:
            if first is not None and first > on:
                yield (first - on).days
            if last is not None and on <= last < date.max:
                yield (last - on).days + 1
