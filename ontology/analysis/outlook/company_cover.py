"""The cover of all teams at once: the most fragile needs, who covers needs of several, who could lend to whom. Pure.

May import coverage, presence, chance, holders, lending, company holding and lending, and the snapshot. One pass over
the levels that needs ask for; learning paths only for the needs told of, see `company_lending`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Annotated, Final, Literal

from ontology.analysis.cover.chance import compute_chance_of_cover
from ontology.analysis.cover.coverage import STATES, CoverState, NeedScope, build_need_scopes
from ontology.analysis.cover.fragile_needs import require_absence_rate
from ontology.analysis.cover.holders import build_company_levels
from ontology.analysis.cover.nearest import PathFinder
from ontology.analysis.cover.presence import Presence, build_presences, is_absent, is_employed
from ontology.analysis.outlook.company_holding import HoldingPerson, find_holding
from ontology.analysis.outlook.company_lending import Exchange, Lender, find_exchanges, find_lenders
from ontology.analysis.places.holding import build_holding
from ontology.analysis.places.lending import Lending
from ontology.errors import InputError
from ontology.model.identity import PeopleCount, PeopleTogether, PersonId, TellsOf
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "NEEDS_TOLD",
    "WITHIN_HOURS",
    "CompanyCoverResult",
    "CompanyDay",
    "CompanyNeed",
    "StateCount",
    "build_company_day",
    "compute_company_cover",
]

#: Needs told, and hours of learning within which people elsewhere are told, unless others are asked for.
NEEDS_TOLD: Final = 20
WITHIN_HOURS: Final = 40.0
ORDER_RULE: Final = (
    "First the worse state; then the higher criticality; then the smaller chance of cover (without an absence rate: "
    "after those that have one); then the fewer people above the minimum; then by team, competency, level and shift."
)


@dataclass(frozen=True, slots=True)
class StateCount:
    """How many needs, each once for every shift, stand so."""

    state: Annotated[CoverState, "How they stand."]
    needs: Annotated[int, "Needs, each once for every shift it counts in."]


@dataclass(frozen=True, slots=True)
class CompanyNeed:
    """A need of a team where it counts, and the teams that could lend someone for it."""

    team: Annotated[str, "Id of the team."]
    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level needed."]
    applies: Annotated[str, "team, each-shift, or the id of one shift."]
    shift: Annotated[str | None, "Where it counts; null for the team."]
    criticality: Annotated[int, "1..5; 5 = life, law or supply within hours."]
    minimum: Annotated[int, "People present at the least."]
    target: Annotated[int, "People qualified."]
    depth: Annotated[PeopleTogether, "Members present at or above the level."]
    state: Annotated[CoverState, "How it stands."]
    chance: Annotated[
        float | None, TellsOf("depth"), "Chance 0..1 that the minimum of them is there; null without an absence rate."
    ]
    lenders_found: Annotated[int, "How many teams could lend."]
    lenders: Annotated[
        tuple[Lender, ...], "The first of them: more who could be lent, who qualify, who are near; then by id."
    ]


@dataclass(frozen=True, slots=True)
class CompanyCoverResult:
    """The cover of every team on a date.

    `people` counts those employed, `needs_found` all needs where they count; `needs` are the most fragile of them,
    `holding` the first of `holding_found` people by id. `status` is "optimal" where every learning path is proved,
    "feasible" where the time limit struck.
    """

    on: Annotated[date, "The day asked about."]
    away: Annotated[tuple[PersonId, ...], "People taken as absent because the question said so."]
    absence_rate: Annotated[float | None, "One rate for all teams, as asked; null: each team's own."]
    within_hours: Annotated[float, "As asked."]
    status: Annotated[
        Literal["optimal", "feasible"],
        "optimal: every learning path is proved; feasible: the time limit struck, better ones may be found.",
    ]
    teams: Annotated[int, "Teams."]
    people: Annotated[PeopleCount, "People employed on the day."]
    needs_found: Annotated[int, "Needs, each once for every shift it counts in."]
    states: Annotated[tuple[StateCount, ...], "How they stand."]
    order_rule: Annotated[str, "The order of needs in words."]
    needs: Annotated[tuple[CompanyNeed, ...], "The most fragile first."]
    holding_found: Annotated[PeopleCount, "People on whom needs of at least two teams hang."]
    holding: Annotated[tuple[HoldingPerson, ...], "The first of them, by id."]
    exchanges: Annotated[tuple[Exchange, ...], "Pairs of teams that could lend to each other, among the needs told."]
    remarks: Annotated[tuple[str, ...], "What else should be known."]


@dataclass(frozen=True)
class CompanyDay:
    """Every team on a day.

    `presences` holds each team of which something is asked, by id, `scopes` every need where it counts, by team, and
    `levels` competency id -> person id -> level of all that needs and places ask for.
    """

    presences: Mapping[str, Presence]
    scopes: Sequence[NeedScope]
    levels: Mapping[str, Mapping[str, int]]


def build_company_day(snapshot: Snapshot, on: date, away: frozenset[str] = frozenset()) -> CompanyDay:
    """Return every need of every team where it counts, and the levels it rests on.

    The scopes are those of `build_need_scopes` for each team. O(people + assessments of what is asked for + needs x
    members).
    """
    asked = {need.competency for team_id in snapshot.teams for need in snapshot.get_cover_needs(team_id)}
    roles = {place.role for place in snapshot.places.values()}
    asked.update(row.competency for role in roles for row in snapshot.get_requirements(role))
    levels = build_company_levels(snapshot, on, asked)
    presences = build_presences(snapshot, on, levels, away)
    scopes = [scope for presence in presences.values() for scope in build_need_scopes(presence)]
    return CompanyDay(presences, scopes, levels)


def compute_company_cover(
    snapshot: Snapshot,
    on: date,
    *,
    away: frozenset[str] = frozenset(),
    absence_rate: float | None = None,
    limit: int = NEEDS_TOLD,
    within_hours: float = WITHIN_HOURS,
    time_limit_s: float | None = None,
) -> CompanyCoverResult:
    """Return the cover of all teams: fragile needs, people who cover needs of several teams, teams that could lend.

    Parameters
    ----------
    away : frozenset of str
        People taken as absent on top of the recorded absences.
    absence_rate : float or None
        One rate for every team in place of the teams' own.
    limit : int
        Most needs told, and most people who cover needs of several teams.
    within_hours : float
        Someone elsewhere who could reach the level within so many hours of learning is told too.
    time_limit_s : float or None
        Seconds for all learning paths together; afterwards each is the best found at once.

    Returns
    -------
    CompanyCoverResult

    Raises
    ------
    UnknownIdError
        `away` names someone who does not exist.
    InputError
        A figure outside its limits.

    Notes
    -----
    O(people + assessments + needs x members), then `limit` needs x the people assessed in what they ask for, with a
    fixed number of learning paths at the most.
    """
    require_absence_rate(absence_rate)
    if limit < 1 or within_hours < 0:
        raise InputError("At least one need must be told, and hours are at least 0.", limit=limit)
    day = build_company_day(snapshot, on, away)
    scopes = day.scopes
    chances = _get_chances(snapshot, scopes, absence_rate)
    order = sorted(range(len(scopes)), key=lambda n: _get_key(scopes[n], chances[n]))[:limit]
    present = _build_present(snapshot, on, day.levels, away)
    lending = Lending(lambda team: build_holding(day.presences[team]) if team in day.presences else None)
    finder = PathFinder(snapshot, time_limit_s)
    remarks: list[str] = []
    shown = []
    lent: dict[int, tuple[Lender, ...]] = {}
    for n in order:
        lenders, remark = find_lenders(snapshot, finder, scopes[n], present, lending, on, within_hours)
        lent[n] = lenders
        if remark is not None and remark not in remarks:
            remarks.append(remark)
        shown.append(_build_need(scopes[n], chances[n], lenders))
    holding = find_holding(snapshot, on, scopes, present)
    if any(chance is None for chance in chances):
        remarks.append("Some teams have no absence rate and none was given: no chance of cover is told for them.")
    remarks.append(
        "Lending and learning are looked at for the needs told here only, each by itself, and among people who are "
        "there and hold some level of the competency. Could be lent: the most people who can leave a team at once so "
        "that nothing that holds there breaks: needs in every shift, places, slots of groups."
    )
    return CompanyCoverResult(
        on=on,
        away=tuple(sorted(away)),
        absence_rate=absence_rate,
        within_hours=within_hours,
        status=finder.status,
        teams=len(snapshot.teams),
        people=sum(is_employed(person, on) for person in snapshot.people.values()),
        needs_found=len(scopes),
        states=_count_states(scopes),
        order_rule=ORDER_RULE,
        needs=tuple(shown),
        holding_found=len(holding),
        holding=tuple(holding[:limit]),
        exchanges=find_exchanges([(scopes[n], lent[n]) for n in order]),
        remarks=tuple(remarks),
    )


def _get_chances(snapshot: Snapshot, scopes: Sequence[NeedScope], rate: float | None) -> list[float | None]:
    compute = cache(compute_chance_of_cover)
    chances: list[float | None] = []
    for scope in scopes:
        own = snapshot.teams[scope.need.team].absence_rate if rate is None else rate
        chances.append(None if own is None else compute(scope.depth, scope.need.minimum, own))
    return chances


def _count_states(scopes: Sequence[NeedScope]) -> tuple[StateCount, ...]:
    counts = dict.fromkeys(STATES, 0)
    for scope in scopes:
        counts[scope.state] += 1
    return tuple(StateCount(state, count) for state, count in counts.items())


def _get_key(scope: NeedScope, chance: float | None) -> tuple[object, ...]:
    need = scope.need
    return (
        STATES.index(scope.state),
        -need.criticality,
        2.0 if chance is None else chance,
        scope.depth - need.minimum,
        need.team,
        need.competency,
        need.level,
        scope.shift or "",
        need.applies,
    )


def _build_need(scope: NeedScope, chance: float | None, lenders: tuple[Lender, ...]) -> CompanyNeed:
    need = scope.need
    return CompanyNeed(
        team=need.team,
        competency=need.competency,
        level=need.level,
        applies=need.applies,
        shift=scope.shift,
        criticality=need.criticality,
        minimum=need.minimum,
        target=need.target,
        depth=scope.depth,
        state=scope.state,
        chance=chance,
        lenders_found=len(lenders),
        lenders=lenders[:_LENDERS_TOLD],
    )


#: Teams told for each need; how many there are is told beside them.
_LENDERS_TOLD: Final = 10


def _build_present(
    snapshot: Snapshot, on: date, levels: Mapping[str, Mapping[str, int]], away: frozenset[str]
) -> dict[str, dict[str, int]]:
    """Return the levels of those who are employed and there."""
    there = {
        person.id
        for person in snapshot.people.values()
        if is_employed(person, on) and person.id not in away and not is_absent(snapshot, person.id, on)
    }
    return {
        competency: {person: rank for person, rank in held.items() if person in there}
        for competency, held in levels.items()
    }
