"""Who could stand in for something on days in a row, and what they would leave behind on which of them. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final, Literal

from ontology.analysis.cover.coverage import build_need_scopes
from ontology.analysis.cover.holders import get_assessed_people
from ontology.analysis.cover.presence import get_presence
from ontology.analysis.outlook.leave_rows import LeaveBreak, LeaveStandIn
from ontology.analysis.outlook.team_calendar import TeamCalendar
from ontology.analysis.places.lending import Lending
from ontology.analysis.places.slots import list_unsupervised_levels
from ontology.analysis.places.stand_ins import STAND_INS_TOLD, StandIn, StandInSearch
from ontology.analysis.profiles.belonging import find_days_of_belonging, get_person_on
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Item", "ItemKey", "StandInFinder"]

_DAY: Final = timedelta(days=1)

#: kind, competency, level, applies, place, group, shift
ItemKey = tuple[
    Literal["need", "place", "together"], str | None, int | None, str | None, str | None, str | None, str | None
]


@dataclass(frozen=True, slots=True)
class Item:
    """A need, or slots, that fall on days in a row."""

    key: ItemKey
    slots: int
    from_date: date
    to_date: date


class StandInFinder:
    """Finds who could stand in for someone on the days of a leave; each day is looked at once.

    Parameters
    ----------
    team_id, person_id : str
        Who is away from which team.
    first, last : date
        The leave.
    """

    def __init__(self, snapshot: Snapshot, team_id: str, person_id: str, first: date, last: date) -> None:
        self._snapshot, self._team_id, self._person_id = snapshot, team_id, person_id
        self._first, self._last = first, last
        self._searches: dict[date, StandInSearch] = {}
        self._calendars: dict[str, TeamCalendar] = {}

    def describe(self, item: Item) -> LeaveBreak:
        """Return the row of what falls, with who could stand in when."""
        kind, competency, level, applies, place, together, shift = item.key
        if place is not None:
            shift = self._snapshot.places[place].shift or None
        return LeaveBreak(
            kind=kind,
            competency=competency,
            level=level,
            applies=applies,
            place=place,
            together=together,
            shift=shift,
            slots=item.slots,
            from_date=item.from_date,
            to_date=item.to_date,
            stand_ins=tuple(self._find(item)),
        )

    def _find(self, item: Item) -> list[LeaveStandIn]:
        """Return who could stand in, by own team, team, id and day; days in a row that are alike are one."""
        found: list[LeaveStandIn] = []
        begins = [item.from_date, *self._find_turns(item)]
        for begin, after in zip(begins, [*begins[1:], None], strict=True):
            end = item.to_date if after is None else after - _DAY
            for one in self._find_on(item.key, begin):
                row = LeaveStandIn(
                    one.person,
                    one.team,
                    one.shift,
                    begin,
                    end,
                    one.leaves_needs,
                    one.leaves_places,
                    one.leaves_together,
                )
                found.append(row)
        found.sort(key=lambda row: (row.team != self._team_id, row.team, row.person, row.from_date))
        return list(_join(found))

    def _find_on(self, key: ItemKey, day: date) -> Iterable[StandIn]:
        kind, competency, level, applies, place, _, shift = key
        search = self._get_search(day)
        if place is not None:
            people = search.find_for_place(self._snapshot.places[place]).stand_ins
            return [one for one in people if not one.is_same_slot]
        for scope in build_need_scopes(search.presence):
            need = scope.need
            if (need.competency, need.level, need.applies, scope.shift) == (competency, level, applies, shift):
                people = search.find_for_need(scope).stand_ins
                return [one for one in people if not (one.counts_already if kind == "need" else one.is_same_slot)]
        return ()

    def _get_search(self, day: date) -> StandInSearch:
        if day not in self._searches:
            presence = get_presence(self._snapshot, self._team_id, day, (self._person_id,))
            lending = Lending(lambda team: self._get_calendar(team).get_holding(day))
            self._searches[day] = StandInSearch(presence, self._person_id, STAND_INS_TOLD, lending)
        return self._searches[day]

    def _find_turns(self, item: Item) -> list[date]:
        """Return the days after the first on which someone who could stand in, or their team, may change."""
        people = self._find_candidates(item.key)
        teams = {self._team_id}
        for person in people:
            days = [self._first, *(d for d in find_days_of_belonging(self._snapshot, person) if d <= self._last)]
            teams.update(get_person_on(self._snapshot, person, day).team for day in days)
        found = {day for team in teams - {""} for day in self._get_calendar(team).turns}
        found.update(self._find_own_turns(item.key, people))
        return sorted(day for day in found if item.from_date < day <= item.to_date)

    def _find_candidates(self, key: ItemKey) -> list[str]:
        asked = [i for i, _ in self._list_asked(key)]
        ids: set[str] = set()
        for competency in asked:
            ids.update(get_assessed_people(self._snapshot, competency))
        return sorted(ids)

    def _list_asked(self, key: ItemKey) -> list[tuple[str, int]]:
        _, competency, level, _, place, _, _ = key
        if place is None:
            return [(competency or "", level or 0)]
        return [pair for pair in list_unsupervised_levels(self._snapshot, self._snapshot.places[place].role) if pair[1]]

    def _get_calendar(self, team_id: str) -> TeamCalendar:
        if team_id not in self._calendars:
            away = (self._person_id,)
            self._calendars[team_id] = TeamCalendar(self._snapshot, team_id, self._first, self._last, away)
        return self._calendars[team_id]

    def _find_own_turns(self, key: ItemKey, people: list[str]) -> Iterator[date]:
        calendar = self._get_calendar(self._team_id)
        for person_id in people:
            for competency, _ in self._list_asked(key):
                yield from calendar.find_days_of_change(self._snapshot.people[person_id], competency)


def _join(rows: Iterable[LeaveStandIn]) -> Iterator[LeaveStandIn]:
    """Yield rows in order, those of one person on days in a row that say the same as one."""
    kept: LeaveStandIn | None = None
    for row in rows:
        if kept is not None and row.from_date == kept.to_date + _DAY and _get_words(row) == _get_words(kept):
            kept = replace(kept, to_date=row.to_date)
            continue
        if kept is not None:
            yield kept
        kept = row
    if kept is not None:
        yield kept


def _get_words(row: LeaveStandIn) -> tuple[object, ...]:
    return row.person, row.team, row.shift, row.leaves_needs, row.leaves_places, row.leaves_together
