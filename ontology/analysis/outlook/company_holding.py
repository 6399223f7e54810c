"""People on whom needs of several teams hang: as a member, or as the only one elsewhere who could stand in. Pure.

May import coverage, holders, levels and the snapshot. A fault of the organisation, not of the person.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Annotated

from ontology.analysis.cover.coverage import NeedScope
from ontology.analysis.cover.holders import LevelBasis, make_level_basis
from ontology.analysis.profiles.appointments import is_appointed
from ontology.analysis.profiles.belonging import get_person_on
from ontology.analysis.profiles.levels import get_level
from ontology.model.identity import PersonId
from ontology.snapshot.snapshot import Snapshot

__all__ = ["HeldNeed", "HoldingPerson", "find_holding"]


@dataclass(frozen=True, slots=True)
class HeldNeed:
    """A need that hangs on one person, and what the person's level rests on.

    `as_member` where it would be short without them today; otherwise they are of another team and the only one in the
    whole company who could stand in, should one more be missing than the need can spare.
    """

    team: Annotated[str, "Whose need."]
    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level needed."]
    applies: Annotated[str, "team, each-shift, or the id of one shift."]
    shift: Annotated[str | None, "Where it counts; null for the team."]
    as_member: Annotated[bool, "yes: it is short without them; no: they are the only one elsewhere who could stand in."]
    basis: Annotated[LevelBasis | None, "What the level rests on."]


@dataclass(frozen=True, slots=True)
class HoldingPerson:
    """Someone on whom needs of at least two teams hang: a fault of the organisation, no measure of the person."""

    id: Annotated[PersonId, "Id of the person."]
    team: Annotated[str, "Their team."]
    teams: Annotated[tuple[str, ...], "Teams whose needs hang on them."]
    holds: Annotated[tuple[HeldNeed, ...], "These needs."]


def find_holding(
    snapshot: Snapshot, on: date, scopes: Sequence[NeedScope], present: Mapping[str, Mapping[str, int]]
) -> list[HoldingPerson]:
    """Return who covers needs of at least two teams, by id.

    Parameters
    ----------
    scopes : sequence of NeedScope
        The needs of all teams where they count.
    present : Mapping of competency id to Mapping of person id to level
        Everyone employed and there who holds a level of it.

    Notes
    -----
    O(levels log levels + needs x members).
    """
    held: defaultdict[str, list[tuple[NeedScope, bool]]] = defaultdict(list)
    # people by the highest level first: who qualifies is a head of the list
    ranked = {c: sorted(group, key=lambda p: (-group[p], p)) for c, group in present.items()}
    for scope in scopes:
        need = scope.need
        if scope.depth > need.minimum:
            continue
        if scope.depth == need.minimum:
            for person_id in scope.present:
                held[person_id].append((scope, True))
        who = ranked[need.competency]
        competency = snapshot.competencies[need.competency]
        if competency.appointment:
            who = [i for i in who if is_appointed(snapshot, i, competency, need.level, on)]
        only = _get_only_other(who, present[need.competency], need.level, set(scope.present))
        if only is not None and get_person_on(snapshot, only, on).team != need.team:
            held[only].append((scope, False))
    people = []
    for person_id, rows in sorted(held.items()):
        teams = {scope.need.team for scope, _ in rows}
        if len(teams) > 1:
            holds = tuple(_build_held(snapshot, on, person_id, scope, as_member) for scope, as_member in rows)
            people.append(
                HoldingPerson(person_id, get_person_on(snapshot, person_id, on).team, tuple(sorted(teams)), holds)
            )
    return people


def _get_only_other(ranked: Sequence[str], ranks: Mapping[str, int], level: int, own: set[str]) -> str | None:
    """Return the only one at or above a level who is not among some; None where there are none or several."""
    found = None
    for person_id in ranked:
        if ranks[person_id] < level:
            break
        if person_id not in own:
            if found is not None:
                return None
            found = person_id
    return found


def _build_held(snapshot: Snapshot, on: date, person_id: str, scope: NeedScope, as_member: bool) -> HeldNeed:
    need = scope.need
    known = get_level(snapshot, person_id, snapshot.competencies[need.competency], on)
    return HeldNeed(
        need.team, need.competency, need.level, need.applies, scope.shift, as_member, make_level_basis(known)
    )
