"""Who is in which team and role, and who of a team holds a competency at a level on a day."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from api.access.rights import Kind
from api.desk.columns import Filled, build_table, words
from api.desk.kinds import CompetencyId, RoleId, TeamId
from api.desk.names import Names, count
from api.desk.parameters import param
from api.desk.question import COMPANY, Question, Subject, by_names
from api.desk.sheet import Next, Sheet
from api.errors import ParameterError, WrongParameter
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay
from api.questions._words import show_state
from ontology.analysis.cover.who_can import FoundPerson, WhoCanResult, find_who_can
from ontology.snapshot.snapshot import Snapshot

_NO_LIST: Final = (
    "People stand here by name. This is no ranking of them, and no list by which to decide on pay, posts or dismissal."
)


@dataclass(frozen=True, kw_only=True)
class AskWhoCan(AskOnDay):
    """Of which people."""

    q: str = param("Words of the name, each whole or begun.", default="")
    team: TeamId | None = param("Only members of this team.", default=None)
    role: RoleId | None = param("Only who holds this role.", default=None)
    competency: CompetencyId | None = param("The competency whose level is told; only with a team.", default=None)
    level: int | None = param("Only who holds at least this level of it.", default=None, minimum=1, maximum=1000)

    def check(self, snapshot: Snapshot) -> None:
        """Raise ParameterError for a level of nothing, and for a competency without a team."""
        if self.level is not None and self.competency is None:
            raise ParameterError(WrongParameter("level", str(self.level), "must be given with a competency"))
        if self.competency is not None and self.team is None:
            reason = "must be given with a team: people are not looked up by level across teams"
            raise ParameterError(WrongParameter("competency", self.competency, reason))


def show(result: WhoCanResult, subject: Subject, asked: AskWhoCan, names: Names) -> Sheet:
    """Return the people by name."""
    nexts = []
    if result.team and result.competency:
        about = {"competency": result.competency, "on": str(result.on)}
        nexts.append(Next("Who could stand in for it", "stand-ins", result.team, about))
    return Sheet(
        title=f"People, {result.on}",
        lead=tell_people(result, names),
        parts=(
            build_table(
                "People",
                result.people,
                _list_columns(result, names),
                "Nobody fits.",
                "By name, not by level.",
            ),
        ),
        next=tuple(nexts),
    )


def tell_people(result: WhoCanResult, names: Names, today: dt.date | None = None) -> str:
    """Return how many people fit, of which team, and what they can do; the day is called today where it is."""
    when = "today" if result.on == today else f"on {result.on}"
    whose = f" of {names.team(result.team)}" if result.team else ""
    named = f" called {result.q!r}" if result.q.strip() else ""
    held = f" as {names.role(result.role)}" if result.role else ""
    n_away = sum(row.is_absent for row in result.people)
    away = f" {n_away} of them {'is' if n_away == 1 else 'are'} away." if n_away else ""
    number = count(len(result.people), "person", "people") if result.people else "Nobody"
    if result.competency is None:
        is_there = "is" if len(result.people) < 2 else "are"
        return f"{number}{whose}{held}{named} {is_there} employed {when}.{away}"
    what = names.competency(result.competency)
    if result.level is None:
        assessed = sum(row.have is not None for row in result.people)
        return f"{assessed} of {count(len(result.people), 'person', 'people')}{whose}{held}{named} " + (
            f"{'is' if assessed == 1 else 'are'} assessed in {what} {when}.{away}"
        )
    return f"{number}{whose}{held}{named} can do {what} at level {result.level} or more {when}.{away}"


def _list_columns(result: WhoCanResult, names: Names) -> Iterator[Filled[FoundPerson]]:
    yield words("name", lambda row: names.ref("people", row.person))
    yield words("team", lambda row: names.ref("teams", row.team))
    yield words("crew", lambda row: names.ref("shifts", row.shift))
    yield words("role", lambda row: names.ref("roles", row.role))
    if result.competency is not None:
        competency = result.competency
        yield words("level", lambda row: names.level(competency, row.have))
        yield words("state", lambda row: show_state(row.state or "not-assessed"))
        yield words("rests on", lambda row: tell_basis(row, names))
        yield words("counts until", lambda row: row.valid_until)
    if any(row.is_appointed is not None for row in result.people):
        yield words("appointed", lambda row: {True: "yes", False: "no", None: "–"}[row.is_appointed])
    yield words("away", lambda row: "away" if row.is_absent else "–")


def tell_basis(row: FoundPerson, names: Names) -> str:
    """Return what a level rests on: who saw it, and when."""
    if row.source is None:
        return "nobody has assessed it yet"
    by = f", by {names.competency(row.by_equivalence)}" if row.by_equivalence else ""
    return f"{row.source}, {row.assessed_on}{by}"


QUESTION = Question(
    asks={COMPANY: AskWhoCan},
    answers=WhoCanResult,
    compute=by_names(find_who_can),
    cautions=(_NO_LIST, cautions.NO_AUTHORISATION, cautions.BASIS),
    needs=Kind.COMPANY_COVER,
    show=show,
    no_figures=(
        # a number of a team beside that of the company, which `holders` tells, would tell of the few in another team
        "It lists people by name, so it is told to those who lead them. How many hold a competency stands with the "
        "competency."
    ),
)
