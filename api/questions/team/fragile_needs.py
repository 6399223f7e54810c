"""A team's needs, the most fragile first: criticality, chance of cover, and who could count next."""

from __future__ import annotations

from dataclasses import dataclass

from api.desk.names import Names, amount
from api.desk.parameters import param
from api.desk.question import TEAM, Question, Subject, by_names, read_title
from api.desk.rights import Right
from api.desk.sheet import Cell, Column, Note, Quantity, Sheet, Table
from api.questions import _cautions as cautions
from api.questions._asks import AskAboutTeam, AskSlowly
from api.questions._words import describe_status, show_state
from ontology.analysis.cover.fragile_needs import FragileNeed, FragileNeedsResult, NeedOrder, compute_fragile_needs


@dataclass(frozen=True, kw_only=True)
class AskAbsenceRate:
    """What a chance of cover is computed from."""

    absence_rate: float | None = param(
        "Share of days on which someone is away, one figure for a whole team (default: the team's own).",
        default=None,
        minimum=0,
        maximum=1,
    )


@dataclass(frozen=True, kw_only=True)
class AskFragileNeeds(AskAbsenceRate, AskAboutTeam, AskSlowly):
    """In which order."""

    order_by: NeedOrder = param("What comes first in the order.", default="criticality")


def show(result: FragileNeedsResult, subject: Subject, asked: AskFragileNeeds, names: Names) -> Sheet:
    """Return the needs in their order."""
    first = result.needs[0] if result.needs else None
    lead = "The team has no cover needs."
    if first:
        lead = f"The most fragile need is {names.need(first.competency, first.level, first.shift)}."
    if result.status == "feasible":
        lead += f" {describe_status(result.status)}"
    return Sheet(
        title=f"Needs of {names.team(result.team)}, {result.on}, the most fragile first",
        lead=lead,
        parts=(
            Table(
                "Needs",
                (
                    Column("need"),
                    Column("criticality", "1 to 5", is_number=True),
                    Column("present", is_number=True),
                    Column("minimum", is_number=True),
                    Column("state"),
                    Column("chance of cover", "0 to 1", is_number=True),
                    Column("next who could count"),
                ),
                tuple(_build_row(need, names) for need in result.needs),
                "The team has no cover needs.",
            ),
            Note(result.order_rule),
        ),
    )


def _build_row(need: FragileNeed, names: Names) -> tuple[Cell, ...]:
    best = need.next_best
    if best is None:
        who = str(need.reason)
    else:
        first_act = " (assess first)" if best.have is None else ""
        who = f"{names.person(best.person)}, {amount(best.study_hours)} h{first_act}"
    return (
        names.need(need.competency, need.level, need.shift),
        need.criticality,
        need.depth,
        need.minimum,
        show_state(need.state),
        Quantity(need.chance, decimals=4),
        who,
    )


QUESTION = Question(
    name="fragile-needs",
    title=read_title(__doc__),
    asks={TEAM: AskFragileNeeds},
    answers=FragileNeedsResult,
    compute=by_names(compute_fragile_needs),
    cautions=(cautions.RATE, cautions.NO_REASON_TO_REFUSE, cautions.OFFER, cautions.NO_AUTHORISATION, cautions.BASIS),
    needs=Right.SEE_TEAM,
    show=show,
    is_slow=True,
)
