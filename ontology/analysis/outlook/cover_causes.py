"""What happened to whom when the people who count change from one day to the next, in words. Pure.

May import the team's calendar, presence and records.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Annotated, Literal

from ontology.analysis.cover.presence import is_absent
from ontology.analysis.outlook.team_calendar import TeamCalendar
from ontology.analysis.profiles.appointments import is_appointed
from ontology.analysis.profiles.own_levels import LevelOnDate
from ontology.analysis.profiles.seats import get_sessions_attended
from ontology.model.identity import PersonId
from ontology.model.records import Person

__all__ = ["Cause", "CauseKind", "find_causes"]

CauseKind = Literal[
    "joins",
    "leaves",
    "absence-begins",
    "absence-ends",
    "session-begins",
    "session-ends",
    "lapses",
    "assessed",
    "suspended",
    "restored",
    "equivalent",
    "appointed",
    "appointment-ends",
]


@dataclass(frozen=True, slots=True)
class Cause:
    """One thing that happened to one person on the first day of an interval.

    `source` and `assessed_on` tell the assessment that the level in question rests on; None for leave and contracts,
    of which only the days are known.
    """

    person: Annotated[PersonId, "Id of the person."]
    what: Annotated[CauseKind, "What happened."]
    words: Annotated[str, "The same in words that follow the person's name."]
    source: Annotated[str | None, "Who assessed the level in question; null for contracts and absences."]
    assessed_on: Annotated[date | None, "The day of that assessment."]


def find_causes(
    calendar: TeamCalendar, levels: Mapping[str, int], day: date, people: Iterable[str]
) -> tuple[Cause, ...]:
    """Return what changed for each of some people on a day of the calendar, by id.

    Parameters
    ----------
    levels : Mapping of competency id to level
        What it takes to count.
    people : iterable of str
        Ids of those who count, or do not, in another way than on the day before.
    """
    causes: list[Cause] = []
    for person_id in sorted(people):
        person = calendar.snapshot.require_person(person_id)
        causes += _find_causes_of(calendar, levels, day, person)
    return tuple(causes)


def _find_causes_of(calendar: TeamCalendar, levels: Mapping[str, int], day: date, person: Person) -> list[Cause]:
    before = day - timedelta(days=1)
    causes: list[Cause] = []
    was, now = calendar.is_member(person, before), calendar.is_member(person, day)
    if was != now:
        causes.append(_make("joins", person, "joins the team") if now else _make("leaves", person, "has left the team"))
    for competency_id, level in levels.items():
        had = calendar.get_known(person.id, competency_id, before)
        known = calendar.get_known(person.id, competency_id, day)
        if ((had.level or 0) >= level) != ((known.level or 0) >= level):
            causes.append(_describe_level(calendar, person, had, known, day))
        causes += _find_appointment(calendar, person, competency_id, level, day)
    was_away, is_away = (is_absent(calendar.snapshot, person.id, d) for d in (before, day))
    is_supposed = person.id in calendar.away and day >= calendar.first
    if was and now and was_away != is_away and not is_supposed:
        causes.append(_describe_absence(calendar, person, day, is_away=is_away))
    return causes


def _describe_absence(calendar: TeamCalendar, person: Person, day: date, *, is_away: bool) -> Cause:
    """Return that someone is not there any more, or is there again: for an absence or a session."""
    snapshot = calendar.snapshot
    at = day if is_away else day - timedelta(days=1)
    sessions = [s for s in get_sessions_attended(snapshot, person.id) if s.from_date <= at <= s.to_date]
    is_recorded = any(row.from_date <= at <= row.to_date for row in snapshot.get_absences(person.id))
    if sessions and not is_recorded:
        course = snapshot.courses[sessions[0].course].label
        words = f"is in a session of {course}" if is_away else f"is back from a session of {course}"
        return _make("session-begins" if is_away else "session-ends", person, words)
    words = "begins an absence" if is_away else "is back from an absence"
    return _make("absence-begins" if is_away else "absence-ends", person, words)


def _find_appointment(
    calendar: TeamCalendar, person: Person, competency_id: str, level: int, day: date
) -> Iterator[Cause]:
    snapshot, competency = calendar.snapshot, calendar.snapshot.competencies[competency_id]
    was, now = (is_appointed(snapshot, person.id, competency, level, d) for d in (day - timedelta(days=1), day))
    if was != now:
        words = "is appointed" if now else "is no longer appointed"
        yield _make("appointed" if now else "appointment-ends", person, f"{words} for {competency.label}")


def _make(what: CauseKind, person: Person, words: str) -> Cause:
    return Cause(person.id, what, f"{words}.", None, None)


def _describe_level(calendar: TeamCalendar, person: Person, had: LevelOnDate, known: LevelOnDate, day: date) -> Cause:
    label = calendar.snapshot.competencies[known.competency].label
    basis = known.basis if known.basis is not None and known.basis.date == day else None
    if basis is not None:
        words = f"{label} is assessed at level {known.level or 0} ({basis.source})."
        return Cause(person.id, "assessed", words, basis.source, basis.date)
    if known.state == "suspended":
        words = f"{label} is suspended; something it hangs on is not held any more."
        return Cause(person.id, "suspended", words, None, None)
    if had.state == "suspended":
        words = f"{label} counts again at level {known.level or 0}; what it hangs on is held."
        return Cause(person.id, "restored", words, None, None)
    if (known.level or 0) > (had.level or 0):
        other = calendar.snapshot.competencies[known.by_equivalence or known.competency].label
        words = f"{other} counts as {label} at level {known.level or 0}."
        return Cause(person.id, "equivalent", words, known.basis.source if known.basis else None, None)
    lapsed = had.basis
    words = f"{label} lapses; level {had.level or 0} counted until {day - timedelta(days=1)}."
    return Cause(
        person.id, "lapses", words, lapsed.source if lapsed else None, lapsed.date if lapsed is not None else None
    )
