"""Rules on memberships, duties, appointments: days in order, of the team, while employed, of someone who is able."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any, Final

from ontology.checks.rules.base import Problem, Rule, describe
from ontology.model.records import Assessment, Competency
from ontology.model.tables import TABLES
from ontology.model.work_records import Appointment, Duty, Membership
from ontology.snapshot.snapshot import Snapshot

_COUNTED: Final = ("certificate", "assessor", "manager")


def make_order_rule(table_name: str, begin: str = "from_date", end: str = "to_date") -> Rule:
    """Return the rule that what a row is about does not end before it begins; the fields of its two days are given."""
    column = next(c.name for c in TABLES[table_name].columns if c.attribute == end)

    def check(snapshot: Snapshot, record: Any) -> Iterator[Problem]:
        first, last = getattr(record, begin), getattr(record, end)
        if first is not None and last is not None and last < first:
            reason = f"{describe(table_name, record)} ends on {last}, before it begins on {first}"
            yield Problem(column, str(last), reason)

    return Rule("end not before the beginning", "error", table_name, check)


def tell_unemployed(snapshot: Snapshot, person_id: str, first: date, last: date | None) -> str:
    """Return that someone is not employed on all of some days, and when they are; "" where they may be."""
    person = snapshot.people.get(person_id)
    if person is None:
        return ""
    if person.start_date is not None and first < person.start_date:
        return f"{person_id} is employed from {person.start_date} on"
    if person.end_date is not None and (first if last is None else last) > person.end_date:
        return f"{person_id} is employed until {person.end_date}"
    return ""


def _make_employment_rule(name: str, table_name: str) -> Rule:
    def check(snapshot: Snapshot, record: Any) -> Iterator[Problem]:
        told = tell_unemployed(snapshot, record.person, record.from_date, record.to_date)
        if told:
            column = "to" if "until" in told and record.to_date is not None else "from"
            value = record.to_date if column == "to" else record.from_date
            reason = f"{describe(table_name, record)}: {told}; days outside the employment count for nothing"
            yield Problem(column, str(value), reason)

    return Rule(name, "remark", table_name, check)


def _find_overlaps(snapshot: Snapshot, person_id: str) -> dict[date, Membership]:
    """Return first day -> of those that begin before and still hold that day, the one that ends last. O(n log n)."""
    overlaps: dict[date, Membership] = {}
    longest: Membership | None = None
    rows = [row for row in snapshot.get_memberships(person_id) if _get_end(row) >= row.from_date]
    for row in sorted(rows, key=lambda row: row.from_date):
        if longest is not None and _get_end(longest) >= row.from_date:
            overlaps[row.from_date] = longest
        if longest is None or _get_end(row) > _get_end(longest):
            longest = row
    return overlaps


def _get_end(row: Membership) -> date:
    return row.to_date or date.max


def _check_shared_day(snapshot: Snapshot, record: Membership) -> Iterator[Problem]:
    person_id = record.person
    overlaps = snapshot.keep(("overlapping memberships", person_id), lambda: _find_overlaps(snapshot, person_id))
    other = overlaps.get(record.from_date)
    if other is not None:
        ends = "has no end" if other.to_date is None else f"ends on {other.to_date}"
        reason = (
            f"{describe('memberships', record)} begins while that of {other.from_date} in team {other.team} still "
            f"holds, which {ends}; on a day a person belongs to one team: let the other end the day before"
        )
        yield Problem("from", str(record.from_date), reason)


def _check_shift(snapshot: Snapshot, record: Membership) -> Iterator[Problem]:
    shift = snapshot.shifts.get(record.shift)
    if shift is not None and shift.team != record.team:
        reason = (
            f"{describe('memberships', record)} in team {record.team} is in shift {record.shift}, "
            f"which is a shift of team {shift.team}; it must be one of the membership's team"
        )
        yield Problem("shift", record.shift, reason)


def _check_supervisor(snapshot: Snapshot, record: Duty) -> Iterator[Problem]:
    if record.supervised_by and record.supervised_by == record.person:
        reason = f"{describe('duties', record)}: nobody watches over themselves; name another person or none"
        yield Problem("supervised_by", record.supervised_by, reason)


def _check_asked(snapshot: Snapshot, record: Appointment) -> Iterator[Problem]:
    competency = snapshot.competencies.get(record.competency)
    if competency is not None and not competency.appointment:
        reason = (
            f"{describe('appointments', record)}: {record.competency} asks for no appointment, so nothing hangs on "
            "it; set appointment of the competency to yes, or leave the row out"
        )
        yield Problem("competency", record.competency, reason)


def _check_able(snapshot: Snapshot, record: Appointment) -> Iterator[Problem]:
    level = record.level or 1
    if record.competency in snapshot.competencies and not _has_level(snapshot, record, level):
        reason = (
            f"{describe('appointments', record)}: no assessment of {record.person} that is valid on {record.from_date} "
            f"gives level {level} of {record.competency}; whoever is appointed should hold it from the first day"
        )
        yield Problem("level", "" if record.level is None else str(record.level), reason)


def _has_level(snapshot: Snapshot, record: Appointment, level: int) -> bool:
    """Whether some assessment gives the level on the first day, by itself or by what counts as it."""
    day = record.from_date
    ways = [(record.competency, level)]
    for row in snapshot.get_equivalences_to(record.competency):
        is_in_force = (row.from_date or date.min) <= day <= (row.to_date or date.max)
        if is_in_force and row.as_level >= level and row.competency in snapshot.competencies:
            ways.append((row.competency, row.level))
    return any(
        _gives(assessment, snapshot.competencies[competency_id], least, day)
        for competency_id, least in ways
        for assessment in snapshot.get_assessments(record.person, competency_id)
    )


def _gives(assessment: Assessment, competency: Competency, level: int, day: date) -> bool:
    counted = _COUNTED[:1] if competency.is_certificate else _COUNTED
    is_valid = assessment.valid_until is None or assessment.valid_until >= day or competency.expiry == "review"
    is_standing = assessment.withdrawn_on is None and assessment.date <= day
    return is_valid and is_standing and assessment.source in counted and assessment.level >= level


RULES: Final = (
    *(make_order_rule(name) for name in ("memberships", "duties", "appointments")),
    Rule("one membership on a day", "error", "memberships", _check_shared_day),
    Rule("membership within a shift of the team", "error", "memberships", _check_shift),
    Rule("nobody watches over themselves", "error", "duties", _check_supervisor),
    _make_employment_rule("membership while employed", "memberships"),
    _make_employment_rule("duty while employed", "duties"),
    _make_employment_rule("appointment while employed", "appointments"),
    Rule("appointment that is not asked for", "remark", "appointments", _check_asked),
    Rule("appointment without the level", "remark", "appointments", _check_able),
)
