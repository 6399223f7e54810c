"""What a person must hold by when, what to do first about it, and the last day to act."""

from __future__ import annotations

from api.access.rights import Kind
from api.desk.names import Names
from api.desk.question import PERSON, Question, Subject, by_names
from api.desk.sheet import Next, Sheet
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay
from api.questions._obligations import CALENDAR, build_rows_tables, list_counts, tell_counts
from ontology.analysis.obligations.due_lists import PersonObligations, find_person_obligations


def show(result: PersonObligations, subject: Subject, asked: AskOnDay, names: Names) -> Sheet:
    """Return every competency that must be held within the year; what is overdue first."""
    teams = dict.fromkeys(row.team for row in result.rows if row.team)
    return Sheet(
        title=f"What {names.person(result.person)} must hold, {result.on}",
        lead=tell_counts(result.rows, result.counts),
        facts=list_counts(result.counts),
        parts=build_rows_tables(result.rows, names, is_of_team=False),
        next=tuple(Next("What the team must hold", "obligations", team, {"on": str(result.on)}) for team in teams),
    )


QUESTION = Question(
    segment="obligations",
    asks={PERSON: AskOnDay},
    answers=PersonObligations,
    compute=by_names(find_person_obligations),
    cautions=cautions.OF_DUES,
    needs=Kind.STANDING,
    show=show,
    files={"ics": CALENDAR},
)
