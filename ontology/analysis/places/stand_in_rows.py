"""What is told of stand-ins: people, needs and places, and what other teams could lend. Pure.

May import coverage's states, holders, holding and slots.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from ontology.analysis.cover.coverage import CoverState
from ontology.analysis.cover.holders import LevelBasis
from ontology.analysis.places.holding import FallenNeed
from ontology.analysis.places.slots import TogetherNeed

__all__ = ["NeedStandIns", "PlaceStandIns", "StandIn", "StandInsResult", "TeamLending"]


@dataclass(frozen=True, slots=True)
class StandIn:
    """Someone who qualifies and is there on the day.

    Attributes
    ----------
    person, team : str
    shift : str or None
    is_own_team : bool
    is_other_shift : bool
        Whether they are of the same team and another shift than the need or place.
    counts_already : bool
        Whether they are in the need's depth, or among the shift's people for the place, already: then standing in adds
        nobody, it keeps the need met.
    is_same_slot : bool
        Whether staffing has them on a slot of the very place, or of the need's group, already.
    levels : tuple of LevelBasis
        What they hold of what is asked, with source and date.
    leaves_needs, leaves_places, leaves_together : tuple of FallenNeed, tuple of str, tuple of TogetherNeed
        What holds in their own team, whichever it is, and would not without them; see `Fallen`.
    """

    person: str
    team: str
    shift: str | None
    is_own_team: bool
    is_other_shift: bool
    counts_already: bool
    is_same_slot: bool
    levels: tuple[LevelBasis, ...]
    leaves_needs: tuple[FallenNeed, ...]
    leaves_places: tuple[str, ...]
    leaves_together: tuple[TogetherNeed, ...]


@dataclass(frozen=True, slots=True)
class TeamLending:
    """Another team of which so many qualify, and the most of them who could be lent at once: nothing there breaks."""

    team: str
    qualified: int
    could_be_lent: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NeedStandIns:
    """A need where it counts, and who could stand in.

    `depth` is that of the day, `depth_without` that without the person asked about; `found` counts all who qualify,
    `stand_ins` holds the first of them; `lending` tells of the other teams in the order of ids.
    """

    competency: str
    level: int
    applies: str
    shift: str | None
    minimum: int
    depth: int
    state: CoverState
    depth_without: int
    is_short_without: bool
    found: int
    stand_ins: tuple[StandIn, ...]
    lending: tuple[TeamLending, ...]


@dataclass(frozen=True, slots=True)
class PlaceStandIns:
    """A place the person is able to fill; `is_empty_without` where staffing leaves a slot more of it empty without."""

    place: str
    role: str
    shift: str | None
    count: int
    is_empty_without: bool
    found: int
    stand_ins: tuple[StandIn, ...]
    lending: tuple[TeamLending, ...]


@dataclass(frozen=True, slots=True)
class StandInsResult:
    """Who can stand in: for everything a person counts for, or for one need."""

    team: str
    on: date
    away: tuple[str, ...]
    person: str | None
    competency: str | None
    level: int | None
    needs: tuple[NeedStandIns, ...]
    places: tuple[PlaceStandIns, ...]
    remarks: tuple[str, ...]
