"""Everything dated of a team's people in the days to come: what must be held, sessions, first weeks, appointments."""

from __future__ import annotations

from dataclasses import dataclass

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.names import Names
from api.desk.parameters import param
from api.desk.question import TEAM, InFigures, Question, Subject, by_names
from api.desk.sheet import Next, Sheet
from api.questions import _cautions as cautions
from api.questions._agenda import CALENDAR, build_agenda_table, tell_agenda
from api.questions._asks import AskOnDay
from ontology.analysis.agenda.agenda import LONGEST_DAYS, TEAM_DAYS, TeamAgenda, build_team_agenda


@dataclass(frozen=True, kw_only=True)
class AskAgenda(AskOnDay):
    """For how long."""

    days: int = param(
        "How many days after the day asked about.", default=TEAM_DAYS, minimum=0, maximum=LONGEST_DAYS, unit="days"
    )


def show(result: TeamAgenda, subject: Subject, asked: AskAgenda, names: Names) -> Sheet:
    """Return the days; what is past first."""
    day = {"on": str(result.on)}
    return Sheet(
        title=f"Agenda of {names.team(result.team)}, {result.on} to {result.until}",
        lead=tell_agenda(result.rows, result.on, result.until, names),
        parts=(build_agenda_table(result.rows, names, is_of_team=True),),
        next=(
            Next("What the team must hold", "obligations", result.team, day),
            Next("Cover over the next weeks", "coverage-timeline", result.team, day),
        ),
    )


_KINDS = {
    "appointment": "an appointment that ends",
    "obligation": "something to be held",
    "orientation": "something open of the first weeks",
    "session": "a seat in a session",
}


def show_in_figures(result: TeamAgenda, subject: Subject, asked: AskAgenda, names: Names) -> Sheet:
    """Return how many people have something of each kind in these days."""
    return Sheet(
        title=f"Agenda of {names.team(result.team)}, {result.on} to {result.until}",
        lead=f"How many of the team have something dated until {result.until}, by what it is.",
        parts=(
            build_table(
                "By kind",
                result.counts,
                (words("what", lambda row: _KINDS[row.kind]), number("people", lambda row: row.people)),
            ),
        ),
    )


QUESTION = Question(
    asks={TEAM: AskAgenda},
    answers=TeamAgenda,
    compute=by_names(build_team_agenda),
    cautions=(cautions.NOT_CLEARED, cautions.NO_RANKING, cautions.OWN_LIST),
    needs=Kind.TEAM_ANSWERS,
    show=show,
    files={"ics": CALENDAR},
    # of a day more or less, the difference would tell whose that day is
    figures=InFigures(show_in_figures, refuses=frozenset({"days"})),
)
