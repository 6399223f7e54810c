"""Who stood at a place on a day, and what was known of what they had to hold: for an inspector. Pure.

Each thing asked is judged twice: by what was known on a day, and by what is known now.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Annotated, Final, Literal

from ontology.analysis.cover.presence import is_absent
from ontology.analysis.obligations.known_then import build_known_then, get_recorded_on, list_records
from ontology.analysis.obligations.met import leave_out_later
from ontology.analysis.obligations.must_hold import find_must_hold
from ontology.analysis.obligations.rows import find_basis
from ontology.analysis.obligations.spans import find_span
from ontology.analysis.profiles.appointments import is_appointed
from ontology.analysis.profiles.levels import find_ways, get_level
from ontology.analysis.profiles.own_levels import LevelOnDate
from ontology.errors import InputError, UnknownIdError
from ontology.model.identity import PersonId
from ontology.model.records import Assessment
from ontology.model.work_records import Duty
from ontology.plurals import format_count
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Proof", "ProofPerson", "ProofRow", "Verdict", "find_proof"]

Kind = Literal["requirement", "obligation"]
Verdict = Literal["valid", "recorded-later", "withdrawn-since", "not-valid"]

_ASKED: Final = ("blocking", "essential")


@dataclass(frozen=True, slots=True)
class ProofRow:
    """Something that had to be held, and what it rests on."""

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level asked."]
    kind: Annotated[Kind, "requirement: by the role of the place; obligation: by an obligation."]
    verdict: Annotated[
        Verdict,
        "valid: then and now; recorded-later: by what was recorded since; withdrawn-since: then, but taken back since; "
        "not-valid: neither.",
    ]
    source: Annotated[str | None, "Who assessed what it rests on; null: nothing."]
    assessed_on: Annotated[dt.date | None, "The day it was assessed."]
    valid_until: Annotated[dt.date | None, "The last day that assessment counts; null: no end, or none."]
    recorded_on: Annotated[dt.date | None, "The day it was written down; where none is entered, the day of assessment."]
    evidence: Annotated[str | None, "Where it can be seen."]


@dataclass(frozen=True, slots=True)
class ProofPerson:
    """Someone with a duty at the place that day."""

    person: Annotated[PersonId, "Id of the person."]
    supervised_by: Annotated[PersonId | None, "Id of the person who watched over them: then entry levels are asked."]
    is_absent: Annotated[bool, "Whether an absence is recorded for the day."]
    rows: Annotated[tuple[ProofRow, ...], "What had to be held: requirements, then obligations, by competency."]


@dataclass(frozen=True, slots=True)
class Proof:
    """Who stood at a place on a day, and what was known of what they had to hold."""

    place: Annotated[str, "Id of the place."]
    day: Annotated[dt.date, "The day that is proved."]
    known_on: Annotated[dt.date, "Judged first by what was recorded by this day and not taken back by then."]
    on: Annotated[dt.date, "Judged again by what is known on this day."]
    people: Annotated[tuple[ProofPerson, ...], "Who had a duty there that day, by id."]
    remarks: Annotated[tuple[str, ...], "What else should be known."]


def find_proof(
    snapshot: Snapshot, place_id: str, *, on: dt.date, day: dt.date, known_on: dt.date | None = None
) -> Proof:
    """Return who stood at a place on a day, and what was known of what they had to hold.

    Parameters
    ----------
    on : date
        Today.
    day : date
        That is proved.
    known_on : date or None
        By which day something must have been known; None: `day`, or `on` where that is earlier.

    Raises
    ------
    UnknownIdError
        There is no such place.
    InputError
        `known_on` lies after `on`.

    Notes
    -----
    O(people at the place x what is asked of them).
    """
    if place_id not in snapshot.places:
        raise UnknownIdError("places", place_id)
    known_on = min(day, on) if known_on is None else known_on
    if known_on > on:
        raise InputError(f"known_on must not be after {on}.", parameter="known_on", value=str(known_on))
    duties = _find_duties(snapshot, place_id, day)
    now = leave_out_later(snapshot, on, duties)
    then = build_known_then(now, duties, known_on)
    people = tuple([_prove_person(now, then, place_id, duties[i], day) for i in sorted(duties)])
    return Proof(place_id, day, known_on, on, people, _tell_undated(now, people))


def _find_duties(snapshot: Snapshot, place_id: str, day: dt.date) -> dict[str, Duty]:
    """Return who has a duty at a place on a day; of several, one without anybody to watch over them."""
    found: dict[str, Duty] = {}
    for duty in snapshot.get_duties_at_place(place_id):
        if duty.from_date <= day <= duty.to_date:
            other = found.get(duty.person)
            if other is None or (other.supervised_by and not duty.supervised_by):
                found[duty.person] = duty
    return found


def _prove_person(now: Snapshot, then: Snapshot, place_id: str, duty: Duty, day: dt.date) -> ProofPerson:
    rows = (
        *_iterate_requirements(now, then, place_id, duty, day),
        *_iterate_obligations(now, then, duty.person, day),
    )
    return ProofPerson(duty.person, duty.supervised_by or None, is_absent(now, duty.person, day), rows)


def _iterate_requirements(now: Snapshot, then: Snapshot, place_id: str, duty: Duty, day: dt.date) -> Iterator[ProofRow]:
    """Yield what the role of the place asks, by level: at entry level of who is watched over."""
    for row in now.get_requirements(now.places[place_id].role):
        level = row.entry_level if duty.supervised_by else row.unsupervised_level
        if row.necessity not in _ASKED or not level:
            continue
        competency = now.competencies[row.competency]
        judged = []
        for state in (then, now):
            held = get_level(state, duty.person, competency, day)
            is_held = (held.level or 0) >= level and is_appointed(state, duty.person, competency, level, day)
            judged.append((is_held, held))
        yield _build_row(competency.id, level, "requirement", *judged)


def _iterate_obligations(now: Snapshot, then: Snapshot, person_id: str, day: dt.date) -> Iterator[ProofRow]:
    """Yield what obligations ask that day, by what is met."""
    for (competency_id, level), must in sorted(find_must_hold(now, person_id).items(), key=lambda entry: entry[0]):
        if find_span(must.days, day.toordinal()) is None:
            continue
        competency = now.competencies[competency_id]
        judged = []
        for state in (then, now):
            ways = find_ways(state, person_id, competency, day)
            judged.append((ways.is_met(level), find_basis(ways, level)))
        yield _build_row(competency_id, level, "obligation", *judged)


def _build_row(
    competency_id: str, level: int, kind: Kind, then: tuple[bool, LevelOnDate], now: tuple[bool, LevelOnDate]
) -> ProofRow:
    verdict: Verdict
    if then[0]:
        verdict, basis = "valid" if now[0] else "withdrawn-since", then[1].basis
    else:
        verdict, basis = "recorded-later" if now[0] else "not-valid", now[1].basis
    if basis is None:
        return ProofRow(competency_id, level, kind, verdict, None, None, None, None, None)
    recorded_on = get_recorded_on(basis)
    evidence = basis.evidence or None
    return ProofRow(
        competency_id, level, kind, verdict, basis.source, basis.date, basis.valid_until, recorded_on, evidence
    )


def _tell_undated(snapshot: Snapshot, people: Iterable[ProofPerson]) -> tuple[str, ...]:
    """Return the remark on records that do not say when they were written down."""
    asked = {person.person: {row.competency for row in person.rows} for person in people}
    undated = [
        row
        for person_id, competencies in asked.items()
        for row in list_records(snapshot, person_id)
        if row.competency in competencies and row.recorded_on is None
    ]
    if not undated:
        return ()
    assessments = sum(isinstance(row, Assessment) for row in undated)
    told = format_count(
        len(undated),
        "record names no day on which it was written down",
        "records name no day on which they were written down",
    )
    day = "day of assessment" if assessments == len(undated) else "day of assessment, or first day of appointment,"
    return (f"{told}: the {day} is taken.",)
