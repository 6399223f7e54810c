"""How many people a team's needs and places take in a year, and how many are qualified."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.names import Names, count
from api.desk.parameters import param
from api.desk.question import TEAM, InFigures, Question, Subject, by_names
from api.desk.sheet import Fact, Quantity, Sheet
from api.questions import _cautions as cautions
from api.questions._asks import AskAboutTeam
from api.questions._figures import leave_out
from ontology.analysis.places.headcount import (
    LONGEST_YEAR_HOURS,
    HeadcountResult,
    HeadcountRow,
    ShiftPattern,
    compute_headcount,
)

_YEAR: Final[dict[str, Any]] = {"maximum": LONGEST_YEAR_HOURS, "unit": "h"}
_HEADCOUNT: Final = (
    "A headcount is a check of hours, no staffing plan: rest times, minimum crews and peaks of work come on top, "
    "and it is no ground to cut posts."
)


@dataclass(frozen=True, kw_only=True)
class AskHeadcount(AskAboutTeam):
    """Hours of a year."""

    net_hours: float = param(
        "Hours a year one person works, after leave, training and absence.",
        minimum=1,
        label="Hours a year of one person",
        **_YEAR,
    )
    manned_hours: float | None = param(
        "Hours a year for needs and places that tell none of their own.", default=None, minimum=0, **_YEAR
    )
    shifts: ShiftPattern = param(
        "in-turn: the shifts of a team share the hours; side-by-side: each works all of them.", default="in-turn"
    )


def show(result: HeadcountResult, subject: Subject, asked: AskHeadcount, names: Names) -> Sheet:
    """Return people needed and people qualified, need by need and place by place."""
    missing = [row for row in result.rows if row.difference is not None and row.difference < 0]
    lead = (
        f"{len(missing)} of {count(len(result.rows), 'need or place', 'needs and places')} "
        f"{'has' if len(missing) == 1 else 'have'} fewer qualified people than the hours take."
        if missing
        else "Everywhere as many people are qualified as the hours take, as far as hours are known."
    )
    table = build_table(
        "Needs and places",
        result.rows,
        (
            words("need or place", lambda row: _name_row(row, names)),
            number("posts at a time", lambda row: row.minimum),
            number("hours", lambda row: row.manned_hours, "h"),
            number("people by hours", lambda row: row.quotient, decimals=2),
            number("needed", lambda row: row.people_needed),
            number("qualified", lambda row: len(row.qualified)),
            number("difference", lambda row: row.difference, is_signed=True),
        ),
        "The team has no needs and no places.",
    )
    return Sheet(
        title=f"Headcount of {names.team(result.team)}, {result.on}",
        lead=lead,
        facts=(Fact("One person works", Quantity(result.net_hours, "h a year")),),
        parts=(table,),
    )


def show_in_figures(result: HeadcountResult, subject: Subject, asked: AskHeadcount, names: Names) -> Sheet:
    """Return the same without how many are qualified; what is more or fewer stands where both are many."""
    hours = "What the hours of a year take, need by need and place by place."
    return replace(leave_out(show(result, subject, asked, names), "qualified"), lead=hours)


def _name_row(row: HeadcountRow, names: Names) -> str:
    if row.place:
        return f"place {names.place(row.place)}"
    name = names.need(row.competency or "", row.level or 0, row.shift)
    return f"{name} (each shift)" if row.applies == "each-shift" and row.shift is None else name


QUESTION = Question(
    asks={TEAM: AskHeadcount},
    answers=HeadcountResult,
    compute=by_names(compute_headcount),
    cautions=(_HEADCOUNT, cautions.NO_ROSTER_LAW, cautions.NO_AUTHORISATION),
    needs=Kind.TEAM_ANSWERS,
    show=show,
    figures=InFigures(show_in_figures),
)
