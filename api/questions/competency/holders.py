"""How many people hold a competency, level by level."""

from __future__ import annotations

from dataclasses import dataclass

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.names import Names, count
from api.desk.question import COMPETENCY, InFigures, Question, Subject, by_names
from api.desk.sheet import Fact, Quantity, Sheet
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay
from ontology.analysis.cover.held import HeldCompetency, count_holders


@dataclass(frozen=True, kw_only=True)
class AskHolders(AskOnDay):
    """On a day."""


def show(result: HeldCompetency, subject: Subject, asked: AskHolders, names: Names) -> Sheet:
    """Return the figures of each level."""
    return Sheet(
        title=f"How many hold {names.competency(result.competency)}, {result.on}",
        lead=_tell(result),
        facts=(Fact("Due for review", Quantity(result.review_due)),),
        parts=(
            build_table(
                "By level",
                result.levels,
                (
                    words("level", lambda row: names.level(result.competency, row.level)),
                    number("people at it", lambda row: row.people),
                    number("at it or higher", lambda row: row.or_higher),
                ),
                "Its scale has no levels.",
            ),
        ),
    )


def _tell(result: HeldCompetency) -> str:
    if not result.holders:
        return "Nobody holds it that day."
    return f"{count(result.holders, 'person holds', 'people hold')} it that day."


QUESTION = Question(
    asks={COMPETENCY: AskHolders},
    answers=HeldCompetency,
    compute=by_names(count_holders),
    cautions=(cautions.BASIS, cautions.NO_AUTHORISATION),
    needs=Kind.COMPANY_COVER,
    show=show,
    figures=InFigures(show, is_of_all=True),
)
