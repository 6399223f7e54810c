"""A team's needs, the most fragile first: criticality, chance of cover, and who could count next."""

from __future__ import annotations

from dataclasses import dataclass, replace

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.names import Names, amount
from api.desk.parameters import param
from api.desk.question import TEAM, InFigures, Question, Subject, by_names
from api.desk.sheet import Note, Sheet
from api.questions import _cautions as cautions
from api.questions._asks import AskAboutTeam, AskSlowly
from api.questions._figures import BY_STATE, leave_out, order_by_state
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
            build_table(
                "Needs",
                result.needs,
                (
                    words("need", lambda need: names.need(need.competency, need.level, need.shift)),
                    number("criticality", lambda need: need.criticality, "1 to 5"),
                    number("present", lambda need: need.depth),
                    number("minimum", lambda need: need.minimum),
                    words("state", lambda need: show_state(need.state)),
                    number("chance of cover", lambda need: need.chance, "0 to 1", decimals=4),
                    words("next who could count", lambda need: _tell_next(need, names)),
                ),
                "The team has no cover needs.",
            ),
            Note(result.order_rule),
        ),
    )


def _tell_next(need: FragileNeed, names: Names) -> str:
    best = need.next_best
    if best is None:
        return names.put_in(str(need.reason))
    first_act = " (assess first)" if best.have is None else ""
    return f"{names.person(best.person)}, {amount(best.study_hours)} h{first_act}"


QUESTION = Question(
    asks={TEAM: AskFragileNeeds},
    answers=FragileNeedsResult,
    compute=by_names(compute_fragile_needs),
    cautions=(cautions.RATE, cautions.NO_REASON_TO_REFUSE, cautions.OFFER, cautions.NO_AUTHORISATION, cautions.BASIS),
    needs=Kind.TEAM_ANSWERS,
    show=show,
    is_slow=True,
    figures=InFigures(
        lambda *told: leave_out(show(*told), "next who could count"),
        prepare=lambda result, _: replace(result, needs=order_by_state(result.needs), order_rule=BY_STATE),
    ),
)
