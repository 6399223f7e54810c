"""What is recorded when the results of a session are entered for the whole class: seats and levels. Pure.

Entering the same twice changes nothing. What is corrected is taken back and written anew, never edited.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Annotated, Any, Final

from ontology.analysis.paths.renewing import can_use_outcome
from ontology.analysis.profiles.levels import find_ways
from ontology.analysis.profiles.own_levels import get_own_levels
from ontology.model.folding import fold
from ontology.model.records import Assessment, Outcome
from ontology.model.validity import fill_valid_until
from ontology.model.work_records import Session
from ontology.snapshot.names import is_name_of
from ontology.snapshot.snapshot import Snapshot

__all__ = ["EnteredResults", "ResultFault", "SessionResult", "SessionResults", "enter_results", "get_results"]

#: States of a booking that a result can be entered for: whoever has, or had, a seat.
_WITH_A_SEAT: Final = ("booked", "attended", "missed")
_ATTENDED: Final[dict[str, bool | None]] = {"booked": None, "attended": True, "missed": False}


@dataclass(frozen=True, slots=True)
class SessionResult:
    """What came of a session for one person."""

    person: Annotated[str, "Id of a person with a seat in the session."]
    attended: Annotated[bool | None, "Whether they were there; null: not entered yet."]
    passed: Annotated[bool | None, "Whether an outcome of the course is recorded on its last day; null: not yet."]


@dataclass(frozen=True, slots=True)
class SessionResults:
    """What came of a session."""

    session: Annotated[str, "Id of the session."]
    rows: Annotated[tuple[SessionResult, ...], "Everyone with a seat, by person."]


@dataclass(frozen=True, slots=True)
class ResultFault:
    """What is wrong with results that are entered: `row` counts from 0, None is the session itself."""

    row: int | None
    member: str
    value: Any
    reason: str


@dataclass(frozen=True, slots=True)
class EnteredResults:
    """Records to put, each with its table, and what is otherwise than one expects; only faults where there are any."""

    put: tuple[tuple[str, Any], ...] = ()
    remarks: tuple[str, ...] = ()
    faults: tuple[ResultFault, ...] = ()


def get_results(snapshot: Snapshot, session: Session) -> SessionResults:
    """Return what is recorded of a session. O(seats x outcomes of the course)."""
    return SessionResults(session.id, tuple(_iterate_results(snapshot, session)))


def _iterate_results(snapshot: Snapshot, session: Session) -> Iterator[SessionResult]:
    outcomes = snapshot.get_outcomes(session.course)
    for booking in snapshot.get_bookings_of_session(session.id):
        if booking.state in _WITH_A_SEAT:
            attended = _ATTENDED[booking.state]
            known = snapshot.get_assessments(booking.person) if attended else ()
            passed = any(_says(snapshot, session, row, outcome) for row in known for outcome in outcomes)
            yield SessionResult(booking.person, attended, None if attended is None else passed)


def enter_results(
    snapshot: Snapshot, session: Session, rows: Sequence[SessionResult], *, entered_by: str, today: date
) -> EnteredResults:
    """Return what is to be recorded so that a session came out as told.

    Bookings become attended or missed and the session held. Who passed has the outcomes of the course from its last
    day on: certificates by certificate, all else assessed by who enters it. An outcome that only renews needs a level
    that was held, or lost lately, on the first day; one below what is held already is not written, for it would take
    the higher level away. Results told otherwise before are taken back. Who is not told of stays as they are.

    Parameters
    ----------
    rows : sequence of SessionResult
        `attended` and `passed` are told of each.
    entered_by : str
        Id or name of who enters them.
    today : date
        The day it is written down.

    Notes
    -----
    O(rows x outcomes x assessments of a pair).
    """
    faults = [*_find_faults_of_session(session, rows, today), *_find_faults(snapshot, session, rows, entered_by)]
    put: list[tuple[str, Any]] = [] if session.state == "held" else [("sessions", replace(session, state="held"))]
    remarks: list[str] = []
    bookings = {row.person: row for row in snapshot.get_bookings_of_session(session.id)}
    for place, row in enumerate(() if faults else rows):
        state = "attended" if row.attended else "missed"
        if bookings[row.person].state != state:
            put.append(("bookings", replace(bookings[row.person], state=state, recorded_on=today)))
        entry = _Entry(snapshot, session, row.person, entered_by, today, remarks)
        if row.attended and any(wish.course == session.course for wish in snapshot.get_requests(row.person)):
            remarks.append(f"{row.person}: their request for {session.course} still stands; remove it if this was it.")
        try:
            put += [("assessments", assessment) for assessment in entry.assess(is_passed=bool(row.passed))]
        except OverflowError:
            reason = "date and validity lead past the year 9999"
            faults.append(ResultFault(place, "passed", row.passed, reason))
    if faults:
        return EnteredResults(faults=tuple(faults))
    told = {row.person for row in rows}
    left = [i for i, row in sorted(bookings.items()) if row.state == "booked" and i not in told]
    if left:
        remarks.append(f"No result is told of {', '.join(left)}: their bookings stay as they are.")
    return EnteredResults(tuple(put), tuple(remarks))


def _find_faults_of_session(session: Session, rows: Sequence[SessionResult], today: date) -> Iterator[ResultFault]:
    if session.state == "cancelled":
        yield ResultFault(None, "session", session.id, "was cancelled: there is nothing to enter")
    elif session.to_date > today:
        yield ResultFault(None, "session", session.id, f"is not over: its last day is {session.to_date}")
    if not rows:
        yield ResultFault(None, "rows", None, "must tell of at least one person")


def _find_faults(
    snapshot: Snapshot, session: Session, rows: Iterable[SessionResult], entered_by: str
) -> Iterator[ResultFault]:
    states = {row.person: row.state for row in snapshot.get_bookings_of_session(session.id)}
    outcomes = snapshot.get_outcomes(session.course)
    is_assessed = any(not snapshot.competencies[row.competency].is_certificate for row in outcomes)
    first: dict[str, int] = {}
    for place, row in enumerate(rows):
        if row.person not in snapshot.people:
            yield ResultFault(place, "person", row.person, "must be the id of a person: there is none in people")
        elif states.get(row.person) not in _WITH_A_SEAT:
            state = f": the booking is {states[row.person]}" if row.person in states else ""
            yield ResultFault(place, "person", row.person, f"has no seat in session {session.id}{state}")
        elif row.person in first:
            yield ResultFault(place, "person", row.person, f"is told of twice: also in row {first[row.person] + 1}")
        if row.passed and not row.attended:
            yield ResultFault(place, "passed", True, "must be no for who did not attend")
        elif row.passed and is_assessed and _is_same(snapshot, row.person, entered_by):
            yield ResultFault(place, "person", row.person, "enters these results: nobody assesses themselves")
        first.setdefault(row.person, place)


def _is_same(snapshot: Snapshot, person_id: str, entered_by: str) -> bool:
    person = snapshot.people.get(person_id)
    return is_name_of(person, entered_by) if person else fold(entered_by) == fold(person_id)


def _get_source(snapshot: Snapshot, outcome: Outcome) -> str:
    return "certificate" if snapshot.competencies[outcome.competency].is_certificate else "assessor"


def _says(snapshot: Snapshot, session: Session, row: Assessment, outcome: Outcome) -> bool:
    """Whether an assessment says that someone reached an outcome on a session's last day, whoever wrote it."""
    wanted = (outcome.competency, outcome.level, session.to_date, _get_source(snapshot, outcome), None)
    return (row.competency, row.level, row.date, row.source, row.withdrawn_on) == wanted


