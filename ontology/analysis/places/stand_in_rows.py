"""What is told of stand-ins: people, needs and places, and what other teams could lend. Pure.

May import coverage's states, holders, holding and slots.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from ontology.analysis.cover.coverage import CoverState
from ontology.analysis.cover.holders import LevelBasis
from ontology.analysis.places.holding import FallenNeed
from ontology.analysis.places.slots import TogetherNeed
from ontology.model.identity import CountOf, PeopleCount, PeopleTogether, PersonId

__all__ = ["NeedStandIns", "PlaceStandIns", "StandIn", "StandInsResult", "TeamLending"]


@dataclass(frozen=True, slots=True)
class StandIn:
    """Someone who qualifies and is there on the day."""

    person: Annotated[PersonId, "Id of the person."]
    team: Annotated[str, "Their team."]
    shift: Annotated[str | None, "Their shift."]
    is_own_team: Annotated[bool, "Whether it is the team asked about."]
    is_other_shift: Annotated[bool, "Whether they are of the same team and another shift."]
    counts_already: Annotated[bool, "Whether they are in the depth already: then nobody is added."]
    is_same_slot: Annotated[bool, "Whether staffing has them on a slot of the same place or group already."]
    levels: Annotated[tuple[LevelBasis, ...], "What they hold of what is asked."]
    leaves_needs: Annotated[
        tuple[FallenNeed, ...], "Needs of their own team, in every shift, that hold and would be short."
    ]
    leaves_places: Annotated[tuple[str, ...], "Places there, once for every slot, that are filled and would be empty."]
    leaves_together: Annotated[tuple[TogetherNeed, ...], "Slots of groups there that are filled and would be empty."]


@dataclass(frozen=True, slots=True)
class TeamLending:
    """Another team of which so many qualify, and the most of them who could be lent at once: nothing there breaks.

    Who leads a team is no part of the graph: `led_by` is filled in where it is known.
    """

    team: Annotated[str, "Id of the team."]
    qualified: Annotated[PeopleCount, "How many there qualify and are there."]
    could_be_lent: Annotated[
        tuple[PersonId, ...], "The most of them who could leave at once so that nothing breaks that holds there."
    ]
    could_be_lent_count: Annotated[int, CountOf(of="qualified"), "How many that are."]
    led_by: Annotated[tuple[str, ...], "Who leads it, by name, as accounts say; to be asked for them."] = ()


@dataclass(frozen=True, slots=True)
class NeedStandIns:
    """A need where it counts, and who could stand in.

    `depth` is that of the day, `depth_without` that without the person asked about; `found` counts all who qualify,
    `stand_ins` holds the first of them; `lending` tells of the other teams in the order of ids.
    """

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level needed."]
    applies: Annotated[str, "team, each-shift, or the id of one shift."]
    shift: Annotated[str | None, "Where it counts; null for the team."]
    minimum: Annotated[int, "People present at the least."]
    depth: Annotated[PeopleTogether, "Members present at or above the level."]
    state: Annotated[CoverState, "How it stands."]
    depth_without: Annotated[PeopleCount, "The depth without the person asked about."]
    is_short_without: Annotated[bool, "Whether it is short without them."]
    found: Annotated[PeopleCount, "How many could stand in."]
    stand_ins: Annotated[tuple[StandIn, ...], "The first of them: own team first, then by team and id; no ranking."]
    lending: Annotated[tuple[TeamLending, ...], "What other teams could lend, by id."]


@dataclass(frozen=True, slots=True)
class PlaceStandIns:
    """A place the person is able to fill; `is_empty_without` where staffing leaves a slot more of it empty without."""

    place: Annotated[str, "Id of the place."]
    role: Annotated[str, "Id of the role."]
    shift: Annotated[str | None, "Its shift; null for the team."]
    count: Annotated[int, "People at once."]
    is_empty_without: Annotated[bool, "Whether one slot more stays empty without the person asked about."]
    found: Annotated[PeopleCount, "How many could stand in."]
    stand_ins: Annotated[tuple[StandIn, ...], "The first of them: own team first, then by team and id; no ranking."]
    lending: Annotated[tuple[TeamLending, ...], "What other teams could lend, by id."]


@dataclass(frozen=True, slots=True)
class StandInsResult:
    """Who can stand in: for everything a person counts for, or for one need."""

    team: Annotated[str, "The team."]
    on: Annotated[date, "The day asked about."]
    away: Annotated[tuple[PersonId, ...], "People taken as absent because the question said so."]
    person: Annotated[PersonId | None, "For whom; null where a need was asked about."]
    competency: Annotated[str | None, "For which need; null where a person was asked about."]
    level: Annotated[int | None, "Only at this level."]
    needs: Annotated[tuple[NeedStandIns, ...], "The needs."]
    places: Annotated[tuple[PlaceStandIns, ...], "The places the person is able to fill."]
    remarks: Annotated[tuple[str, ...], "What else should be known."]
