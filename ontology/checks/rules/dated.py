"""Rules that hang on the present day, which the caller gives: what lies in the future, what the past leaves open."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from typing import Any, Final

from ontology.checks.rules.base import Problem, Rule, describe
from ontology.model.records import Assessment
from ontology.model.work_records import Session
from ontology.snapshot.snapshot import Snapshot

#: Table -> its columns that are days on which something was done, each with the word for it.
_DONE_ON: Final = {
    "assessments": {"date": "dated", "recorded_on": "recorded", "withdrawn_on": "taken back"},
    "duties": {"recorded_on": "recorded"},
    "appointments": {"recorded_on": "recorded"},
    "practices": {"date": "dated", "recorded_on": "recorded"},
    "bookings": {"booked_on": "booked", "recorded_on": "recorded"},
    "orientation_done": {"date": "dated", "recorded_on": "recorded"},
    "requests": {"asked_on": "asked for"},
    "agreed_plans": {"agreed_on": "agreed"},
}
_CONSEQUENCES: Final = {
    ("assessments", "date"): "; an assessment counts from its date on",
    ("assessments", "recorded_on"): "; an assessment counts from its date on",
    ("assessments", "withdrawn_on"): "; it counts nowhere from now on, for no day",
}
#: Tables that a proof rests on, and which say of each row when it was known.
_PROVING: Final = ("duties", "appointments")

#: Tables whose rows still ask for something, and when each does on a day.
_OPEN: Final[dict[str, Callable[[Any, date], bool]]] = {
    "requests": lambda row, today: True,
    "assessors": lambda row, today: (row.from_date or today) <= today <= (row.to_date or today),
    "agreed_plans": lambda row, today: row.ended_on is None or row.ended_on > today,
}

_Check = Callable[[Snapshot, Any], Iterator[Problem]]


def build_dated_rules(today: date) -> tuple[Rule, ...]:
    """Return the rules that hang on the present day, which the caller gives."""
    return (
        *(Rule("date not after today", "remark", name, _make_future_check(name, today)) for name in _DONE_ON),
        *(Rule("recorded when", "remark", name, _make_recorded_check(name, today)) for name in _PROVING),
        Rule("session as its day says", "remark", "sessions", _make_session_check(today)),
        *(Rule("open for someone employed", "remark", name, _make_open_check(name, today)) for name in _OPEN),
    )


def _tell(table_name: str, record: Any) -> str:
    # an assessment's key is long: who was seen in what is enough
    is_assessment = isinstance(record, Assessment)
    return f"assessment of {record.person} in {record.competency}" if is_assessment else describe(table_name, record)


def _make_future_check(table_name: str, today: date) -> _Check:
    def check(snapshot: Snapshot, record: Any) -> Iterator[Problem]:
        for column, word in _DONE_ON[table_name].items():
            day = getattr(record, column)
            if day is not None and day > today:
                reason = f"{_tell(table_name, record)} is {word} {day}, after today ({today}, UTC)"
                yield Problem(column, str(day), reason + _CONSEQUENCES.get((table_name, column), ""))

    return check


def _make_recorded_check(table_name: str, today: date) -> _Check:
    def check(snapshot: Snapshot, record: Any) -> Iterator[Problem]:
        if record.recorded_on is None and record.from_date < today:
            reason = (
                f"{describe(table_name, record)} does not say when it was written down; it is taken as known from "
                f"{record.from_date} on: give recorded_on, so that it can be shown what was known when"
            )
            yield Problem("recorded_on", "", reason)

    return check


def _make_session_check(today: date) -> _Check:
    def check(snapshot: Snapshot, record: Session) -> Iterator[Problem]:
        if record.state in ("planned", "confirmed") and record.to_date < today:
            reason = f"{describe('sessions', record)} ended on {record.to_date} and is still {record.state}"
            yield Problem("state", record.state, f"{reason}; say held or cancelled")
        if record.state == "held" and record.from_date > today:
            reason = f"{describe('sessions', record)} begins on {record.from_date}, after today ({today}, UTC)"
            yield Problem("state", record.state, f"{reason}, and cannot have been held")

    return check


def _make_open_check(table_name: str, today: date) -> _Check:
    def check(snapshot: Snapshot, record: Any) -> Iterator[Problem]:
        person = snapshot.people.get(record.person)
        end = None if person is None else person.end_date
        if end is None or end >= today or not _OPEN[table_name](record, today):
            return
        reason = (
            f"{describe(table_name, record)} is still open, but {record.person} has not been employed since {end}; "
            "it counts for nothing"
        )
        yield Problem("person", record.person, reason)

    return check
