"""Who stood at a place on a day, and what was known of what they had to hold: a sheet for an inspector."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.names import Names, count
from api.desk.parameters import param
from api.desk.question import PLACE, Question, Subject, by_names
from api.desk.sheet import Fact, Note, Sheet, State, Table
from api.errors import ParameterError, WrongParameter
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay
from ontology.analysis.obligations.proof import Proof, ProofPerson, ProofRow, find_proof
from ontology.snapshot.snapshot import Snapshot

_VERDICTS: Final = {
    "valid": ("valid", "known then, and so now"),
    "recorded-later": ("recorded later", "not known then; so by what was recorded since"),
    "withdrawn-since": ("withdrawn since", "known then; taken back since"),
    "not-valid": ("not valid", "neither then nor now"),
}


@dataclass(frozen=True, kw_only=True)
class AskProof(AskOnDay):
    """Of which day, and known by which."""

    day: dt.date = param("The day that is proved.")
    known_on: dt.date | None = param(
        "By which day it must have been known (default: `day`, or `on` where that is earlier).", default=None
    )

    def check(self, snapshot: Snapshot) -> None:
        """Raise ParameterError where what was known is asked of a day that is still to come."""
        if self.known_on is not None and self.known_on > self.on:
            raise ParameterError(WrongParameter("known_on", str(self.known_on), f"must not be after `on`, {self.on}"))


def show(result: Proof, subject: Subject, asked: AskProof, names: Names) -> Sheet:
    """Return a table for each person, and a line to sign."""
    people = result.people
    signature = Note("Seen by (name, date, signature): ________________________________________")
    return Sheet(
        title=f"Proof of {names.place(result.place)}, {result.day}",
        lead=_tell(result),
        facts=(
            Fact("Day", result.day),
            Fact("Known by", result.known_on),
            Fact("Looked at again on", result.on),
            Fact("People", len(people)),
        ),
        parts=(*(_build_table(person, names) for person in people), *((signature,) if people else ())),
    )


def _build_table(person: ProofPerson, names: Names) -> Table:
    watched = f", supervised by {names.person(person.supervised_by)}" if person.supervised_by else ""
    away = ", recorded as absent that day" if person.is_absent else ""
    return build_table(
        f"{names.person(person.person)} ({person.person}){watched}{away}",
        person.rows,
        (
            words("competency", lambda row: names.ref("competencies", row.competency)),
            number("level", lambda row: row.level),
            words("asked by", lambda row: "role" if row.kind == "requirement" else "obligation"),
            words("verdict", lambda row: State(row.verdict, *_VERDICTS[row.verdict])),
            words("rests on", _tell_basis),
            words("valid until", lambda row: row.valid_until),
            words("recorded on", lambda row: row.recorded_on),
            words("evidence", lambda row: row.evidence or "–"),
        ),
        "Neither the role of the place nor an obligation asks anything.",
    )


def _tell_basis(row: ProofRow) -> str:
    return "–" if row.source is None else f"{row.source} of {row.assessed_on}"


def _tell(result: Proof) -> str:
    people = count(len(result.people), "person", "people")
    if not result.people:
        return f"Nobody has a duty there on {result.day}."
    rows = [row for person in result.people for row in person.rows]
    counts = {verdict: sum(row.verdict == verdict for row in rows) for verdict in _VERDICTS}
    if counts["valid"] == len(rows):
        return f"{people} had a duty there; all that was asked was held and known by {result.known_on}."
    told = ", ".join(f"{number} {_VERDICTS[verdict][0]}" for verdict, number in counts.items() if number)
    return f"{people} had a duty there; of {count(len(rows), 'thing')} asked: {told}."


QUESTION = Question(
    asks={PLACE: AskProof},
    answers=Proof,
    compute=by_names(find_proof),
    cautions=(cautions.RECORDS, cautions.NOT_CLEARED, cautions.OWN_LIST, cautions.NO_AUTHORISATION),
    needs=Kind.TEAM_ANSWERS,
    show=show,
    no_figures="It names who stood at one place, so it is told to those who lead the team, or state a purpose for it.",
)
