"""What a person must hold on some day of the year to come, and what to do: a row for each competency and level."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Annotated, Final

from ontology.analysis.obligations.bound import Key
from ontology.analysis.obligations.due import STATES, Due, DueState, find_due
from ontology.analysis.obligations.first_act import Act, FirstAct, find_first_act
from ontology.analysis.obligations.last_day_to_act import LastDay, find_last_day
from ontology.analysis.obligations.met import Evidence
from ontology.analysis.obligations.must_hold import MustHold, find_must_hold
from ontology.analysis.obligations.reasons import tell_reason
from ontology.analysis.obligations.spans import Spans, has_day, make_span, merge
from ontology.analysis.profiles.appointments import is_appointed
from ontology.analysis.profiles.belonging import get_person_on
from ontology.analysis.profiles.levels import Ways, find_ways
from ontology.analysis.profiles.own_levels import LevelOnDate
from ontology.model.identity import PersonId, TellsOf
from ontology.model.records import Person
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "AHEAD_DAYS",
    "Counts",
    "ObligationRow",
    "build_rows",
    "count_states",
    "find_absent",
    "find_act",
    "find_basis",
    "get_home_on",
    "judge",
    "sort_rows",
]

#: A row stands where something must be held on the day asked about or on one of so many after it.
AHEAD_DAYS: Final = 365


@dataclass(frozen=True, slots=True)
class ObligationRow:
    """A competency and level that a person must hold, and how it stands."""

    person: Annotated[PersonId, "Id of the person."]
    team: Annotated[str | None, "The team they belong to on the day, or on their first one; null: none."]
    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level that must be held."]
    obligations: Annotated[tuple[str, ...], "Ids of the obligations that ask for it within the year, by id."]
    legal_basis: Annotated[tuple[str, ...], "What these rest on, each once."]
    state: Annotated[DueState, "How it stands: overdue, due within so many days, current, or later."]
    due: Annotated[
        dt.date | None,
        "The last valid day, or the first on which it is needed; null: none, or before all that is known.",
    ]
    days_left: Annotated[int | None, "Days until then; below 0: days past."]
    is_met: Annotated[bool, "Whether it is held and valid on the day asked about; a review that is due is not."]
    first_act: Annotated[Act | None, "What to do first; null where nothing is due."]
    course: Annotated[str | None, "Id of the course to renew or learn by."]
    last_day_to_act: Annotated[dt.date | None, "The last day to begin or to book; null: none, or booked already."]
    is_late: Annotated[bool, "Whether it can no longer be held by the due day."]
    session: Annotated[str | None, "Id of the session to book."]
    booked_session: Annotated[str | None, "Id of the session of the course that they are booked into."]
    source: Annotated[str | None, "Who assessed what counts."]
    assessed_on: Annotated[dt.date | None, "The day it was assessed."]
    valid_until: Annotated[dt.date | None, "The last day that assessment counts; null: no end, or none."]
    is_appointed: Annotated[bool | None, "Whether an appointment is in force; null where none is asked."]
    reason: Annotated[str, "What is missing, since when, and what to do."]


@dataclass(frozen=True, slots=True)
class Counts:
    """How many rows stand so."""

    overdue: Annotated[int, TellsOf(), "Due before the day asked about."]
    within_30: Annotated[int, TellsOf(), "Due within 30 days."]
    within_60: Annotated[int, TellsOf(), "Due within 60 days, not within 30."]
    within_90: Annotated[int, TellsOf(), "Due within 90 days, not within 60."]
    current: Annotated[int, TellsOf(), "Met, and not due within 90 days."]
    later: Annotated[int, TellsOf(), "Not met yet, and not due within 90 days."]


def count_states(states: Iterable[DueState]) -> Counts:
    """Return how many there are of each state."""
    counts = dict.fromkeys(STATES, 0)
    for state in states:
        counts[state] += 1
    return Counts(*counts.values())


def judge(
    known: Snapshot, person_id: str, asked: Iterable[tuple[Key, Spans]], on: dt.date
) -> Iterator[tuple[Key, Due]]:
    """Yield how that stands on a day of what is asked of a person which must be held on a day of the year to come.

    O(what is asked of them x what they have).
    """
    first = on.toordinal()
    last = first + AHEAD_DAYS
    absent = find_absent(known, person_id)
    evidence = Evidence(known, person_id)
    for key, days in asked:
        if has_day(days, first, last):
            yield key, find_due(days, evidence.find_met(*key), absent, first)


def find_absent(snapshot: Snapshot, person_id: str) -> Spans:
    """Return the days on which a person is away."""
    return merge(make_span(row.from_date, row.to_date) for row in snapshot.get_absences(person_id))


def get_home_on(snapshot: Snapshot, person: Person, on: dt.date) -> str:
    """Return the team someone belongs to on a day, or on their first one where that is later; "" for none."""
    return get_person_on(snapshot, person.id, max(on, person.start_date or on)).team


def build_rows(known: Snapshot, person_id: str, on: dt.date) -> list[ObligationRow]:
    """Return the rows of a person; `known` is with what was assessed up to `on` alone, see `leave_out_later`."""
    team = get_home_on(known, known.people[person_id], on) or None
    must = find_must_hold(known, person_id)
    standing = judge(known, person_id, ((key, row.days) for key, row in must.items()), on)
    return [_build_row(known, person_id, team, key, must[key], due, on) for key, due in standing]


def sort_rows(rows: Iterable[ObligationRow]) -> list[ObligationRow]:
    """Return rows by state, due (none: first among what is overdue, last among what is current), person, competency."""
    order = {state: i for i, state in enumerate(STATES)}

    def rank(row: ObligationRow) -> tuple[object, ...]:
        nothing = dt.date.min if row.state == "overdue" else dt.date.max
        return order[row.state], row.due or nothing, row.person, row.competency, row.level

    return sorted(rows, key=rank)


def _build_row(
    known: Snapshot, person_id: str, team: str | None, key: Key, must: MustHold, due: Due, on: dt.date
) -> ObligationRow:
    competency, level = known.competencies[key[0]], key[1]
    asking = must.get_obligations(on.toordinal(), on.toordinal() + AHEAD_DAYS)
    held = find_basis(find_ways(known, person_id, competency, on), level)
    day, first, last = find_act(known, person_id, key, due, on)
    basis = held.basis
    return ObligationRow(
        person=person_id,
        team=team,
        competency=competency.id,
        level=level,
        obligations=tuple([row.id for row in asking]),
        legal_basis=tuple(dict.fromkeys(row.legal_basis for row in asking if row.legal_basis)),
        state=due.state,
        due=day,
        days_left=None if day is None else (day - on).days,
        is_met=due.is_met,
        first_act=first.act if first else None,
        course=first.course.id if first and first.course else None,
        last_day_to_act=last.day,
        is_late=last.is_late,
        session=last.session,
        booked_session=last.booked_session,
        source=basis.source if basis else None,
        assessed_on=basis.date if basis else None,
        valid_until=basis.valid_until if basis else None,
        is_appointed=is_appointed(known, person_id, competency, level, on) if competency.appointment else None,
        reason=tell_reason(known, person_id, competency, level, due, first, held),
    )


def find_act(
    known: Snapshot, person_id: str, key: Key, due: Due, on: dt.date
) -> tuple[dt.date | None, FirstAct | None, LastDay]:
    """Return the due day of something that must be held, what to do first about it, and the last day to act.

    O(courses that reach the level + sessions of the one chosen).
    """
    day = None if due.day is None else dt.date.fromordinal(due.day)
    if due.first_bad is None:
        return day, None, LastDay(None, is_late=False)
    bad_day = dt.date.fromordinal(max(due.first_bad, on.toordinal()))
    first = find_first_act(known, person_id, known.competencies[key[0]], key[1], on, bad_day)
    return day, first, find_last_day(known, person_id, first, day, on)


def find_basis(ways: Ways, level: int) -> LevelOnDate:
    """Return what a level rests on: of all that meets it the highest, else what is known of it at all."""
    if ways.is_met(level):
        return max((way for way in ways.found if way.state == "ok"), key=lambda way: way.level or 0)
    return ways.pick()
