"""Which teams could lend someone for a need of another: people who qualify, or are within some hours of it. Pure.

May import coverage, holders, nearest, lending, levels and the snapshot. Nothing that holds in a team that lends may
break: needs in every shift, places, slots of groups.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Final

from ontology.analysis.cover.coverage import NeedScope
from ontology.analysis.cover.holders import LevelBasis, make_level_basis
from ontology.analysis.cover.nearest import PathFinder, can_end
from ontology.analysis.places.holding import FallenNeed, Holding
from ontology.analysis.places.lending import Lending
from ontology.analysis.profiles.appointments import is_appointed
from ontology.analysis.profiles.belonging import get_person_on
from ontology.analysis.profiles.levels import get_level
from ontology.model.identity import CountOf, PeopleCount, PersonId
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Exchange", "Lender", "LendingPerson", "LentNeed", "NearPerson", "find_exchanges", "find_lenders"]

#: Different learning paths looked for in one answer about the company.
PATHS_LIMIT: Final = 300
#: People told for each team and need; how many there are is told beside them.
_PEOPLE_TOLD: Final = 5
_SOME_LEFT_OUT: Final = (
    f"After {PATHS_LIMIT} different learning paths no more were looked for: more people may be within reach of a need."
)


@dataclass(frozen=True, slots=True)
class LendingPerson:
    """Someone elsewhere who qualifies; `is_spare` where they are one of those who could be lent at once."""

    person: Annotated[PersonId, "Id of the person."]
    is_spare: Annotated[bool, "Whether they are one of those who could be lent at once."]
    basis: Annotated[LevelBasis | None, "What the level rests on."]


@dataclass(frozen=True, slots=True)
class NearPerson:
    """Someone elsewhere who is within the hours asked about, and not gone before the courses would end.

    `have` is the level held, with what it rests on.
    """

    person: Annotated[PersonId, "Id of the person."]
    have: Annotated[int, "The level held."]
    source: Annotated[str | None, "Who assessed it."]
    assessed_on: Annotated[date | None, "The day it was assessed."]
    study_hours: Annotated[float, "Hours of the learning path."]
    courses: Annotated[tuple[str, ...], "The courses, in order."]


@dataclass(frozen=True, slots=True)
class Lender:
    """A team that could lend for a need."""

    team: Annotated[str, "Id of the team."]
    qualified: Annotated[PeopleCount, "How many there qualify."]
    spare: Annotated[
        int,
        CountOf(of="qualified"),
        "How many of them could be lent at once: nothing that holds there breaks, one more breaks something.",
    ]
    near: Annotated[PeopleCount, "How many more are within the hours asked about."]
    worsens: Annotated[tuple[FallenNeed, ...], "Needs there that are short already and would have fewer still."]
    people: Annotated[tuple[LendingPerson, ...], "All who could be lent and some others who qualify, by id."]
    near_people: Annotated[tuple[NearPerson, ...], "Some who are near, by id."]


@dataclass(frozen=True, slots=True)
class LentNeed:
    """A need that is lent for."""

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level needed."]
    shift: Annotated[str | None, "Where it counts; null for the team."]


@dataclass(frozen=True, slots=True)
class Exchange:
    """Two teams each of which could lend someone for a need of the other, among the needs told."""

    team: Annotated[str, "Id of the one."]
    other: Annotated[str, "Id of the other."]
    team_lends: Annotated[tuple[LentNeed, ...], "Needs of the other for which the one could lend someone."]
    other_lends: Annotated[tuple[LentNeed, ...], "Needs of the one for which the other could lend someone."]


def find_lenders(
    snapshot: Snapshot,
    finder: PathFinder,
    scope: NeedScope,
    present: Mapping[str, Mapping[str, int]],
    lending: Lending,
    on: date,
    within_hours: float,
) -> tuple[tuple[Lender, ...], str | None]:
    """Return the teams that could lend for a need, and a remark where not all paths were looked for.

    Parameters
    ----------
    finder : PathFinder
        Shared by all needs of an answer: alike ways of standing are searched once, `PATHS_LIMIT` in all.
    scope : NeedScope
        The need.
    present : Mapping of competency id to Mapping of person id to level
        Everyone employed and there who holds a level of it.
    lending : Lending
        What holds in each team on the day; shared by all needs of an answer.

    Returns
    -------
    tuple of Lender
        First the teams that could lend more people, then more who qualify, then more who are near; then by id.
    """
    need = scope.need
    competency = snapshot.competencies[need.competency]
    qualified: defaultdict[str, list[str]] = defaultdict(list)
    near: defaultdict[str, list[NearPerson]] = defaultdict(list)
    remark = None
    for person_id, rank in present[need.competency].items():
        team = get_person_on(snapshot, person_id, on).team
        if team in (need.team, "") or not is_appointed(snapshot, person_id, competency, need.level, on):
            continue
        if rank >= need.level:
            qualified[team].append(person_id)
            continue
        profile = finder.build_profile(person_id, on, need.competency)
        if finder.searched >= PATHS_LIMIT and not finder.is_searched(profile, need.competency, need.level):
            remark = _SOME_LEFT_OUT
            continue
        path = finder.find(profile, need.competency, need.level)
        courses = tuple(course.id for course in path.courses)
        is_near = path.status != "unreachable" and path.study_hours <= within_hours
        if is_near and can_end(snapshot, person_id, courses, on):
            known = get_level(snapshot, person_id, competency, on)
            source, day = (known.basis.source, known.basis.date) if known.basis else (None, None)
            near[team].append(NearPerson(person_id, rank, source, day, path.study_hours, courses))
    lenders = []
    for team in sorted(qualified.keys() | near.keys()):
        spare = lending.find(team, qualified[team])
        told = [*spare, *sorted(set(qualified[team]).difference(spare))][: max(len(spare), _PEOPLE_TOLD)]
        lenders.append(
            Lender(
                team=team,
                qualified=len(qualified[team]),
                spare=len(spare),
                near=len(near[team]),
                worsens=_get_worse(lending.get_holding(team), spare),
                people=tuple(_build_person(snapshot, on, need.competency, p, p in spare) for p in sorted(told)),
                near_people=tuple(sorted(near[team], key=lambda row: row.person)[:_PEOPLE_TOLD]),
            )
        )
    lenders.sort(key=lambda row: (-row.spare, -row.qualified, -row.near, row.team))
    return tuple(lenders), remark


def _get_worse(holding: Holding | None, gone: Sequence[str]) -> tuple[FallenNeed, ...]:
    scopes = () if holding is None else holding.scopes
    return tuple(
        FallenNeed(scope.need.competency, scope.need.level, scope.need.applies, scope.shift)
        for scope in scopes
        if scope.is_short and not set(gone).isdisjoint(scope.present)
    )


def _build_person(snapshot: Snapshot, on: date, competency_id: str, person_id: str, is_spare: bool) -> LendingPerson:
    known = get_level(snapshot, person_id, snapshot.competencies[competency_id], on)
    return LendingPerson(person_id, is_spare, make_level_basis(known))


def find_exchanges(needs: Sequence[tuple[NeedScope, Sequence[Lender]]]) -> tuple[Exchange, ...]:
    """Return the pairs of teams that could lend to each other among some needs, by ids; O(needs x lenders)."""
    lent: defaultdict[tuple[str, str], list[LentNeed]] = defaultdict(list)
    for scope, lenders in needs:
        need = scope.need
        for lender in lenders:
            if lender.spare:
                lent[lender.team, need.team].append(LentNeed(need.competency, need.level, scope.shift))
    return tuple(
        Exchange(team, other, tuple(lent[team, other]), tuple(lent[other, team]))
        for team, other in sorted(lent)
        if team < other and (other, team) in lent
    )
