"""The cover of all teams: the most fragile needs, who covers needs of several teams, and who could lend."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import Final

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.kinds import PersonIds
from api.desk.names import Names, amount, count, join_names
from api.desk.parameters import param
from api.desk.question import COMPANY, InFigures, Question, Subject, by_names
from api.desk.sheet import Next, Note, Sheet
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay, AskSlowly
from api.questions._figures import BY_STATE, leave_out, order_by_state
from api.questions._words import describe_status, show_state
from api.questions.team.fragile_needs import AskAbsenceRate
from ontology.analysis.outlook.company_cover import (
    NEEDS_TOLD,
    WITHIN_HOURS,
    CompanyCoverResult,
    CompanyNeed,
    compute_company_cover,
)
from ontology.analysis.outlook.company_lending import Lender

#: Teams with something short whose cover is offered to be asked next.
_TEAMS_LINKED: Final = 3


@dataclass(frozen=True, kw_only=True)
class AskCompanyCover(AskAbsenceRate, AskOnDay, AskSlowly):
    """How much of it."""

    away: PersonIds = param("People to take as absent.", default=frozenset())
    limit: int = param(
        "Most needs told, and most people who cover needs of several teams.",
        default=NEEDS_TOLD,
        minimum=1,
        maximum=200,
    )
    within_hours: float = param(
        "People elsewhere within so many hours of learning are told too.", default=WITHIN_HOURS, minimum=0, unit="h"
    )


def show(result: CompanyCoverResult, subject: Subject, asked: AskCompanyCover, names: Names) -> Sheet:
    """Return the needs, the people on whom several teams rest, and the exchanges."""
    lead = f"{_tell_short(result, names)} {_tell_states(result)}"
    return Sheet(
        title=f"Cover of all teams, {result.on}",
        lead=lead if result.status == "optimal" else f"{lead} {describe_status(result.status)}",
        parts=(
            build_table(
                "The most fragile needs",
                result.needs,
                (
                    words("team", lambda need: names.ref("teams", need.team)),
                    words("need", lambda need: names.need(need.competency, need.level, need.shift)),
                    number("criticality", lambda need: need.criticality, "1 to 5"),
                    number("present", lambda need: need.depth),
                    number("minimum", lambda need: need.minimum),
                    words("state", lambda need: show_state(need.state)),
                    words("who could lend", lambda need: _tell_lenders(need, result.within_hours, names)),
                ),
                "No team has cover needs.",
                result.order_rule,
            ),
            build_table(
                "People who cover needs of several teams",
                result.holding,
                (
                    words("person", lambda row: names.ref("people", row.id)),
                    words("team", lambda row: names.ref("teams", row.team)),
                    words("covers needs of", lambda row: names.refs("teams", row.teams)),
                ),
                "Nobody.",
            ),
            *(
                Note(f"Could lend to each other: {names.team(pair.team)} and {names.team(pair.other)}.")
                for pair in result.exchanges
            ),
        ),
        next=tuple(
            Next(f"Cover of {names.team(team)}", "coverage", team, {"on": str(result.on)})
            for team in list(dict.fromkeys(need.team for need in result.needs if need.state == "short"))[:_TEAMS_LINKED]
        ),
    )


def _tell_short(result: CompanyCoverResult, names: Names) -> str:
    """Return how many needs are short, by team; of teams beyond those told only how many needs they have."""
    total = sum(row.needs for row in result.states if row.state == "short")
    if not result.needs_found:
        return "No team has cover needs yet, so nothing can be short."
    if not total:
        return "Nothing is short in any team."
    by_team = Counter(need.team for need in result.needs if need.state == "short")
    told = [f"{n} in {names.team(team)}" for team, n in by_team.items()]
    if total > sum(by_team.values()):
        told.append(f"{total - sum(by_team.values())} in others")
    return f"{count(total, 'need is', 'needs are')} short: {join_names(told)}."


def _tell_states(result: CompanyCoverResult) -> str:
    states = join_names(f"{row.needs} {show_state(row.state).word}" for row in result.states if row.needs)
    of_whom = f"{count(result.teams, 'team')} with {count(result.people, 'person', 'people')}"
    return f"{count(result.needs_found, 'need')} of {of_whom}" + (f": {states}." if states else ".")


def _tell_lenders(need: CompanyNeed, within_hours: float, names: Names) -> str:
    told = [_tell_lender(row, within_hours, names) for row in need.lenders[:2]]
    more = need.lenders_found - len(told)
    return ("; ".join(told) or "nobody") + (f"; and {more} more" if more > 0 else "")


def _tell_lender(row: Lender, within_hours: float, names: Names) -> str:
    """Return a team with how many could be lent and who, and what is short there already."""
    lent = [person.person for person in row.people if person.is_spare]
    whom = f": {join_names(map(names.person, lent))}" if lent else ""
    short = "; ".join(names.need(need.competency, need.level, need.shift) for need in row.worsens)
    worse = f"; short there already: {short}" if short else ""
    near = f"{row.near} within {amount(within_hours)} h of study"
    return f"{names.team(row.team)} ({row.spare} could be lent{whom}, {near}{worse})"


QUESTION = Question(
    asks={COMPANY: AskCompanyCover},
    answers=CompanyCoverResult,
    compute=by_names(compute_company_cover),
    cautions=(cautions.NO_REASON_TO_REFUSE, cautions.LENDING, cautions.RATE, *cautions.OF_WORK),
    needs=Kind.COMPANY_COVER,
    show=show,
    is_slow=True,
    figures=InFigures(
        lambda *told: leave_out(show(*told), "People who cover needs of several teams"),
        prepare=lambda result, _: replace(result, needs=order_by_state(result.needs), order_rule=BY_STATE),
        refuses=frozenset({"within_hours", "limit"}),
    ),
)
