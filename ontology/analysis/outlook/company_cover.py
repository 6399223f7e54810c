"""The cover of all teams at once: the most fragile needs, who holds up several teams, who could lend to whom. Pure.

May import coverage, presence, chance, holders, company holding and lending, and the snapshot. One pass over
the levels that needs ask for; learning paths only for the needs told of, see `company_lending`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Final, Literal

from ontology.analysis.cover.chance import compute_chance_of_cover
from ontology.analysis.cover.coverage import STATES, CoverState, NeedScope, build_need_scopes
from ontology.analysis.cover.fragile_needs import require_absence_rate
from ontology.analysis.cover.holders import build_company_levels
from ontology.analysis.cover.nearest import PathFinder
from ontology.analysis.cover.presence import build_presences, is_absent, is_employed
from ontology.analysis.outlook.company_holding import HoldingPerson, find_holding
from ontology.analysis.outlook.company_lending import Exchange, Lender, find_exchanges, find_lenders
from ontology.errors import InputError
from ontology.graph.snapshot import Snapshot

__all__ = [
    "CompanyCoverResult",
    "CompanyNeed",
    "StateCount",
    "build_company_scopes",
    "compute_company_cover",
]

ORDER_RULE: Final = (
    "First the worse state; then the higher criticality; then the smaller chance of cover (without an absence rate: "
    "after those that have one); then the fewer people above the minimum; then by team, competency, level and shift."
)


@dataclass(frozen=True, slots=True)
class StateCount:
    """How many needs, each once for every shift, stand so."""

    state: CoverState
    needs: int


@dataclass(frozen=True, slots=True)
class CompanyNeed:
    """A need of a team where it counts, and the teams that could lend someone for it."""

    team: str
    competency: str
    level: int
    applies: str
    shift: str | None
    criticality: int
    minimum: int
    target: int
    depth: int
    state: CoverState
    chance: float | None
    lenders_found: int
    lenders: tuple[Lender, ...]


@dataclass(frozen=True, slots=True)
class CompanyCoverResult:
    """The cover of every team on a date.

    `people` counts those employed, `needs_found` all needs where they count; `needs` are the most fragile of them,
    `holding` the first of `holding_found` people by id. `status` is "optimal" where every learning path is proved,
    "feasible" where the time limit struck.
    """

    on: date
    away: tuple[str, ...]
    absence_rate: float | None
    within_hours: float
    status: Literal["optimal", "feasible"]
    teams: int
    people: int
    needs_found: int
    states: tuple[StateCount, ...]
    order_rule: str
    needs: tuple[CompanyNeed, ...]
    holding_found: int
    holding: tuple[HoldingPerson, ...]
    exchanges: tuple[Exchange, ...]
    remarks: tuple[str, ...]


def build_company_scopes(
    snapshot: Snapshot, on: date, away: frozenset[str] = frozenset()
) -> tuple[list[NeedScope], dict[str, dict[str, int]]]:
    """Return every need of every team where it counts, by team, and the levels it rests on.

    Returns
    -------
    scopes : list of NeedScope
        Those of `build_need_scopes` for each team, in the order of team ids.
    levels : dict
        Competency id -> person id -> level, of the competencies that needs ask for.

    Notes
    -----
    O(people + assessments of these competencies + needs x members).
    """
    asked = {need.competency for team_id in snapshot.teams for need in snapshot.get_cover_needs(team_id)}
    levels = build_company_levels(snapshot, on, asked)
    presences = build_presences(snapshot, on, levels, away)
    return [scope for presence in presences.values() for scope in build_need_scopes(presence)], levels


def compute_company_cover(
    snapshot: Snapshot,
    on: date,
    *,
    away: frozenset[str] = frozenset(),
    absence_rate: float | None = None,
    limit: int = 20,
    within_hours: float = 40.0,
    time_limit_s: float | None = None,
) -> CompanyCoverResult:
    """Return the cover of all teams: fragile needs, people who hold up several teams, teams that could lend.

    Parameters
    ----------
    snapshot : Snapshot
    on : date
    away : frozenset of str
        People taken as absent on top of the recorded absences.
    absence_rate : float or None
        One rate for every team in place of the teams' own.
    limit : int
        Most needs told, and most people who hold up several teams.
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
    scopes, levels = build_company_scopes(snapshot, on, away)
    chances = _get_chances(snapshot, scopes, absence_rate)
    order = sorted(range(len(scopes)), key=lambda n: _get_key(scopes[n], chances[n]))[:limit]
    present = _build_present(snapshot, on, levels, away)
    leaning = _find_leaning(scopes)
    finder = PathFinder(snapshot, time_limit_s)
    remarks: list[str] = []
    shown = []
    lent: dict[int, tuple[Lender, ...]] = {}
    for n in order:
        lenders, remark = find_lenders(snapshot, finder, scopes[n], present, leaning, on, within_hours)
        lent[n] = lenders
        if remark is not None and remark not in remarks:
            remarks.append(remark)
        shown.append(_build_need(scopes[n], chances[n], lenders))
    holding = find_holding(snapshot, on, scopes, present)
    if any(chance is None for chance in chances):
        remarks.append("Some teams have no absence rate and none was given: no chance of cover is told for them.")
    remarks.append(
        "Lending and learning are looked at for the needs told here only, and among people who are there and hold some "
        "level of the competency; that nothing of the lender's needs falls is looked at, its places are not."
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
    snapshot: Snapshot, on: date, levels: dict[str, dict[str, int]], away: frozenset[str]
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


def _find_leaning(scopes: Sequence[NeedScope]) -> set[str]:
    """Return everyone without whom a need of their team would be short that is not."""
    return {person for scope in scopes if scope.depth == scope.need.minimum for person in scope.present}
