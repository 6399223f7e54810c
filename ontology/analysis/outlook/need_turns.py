"""When who begins and ceases to count for a need where it applies, over all days. Pure.

Worked out once for a Snapshot and asked for any day: each person is looked at on their own days of change alone.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date

from ontology.analysis.cover.coverage import NeedScope
from ontology.analysis.outlook.team_calendar import TeamCalendar
from ontology.analysis.profiles.appointments import is_appointed
from ontology.model.records import CoverNeed, Person
from ontology.snapshot.snapshot import Snapshot

__all__ = ["find_day_of_holding"]


@dataclass(frozen=True, slots=True)
class _Turn:
    """From a day on someone counts, or no longer does."""

    day: date
    person: str
    counts: bool


def find_day_of_holding(
    snapshot: Snapshot, scope: NeedScope, on: date, last: date, away: Collection[str]
) -> date | None:
    """Return the first day after one, up to another, on which a need has its minimum; None where there is none.

    Parameters
    ----------
    scope : NeedScope
        The need where it counts on the day `on`; it has a scope.
    away : collection of str
        People taken as absent on all these days.

    Notes
    -----
    O(days of change of everyone who is ever in it) the first time for a Snapshot, then of those until the day.
    """
    there = set(scope.present)
    turns = [turn for turn in _get_turns(snapshot, scope) if on < turn.day <= last]
    for number, turn in enumerate(turns):
        if turn.counts and turn.person not in away:
            there.add(turn.person)
        else:
            there.discard(turn.person)
        is_end_of_day = number + 1 == len(turns) or turns[number + 1].day != turn.day
        if is_end_of_day and len(there) >= scope.need.minimum:
            return turn.day
    return None


def _get_turns(snapshot: Snapshot, scope: NeedScope) -> tuple[_Turn, ...]:
    """Return the turns of all days, in their order."""
    kept: dict[tuple[CoverNeed, str | None], tuple[_Turn, ...]] = snapshot.keep("turns of needs", dict)
    key = scope.need, scope.shift
    if key not in kept:
        calendar = TeamCalendar(snapshot, scope.need.team, date.min, date.max)
        people = calendar.get_scope(scope.shift)
        turns = (turn for person in people for turn in _iterate_turns(calendar, scope.need, scope.shift, person))
        kept[key] = tuple(sorted(turns, key=lambda turn: (turn.day, turn.person)))
    return kept[key]


def _iterate_turns(calendar: TeamCalendar, need: CoverNeed, shift: str | None, person: Person) -> Iterator[_Turn]:
    counted = False
    for day in (date.min, *calendar.find_days_of_change(person, need.competency)):
        counts = _counts(calendar, need, shift, person, day)
        if counts != counted:
            yield _Turn(day, person.id, counts)
            counted = counts


def _counts(calendar: TeamCalendar, need: CoverNeed, shift: str | None, person: Person, day: date) -> bool:
    """Whether someone counts for a need in a shift on a day, as coverage of that day says it."""
    if calendar.get_rank(person.id, need.competency, day) < need.level:
        return False
    if not calendar.is_member(person, day, shift) or not calendar.is_present(person, day):
        return False
    competency = calendar.snapshot.competencies[need.competency]
    return not competency.appointment or is_appointed(calendar.snapshot, person.id, competency, need.level, day)
