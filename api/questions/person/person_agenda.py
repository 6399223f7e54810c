"""Everything dated of a person in the days to come: what must be held, sessions, first weeks, appointments."""

from __future__ import annotations

from dataclasses import dataclass

from api.access.rights import Kind
from api.desk.names import Names
from api.desk.parameters import param
from api.desk.question import PERSON, Question, Subject, by_names
from api.desk.sheet import Next, Sheet
from api.questions import _cautions as cautions
from api.questions._agenda import CALENDAR, build_agenda_table, tell_agenda
from api.questions._asks import AskOnDay
from ontology.analysis.agenda.agenda import LONGEST_DAYS, PERSON_DAYS, PersonAgenda, build_person_agenda


@dataclass(frozen=True, kw_only=True)
class AskPersonAgenda(AskOnDay):
    """For how long."""

    days: int = param(
        "How many days after the day asked about.", default=PERSON_DAYS, minimum=0, maximum=LONGEST_DAYS, unit="days"
    )


def show(result: PersonAgenda, subject: Subject, asked: AskPersonAgenda, names: Names) -> Sheet:
    """Return the days; what is past first."""
    day = {"on": str(result.on)}
    return Sheet(
        title=f"Agenda of {names.person(result.person)}, {result.on} to {result.until}",
        lead=tell_agenda(result.rows, result.on, result.until),
        parts=(build_agenda_table(result.rows, names, is_of_team=False),),
        next=(
            Next("What must be held, and by when", "person-obligations", result.person, day),
            Next("Sessions booked and asked for", "bookings", result.person, day),
        ),
    )


QUESTION = Question(
    segment="agenda",
    asks={PERSON: AskPersonAgenda},
    answers=PersonAgenda,
    compute=by_names(build_person_agenda),
    cautions=(cautions.NOT_CLEARED, cautions.NO_RANKING, cautions.OWN_LIST),
    needs=Kind.STANDING,
    show=show,
    files={"ics": CALENDAR},
)
