"""What the people of a team must hold by when, what to do first about it, and the last day to act."""

from __future__ import annotations

from dataclasses import dataclass

from api.access.rights import Kind
from api.desk.names import Names
from api.desk.parameters import param
from api.desk.question import TEAM, InFigures, Question, Subject, by_names
from api.desk.sheet import Fact, Next, Sheet
from api.pictures.pictures import draw_dues
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay
from api.questions._obligations import CALENDAR, build_rows_tables, list_counts, tell_counts
from ontology.analysis.obligations.due_lists import TeamObligations, find_team_obligations


@dataclass(frozen=True, kw_only=True)
class AskObligations(AskOnDay):
    """Of a team alone, or also of what is part of it."""

    parts: bool = param("Whether the people of the teams that are part of it belong to it too.", default=False)


def show(result: TeamObligations, subject: Subject, asked: AskObligations, names: Names) -> Sheet:
    """Return every row of every person; what is overdue first."""
    people = list(dict.fromkeys(row.person for row in result.rows))
    return Sheet(
        title=f"What {names.team(result.team)} must hold, {result.on}",
        lead=tell_counts(result.rows, result.counts),
        facts=(
            Fact("People who must hold something", result.people),
            Fact("People with something overdue", result.people_overdue),
            *list_counts(result.counts),
        ),
        parts=build_rows_tables(result.rows, names, is_of_team=True),
        next=tuple(
            Next(f"What {names.person(person)} must hold", "person-obligations", person, {"on": str(result.on)})
            for person in people[:3]
        ),
    )


def show_in_figures(result: TeamObligations, subject: Subject, asked: AskObligations, names: Names) -> Sheet:
    """Return how many must hold something, and how many of them are overdue with something."""
    return Sheet(
        title=f"What {names.team(result.team)} must hold, {result.on}",
        lead=f"People who must hold something: {result.people}; with something overdue: {result.people_overdue}.",
        facts=(
            Fact("People who must hold something", str(result.people)),
            Fact("People with something overdue", str(result.people_overdue)),
        ),
    )


QUESTION = Question(
    asks={TEAM: AskObligations},
    answers=TeamObligations,
    compute=by_names(find_team_obligations),
    cautions=cautions.OF_DUES,
    needs=Kind.TEAM_ANSWERS,
    show=show,
    draw=lambda snapshot, team, asked, result, **layout: draw_dues(snapshot, result, **layout),
    files={"ics": CALENDAR},
    # with what is part of it, less it alone, a part would be told
    figures=InFigures(show_in_figures, refuses=frozenset({"parts"})),
)
