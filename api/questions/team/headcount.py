"""How many people a team's needs and places take in a year, and how many are qualified."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from api.desk.names import Names, count
from api.desk.parameters import param
from api.desk.question import TEAM, Question, Subject, read_title
from api.desk.rights import Right
from api.desk.sheet import Column, Fact, Quantity, Sheet, Table
from api.questions import _cautions as cautions
from api.questions._asks import AskAboutTeam
from ontology.analysis.places.headcount import (
    LONGEST_YEAR_HOURS,
    HeadcountResult,
    HeadcountRow,
    ShiftPattern,
    compute_headcount,
)

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
        maximum=LONGEST_YEAR_HOURS,
        unit="h",
    )
    manned_hours: float | None = param(
        "Hours a year for needs and places that tell none of their own.",
        default=None,
        minimum=0,
        maximum=LONGEST_YEAR_HOURS,
        unit="h",
    )
    shifts: ShiftPattern = param(
        "in-turn: the shifts of a team share the hours; side-by-side: each works all of them.", default="in-turn"
    )


def show(result: HeadcountResult, subject: Subject, asked: AskHeadcount, names: Names) -> Sheet:
    """Return people needed and people qualified, need by need and place by place."""
    missing = [row for row in result.rows if row.difference is not None and row.difference < 0]
    lead = (
        f"{count(len(missing), 'need or place', 'needs and places')} of {count(len(result.rows), 'row')} "
        f"{'has' if len(missing) == 1 else 'have'} fewer qualified people than the hours take."
        if missing
        else "Everywhere as many people are qualified as the hours take, as far as hours are known."
    )
    columns = (
        Column("need or place"),
        Column("posts at a time", is_number=True),
        Column("hours", "h", is_number=True),
        Column("people by hours", is_number=True),
        Column("needed", is_number=True),
        Column("qualified", is_number=True),
        Column("difference", is_number=True),
    )
    return Sheet(
        title=f"Headcount of {names.team(result.team)}, {result.on}",
        lead=lead,
        facts=(Fact("One person works", Quantity(result.net_hours, "h a year")),),
        parts=(
            Table(
                "Needs and places",
                columns,
                tuple(_build_row(row, names) for row in result.rows),
                "The team has no needs and no places.",
            ),
        ),
    )


def _build_row(row: HeadcountRow, names: Names) -> tuple[str | Quantity, ...]:
    name = (
        f"place {names.place(row.place)}" if row.place else names.need(row.competency or "", row.level or 0, row.shift)
    )
    if row.applies == "each-shift" and row.shift is None:
        name += " (each shift)"
    return (
        name,
        Quantity(row.minimum),
        Quantity(row.manned_hours),
        Quantity(row.quotient, decimals=2),
        Quantity(row.people_needed),
        Quantity(len(row.qualified)),
        Quantity(row.difference, is_signed=True),
    )


QUESTION = Question(
    name="headcount",
    title=read_title(__doc__),
    asks={TEAM: AskHeadcount},
    answers=HeadcountResult,
    compute=lambda snapshot, team, asked: compute_headcount(
        snapshot,
        team.id,
        asked.on,
        net_hours=asked.net_hours,
        manned_hours=asked.manned_hours,
        shifts=asked.shifts,
        away=asked.away,
    ),
    cautions=(_HEADCOUNT, cautions.NO_ROSTER_LAW, cautions.NO_AUTHORISATION),
    needs=Right.SEE_TEAM,
    show=show,
)
