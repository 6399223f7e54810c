"""Rules on people, absences and assessments: dates in order, shifts of the own team, neutral ids."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ontology.checks.rules.base import Problem, Rule, describe
from ontology.model.folding import fold, split_words
from ontology.model.records import Absence, Assessment, Person
from ontology.snapshot.snapshot import Snapshot

_COUNTED: Final = ("certificate", "assessor", "manager")


def _check_neutral_id(snapshot: Snapshot, record: Person) -> Iterator[Problem]:
    id_parts, names = split_words(record.id), split_words(record.name)
    if names and (sorted(id_parts) == sorted(names) or "".join(id_parts) == "".join(names)):
        reason = f"the id {record.id} is the person's name; ids appear in addresses and exports, so use neutral ones"
        yield Problem("id", record.id, reason)


def _check_shift(snapshot: Snapshot, record: Person) -> Iterator[Problem]:
    shift = snapshot.shifts.get(record.shift)
    if shift is not None and shift.team != record.team:
        own = f"of team {record.team}" if record.team else "of no team"
        reason = (
            f"person {record.id} is {own} but in shift {record.shift}, "
            f"which is a shift of team {shift.team}; it must be one of the person's own team"
        )
        yield Problem("shift", record.shift, reason)


def _check_employment(snapshot: Snapshot, record: Person) -> Iterator[Problem]:
    if record.start_date and record.end_date and record.end_date < record.start_date:
        reason = f"person {record.id}: the last day {record.end_date} is before the first, {record.start_date}"
        yield Problem("end_date", str(record.end_date), reason)


def _check_absence(snapshot: Snapshot, record: Absence) -> Iterator[Problem]:
    if record.to_date < record.from_date:
        reason = f"{describe('absences', record)} ends on {record.to_date}, before it begins on {record.from_date}"
        yield Problem("to", str(record.to_date), reason)


def _check_validity(snapshot: Snapshot, record: Assessment) -> Iterator[Problem]:
    if record.valid_until is not None and record.valid_until < record.date:
        reason = f"assessment of {record.person} in {record.competency}: valid until {record.valid_until}"
        yield Problem("valid_until", str(record.valid_until), f"{reason}, before its date {record.date}")


def _check_assessor(snapshot: Snapshot, record: Assessment) -> Iterator[Problem]:
    if record.source == "self" or not record.assessor:
        return
    person = snapshot.people.get(record.person)
    own = {fold(record.person), *([fold(person.name)] if person else [])}
    if fold(record.assessor) in own:
        reason = (
            f"assessment of {record.person} in {record.competency}: the assessor is the person; write the source self, "
            "or who else assessed (the id, where two people share a name)"
        )
        yield Problem("assessor", record.assessor, reason)


def _check_withdrawal(snapshot: Snapshot, record: Assessment) -> Iterator[Problem]:
    if record.withdrawn_on is not None and record.withdrawn_on < record.date:
        reason = f"assessment of {record.person} in {record.competency}: taken back on {record.withdrawn_on}"
        yield Problem("withdrawn_on", str(record.withdrawn_on), f"{reason}, before its date {record.date}")


def _check_source(snapshot: Snapshot, record: Assessment) -> Iterator[Problem]:
    competency = snapshot.competencies.get(record.competency)
    if competency is not None and competency.is_certificate and record.source in ("assessor", "manager"):
        reason = (
            f"assessment of {record.person} in {record.competency}: it is a certificate, for which only "
            f"the source certificate counts, not {record.source}"
        )
        yield Problem("source", record.source, reason)


def _check_same_day(snapshot: Snapshot, record: Assessment) -> Iterator[Problem]:
    if record.source not in _COUNTED:
        return
    for other in snapshot.get_recorded_assessments(record.person, record.competency):
        # told once for a pair, at the higher of the two levels
        if (other.date, other.source) == (record.date, record.source) and other.level < record.level:
            reason = (
                f"assessments of {record.person} in {record.competency} on {record.date} by {record.source} "
                f"say level {other.level} and level {record.level}; the lower one counts"
            )
            yield Problem("level", str(record.level), reason)
            return


RULES: Final = (
    Rule("neutral ids of people", "remark", "people", _check_neutral_id),
    Rule("person within a shift of the team", "error", "people", _check_shift),
    Rule("last day after the first", "error", "people", _check_employment),
    Rule("absence ends after it begins", "error", "absences", _check_absence),
    Rule("validity after the assessment", "error", "assessments", _check_validity),
    Rule("taken back after the assessment", "error", "assessments", _check_withdrawal),
    Rule("assessor is not the person", "error", "assessments", _check_assessor),
    Rule("source of a certificate", "remark", "assessments", _check_source),
    Rule("two levels on one day", "remark", "assessments", _check_same_day),
)