@dataclass(frozen=True, slots=True)
class _Entry:
    """One person's result being entered; remarks are added to the list given."""

    snapshot: Snapshot
    session: Session
    person_id: str
    entered_by: str
    today: date
    remarks: list[str]

    @property
    def evidence(self) -> str:
        """Where it can be seen, by which what was entered of this session is known again."""
        return f"session {self.session.id}"

    def assess(self, *, is_passed: bool) -> Iterator[Assessment]:
        """Yield the assessments to write: those taken back first, then the new ones.

        Raises
        ------
        OverflowError
            One would count until after the year 9999.
        """
        outcomes = self.snapshot.get_outcomes(self.session.course)
        gone = set()
        said: dict[Outcome, Assessment] = {}
        for row in self.snapshot.get_assessments(self.person_id):
            outcome = next((o for o in outcomes if _says(self.snapshot, self.session, row, o)), None)
            if row.evidence == self.evidence and row.withdrawn_on is None and not (is_passed and outcome):
                gone.add(row)
                yield replace(self.snapshot.get_recorded_of(row) or row, withdrawn_on=self.today)
            elif outcome:
                said[outcome] = row
        if is_passed:
            new = [outcome for outcome in outcomes if outcome not in said and self._can_write(outcome)]
            yield from (self._build(outcome, gone) for outcome in new)
        for row in () if is_passed else said.values():
            self._remark(f"{row.competency} at level {row.level} is recorded otherwise on {row.date}, and stays")

    def _can_write(self, outcome: Outcome) -> bool:
        competency = self.snapshot.competencies[outcome.competency]
        what = f"{outcome.competency} at level {outcome.level}"
        first, last = self.session.from_date, self.session.to_date
        known = find_ways(self.snapshot, self.person_id, competency, first).pick(is_forced=True)
        if not can_use_outcome(outcome, known):
            self._remark(f"{what} is only renewed by this course, and was not held on {first}; it is not recorded")
            return False
        (held,) = get_own_levels(self.snapshot, self.person_id, (competency,), last)
        if not competency.is_certificate and (held.level or 0) > outcome.level:
            self._remark(f"{what} is not recorded, for level {held.level} is held already")
            return False
        return True

    def _build(self, outcome: Outcome, gone: Container[Assessment]) -> Assessment:
        source = _get_source(self.snapshot, outcome)
        assessment = Assessment(
            person=self.person_id,
            competency=outcome.competency,
            level=outcome.level,
            date=self.session.to_date,
            source=source,
            valid_until=None,
            assessor="" if source == "certificate" else self.entered_by,
            recorded_on=self.today,
            evidence=self.evidence,
            withdrawn_on=None,
        )
        known = [row for row in self.snapshot.get_assessments(self.person_id, outcome.competency) if row not in gone]
        return fill_valid_until(assessment, self.snapshot.competencies[outcome.competency], known)

    def _remark(self, what: str) -> None:
        self.remarks.append(f"{self.person_id}: {what}.")
