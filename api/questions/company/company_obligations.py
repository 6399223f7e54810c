"""How much must be held by when in the whole company, by team and by competency: counts, no names."""

from __future__ import annotations

from dataclasses import replace

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.names import Names, count
from api.desk.question import COMPANY, InFigures, Question, Subject, by_names
from api.desk.sheet import Cell, Fact, Next, Sheet, Table
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay
from api.questions._figures import leave_out
from ontology.analysis.obligations.company_dues import (
    CompanyObligations,
    CompetencyDues,
    TeamDues,
    count_company_obligations,
)


def show(result: CompanyObligations, subject: Subject, asked: AskOnDay, names: Names) -> Sheet:
    """Return the counts of every team and of every competency, by id."""
    day = {"on": str(result.on)}
    return Sheet(
        title=f"What must be held in the company, {result.on}",
        lead=_tell(result),
        facts=(
            Fact("People who must hold something", result.people),
            Fact("People with something overdue", result.people_overdue),
        ),
        parts=(
            _build(
                "By team",
                [(names.ref("teams", row.team) or "no team", row) for row in result.teams],
                "Nobody must hold anything: enter what your laws and rules ask, as obligations.",
            ),
            _build(
                "By competency",
                [(names.ref("competencies", row.competency), row) for row in result.competencies],
                "Nothing must be held.",
            ),
        ),
        next=tuple(
            Next(f"What {names.team(row.team)} must hold", "obligations", row.team, day)
            for row in result.teams[:3]
            if row.team
        ),
    )


def show_in_figures(result: CompanyObligations, subject: Subject, asked: AskOnDay, names: Names) -> Sheet:
    """Return how many people of each team and competency must hold something, and how many are overdue."""
    sheet = leave_out(
        show(result, subject, asked, names),
        *("overdue", "within 30 days", "31 to 60 days", "61 to 90 days", "current", "later"),
        *("People who must hold something", "People with something overdue"),
    )
    teams, competencies = (
        count(len(rows), *words)
        for rows, words in ((result.teams, ("team", "teams")), (result.competencies, ("competency", "competencies")))
    )
    lead = f"People of {teams} must hold {competencies}; who they are is not told."
    return replace(sheet, lead=lead)


def leave_out_few(result: CompanyObligations, least: int) -> CompanyObligations:
    """Return the counts without the teams and competencies of fewer people: that they stand there would tell of one."""
    return replace(
        result,
        teams=tuple(row for row in result.teams if row.people >= least),
        competencies=tuple(row for row in result.competencies if row.people >= least),
    )


def _build(title: str, rows: list[tuple[Cell, TeamDues | CompetencyDues]], empty: str) -> Table:
    """Return the counts of teams or of competencies, each beside its name."""
    return build_table(
        title,
        rows,
        (
            words(title.removeprefix("By "), lambda pair: pair[0]),
            number("people", lambda pair: pair[1].people),
            number("of them overdue", lambda pair: pair[1].people_overdue),
            number("overdue", lambda pair: pair[1].overdue),
            number("within 30 days", lambda pair: pair[1].within_30),
            number("31 to 60 days", lambda pair: pair[1].within_60),
            number("61 to 90 days", lambda pair: pair[1].within_90),
            number("current", lambda pair: pair[1].current),
            number("later", lambda pair: pair[1].later),
        ),
        empty,
    )


def _tell(result: CompanyObligations) -> str:
    if not result.people:
        return "Nobody must hold anything within a year."
    overdue = sum(row.overdue for row in result.teams)
    ahead = sum(row.within_30 + row.within_60 + row.within_90 for row in result.teams)
    late = f"{overdue:,}" if overdue else "Nothing"
    return f"{late} overdue, {ahead:,} more due within 90 days, among {count(result.people, 'person', 'people')}."


QUESTION = Question(
    asks={COMPANY: AskOnDay},
    answers=CompanyObligations,
    compute=by_names(count_company_obligations),
    cautions=(cautions.NOT_CLEARED, cautions.OWN_LIST, cautions.NO_RANKING, cautions.BASIS),
    needs=Kind.COMPANY_COVER,
    show=show,
    figures=InFigures(show_in_figures, prepare=leave_out_few, is_of_all=True),
)
