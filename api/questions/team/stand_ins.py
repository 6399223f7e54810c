"""Who can stand in for a member of a team, or for a need: own team first, then other teams."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import TypeVar

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.kinds import CompetencyId, PersonId
from api.desk.names import Names, count, join_names
from api.desk.parameters import param
from api.desk.question import TEAM, InFigures, Question, Subject, by_names
from api.desk.sheet import Note, Part, Sheet
from api.errors import ParameterError, WrongParameter
from api.questions import _cautions as cautions
from api.questions._asks import AskAboutTeam
from api.questions._words import name_fallen, show_state, show_yes
from ontology.analysis.cover.holders import LevelBasis
from ontology.analysis.places.stand_in_rows import NeedStandIns, PlaceStandIns, StandIn, StandInsResult, TeamLending
from ontology.analysis.places.stand_ins import STAND_INS_TOLD, find_stand_ins
from ontology.snapshot.snapshot import Snapshot

_R = TypeVar("_R", NeedStandIns, PlaceStandIns)


@dataclass(frozen=True, kw_only=True)
class AskStandIns(AskAboutTeam):
    """For whom, or for which need."""

    person: PersonId | None = param("The member to stand in for.", default=None)
    competency: CompetencyId | None = param("Instead of a person: the need's competency.", default=None)
    level: int | None = param("With a competency: only needs at this level.", default=None, minimum=1, maximum=1000)
    limit: int = param("Most people shown for each need or place.", default=STAND_INS_TOLD, minimum=1, maximum=1000)

    def check(self, snapshot: Snapshot) -> None:
        """Raise ParameterError unless either a person or a competency is given."""
        if (self.person is None) == (self.competency is None):
            raise ParameterError(WrongParameter("person", self.person, "must be given, or competency; not both"))


def show(result: StandInsResult, subject: Subject, asked: AskStandIns, names: Names) -> Sheet:
    """Return the people for each need and place."""
    whom = names.person(result.person) if result.person else names.competency(result.competency or "")
    rows: list[NeedStandIns | PlaceStandIns] = [*result.needs, *result.places]
    return Sheet(
        title=f"Stand-ins for {whom}, {names.team(result.team)}, {result.on}",
        lead=_tell(result, names),
        parts=(*(part for row in sorted(rows, key=_still_holds) for part in _show(row, names)),),
    )


def _tell(result: StandInsResult, names: Names) -> str:
    if not result.needs and not result.places:
        return "Nothing the team needs hangs on this."
    breaks = [names.need(row.competency, row.level, row.shift) for row in result.needs if row.is_short_without]
    breaks += [names.place(row.place) for row in result.places if row.is_empty_without]
    if result.person is None:
        found = len({person.person for row in result.needs for person in row.stand_ins})
        return f"{count(found, 'person', 'people')} could stand in."
    if not breaks:
        return f"Without {names.person(result.person)} everything still holds."
    return f"Without {names.person(result.person)} this does not hold: {join_names(breaks)}."


def _still_holds(row: NeedStandIns | PlaceStandIns) -> bool:
    """Whether a need or place does without who is away: what breaks is shown first."""
    return not (row.is_short_without if isinstance(row, NeedStandIns) else row.is_empty_without)


def _show(row: NeedStandIns | PlaceStandIns, names: Names) -> Iterator[Part]:
    if isinstance(row, NeedStandIns):
        title = names.need(row.competency, row.level, row.shift)
        state = "short" if row.is_short_without else "still met"
        note = f"{row.depth} present, {row.minimum} needed; without: {row.depth_without} ({state})."
    else:
        title = f"Place {names.place(row.place)}"
        note = "A slot stays empty without." if row.is_empty_without else "It can still be filled without."
    if row.found > len(row.stand_ins):
        note += f" {row.found - len(row.stand_ins)} more could stand in."
    yield build_table(
        title,
        row.stand_ins,
        (
            words("person", lambda one: names.ref("people", one.person)),
            words("team", lambda one: names.ref("teams", one.team)),
            words("crew", lambda one: _name_shift(one, names)),
            words("counts now", lambda one: "on the same slot" if one.is_same_slot else show_yes(one.counts_already)),
            words("rests on", lambda one: _name_basis(one.levels)),
            words(
                "leaves behind",
                lambda one: name_fallen(names, one.leaves_needs, one.leaves_places, one.leaves_together),
            ),
        ),
        "Nobody could stand in.",
        note,
    )
    for team in row.lending:
        yield Note(tell_lending(team, names))


def tell_lending(team: TeamLending, names: Names) -> str:
    """Return what another team could lend, and whom to ask for it; who may not be told of is counted.

    Examples
    --------
    >>> from ontology.snapshot.snapshot import Snapshot
    >>> tell_lending(TeamLending("works", 2, (), 2, ("Ada Vela",)), Names(Snapshot({})))
    'works, led by Ada Vela: 2 people qualify; could be lent at once so that nothing breaks there: 2 of them.'
    """
    lent = join_names(map(names.person, team.could_be_lent)) or "nobody"
    if len(team.could_be_lent) < team.could_be_lent_count:
        lent = f"{team.could_be_lent_count} of them"
    led = f", led by {join_names(team.led_by)}" if team.led_by else ""
    qualified = count(team.qualified, "person qualifies", "people qualify")
    return f"{names.team(team.team)}{led}: {qualified}; could be lent at once so that nothing breaks there: {lent}."


def _name_shift(person: StandIn, names: Names) -> str:
    shift = names.shift(person.shift) if person.shift else "–"
    return f"{shift} (another crew)" if person.is_other_shift else shift


def _name_basis(levels: tuple[LevelBasis, ...]) -> str:
    if len(levels) == 1:
        return f"level {levels[0].have}, {levels[0].source} {levels[0].assessed_on}"
    if not levels:
        return "–"
    return f"{len(levels)} levels, assessed since {min(level.assessed_on for level in levels)}"


def show_in_figures(result: StandInsResult, subject: Subject, asked: AskStandIns, names: Names) -> Sheet:
    """Return how many could stand in, and how many each other team could lend."""
    n = len({team.team for row in result.needs for team in row.lending})
    return Sheet(
        title=f"Stand-ins for {names.competency(result.competency or '')}, {names.team(result.team)}, {result.on}",
        lead=f"{count(n, 'other team has', 'other teams have') if n else 'No other team has'} people who qualify."
        if result.needs
        else "Nothing the team needs hangs on this.",
        parts=tuple(
            build_table(
                names.need(row.competency, row.level, row.shift),
                row.lending,
                (
                    words("team", lambda team: names.ref("teams", team.team)),
                    number("qualified", lambda team: team.qualified),
                    number("could be spared", lambda team: team.could_be_lent_count),
                ),
                "No other team has anyone who qualifies.",
                f"{row.depth} present, {row.minimum} needed ({show_state(row.state).word}); "
                f"{count(row.found, 'person', 'people')} could stand in.",
            )
            for row in result.needs
        ),
    )


def name_leads(result: StandInsResult, find: Callable[[str], tuple[str, ...]]) -> StandInsResult:
    """Return the result with who leads each team that could lend somebody."""

    def fill(row: _R) -> _R:
        return replace(row, lending=tuple(replace(team, led_by=find(team.team)) for team in row.lending))

    return replace(result, needs=tuple(map(fill, result.needs)), places=tuple(map(fill, result.places)))


QUESTION = Question(
    asks={TEAM: AskStandIns},
    answers=StandInsResult,
    compute=by_names(find_stand_ins, person="person_id", competency="competency_id"),
    cautions=(cautions.LENDING, cautions.NO_REASON_TO_REFUSE, *cautions.OF_WORK),
    needs=Kind.TEAM_ANSWERS,
    show=show,
    figures=InFigures(show_in_figures),
    name_leads=name_leads,
)
