"""How a team stands on a day, as its own answers say it, and what differs between two states of it. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Final

from ontology.analysis.cover.coverage import CoverageRow, CoverState, build_need_scopes, compute_coverage
from ontology.analysis.cover.presence import get_presence
from ontology.analysis.places.holding import Fallen, build_holding
from ontology.analysis.places.tolerance import compute_tolerance
from ontology.model.identity import PeopleCount
from ontology.snapshot.snapshot import Snapshot

__all__ = ["NOTHING", "NeedDifference", "NeedKey", "TeamDay", "get_team_day", "iterate_need_differences"]

_DAYS_KEPT: Final = 4

#: Competency, level, applies.
NeedKey = tuple[str, int, str]


@dataclass(frozen=True, slots=True)
class NeedDifference:
    """A cover need that stands otherwise; null on a side on which it is not asked."""

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level needed."]
    applies: Annotated[str, "team, each-shift, or the id of one shift."]
    state_before: Annotated[CoverState | None, "How it stood; null where it was not asked."]
    state_after: Annotated[CoverState | None, "How it stands; null where it is no longer asked."]
    depth_before: Annotated[PeopleCount | None, "Members present at or above the level, before."]
    depth_after: Annotated[PeopleCount | None, "Members present at or above the level, after."]


@dataclass(frozen=True, slots=True)
class TeamDay:
    """How a team stands on a day.

    `falls` holds for each single point of failure what would fall; `able` who of those present can fill a place;
    `tolerance` is None where something is broken already or nothing is asked.
    """

    needs: Mapping[NeedKey, CoverageRow]
    falls: Mapping[str, Fallen]
    able: Mapping[str, frozenset[str]]
    places_filled: int
    tolerance: int | None


#: Of a team that is not there.
NOTHING: Final = TeamDay({}, {}, {}, 0, None)


def get_team_day(snapshot: Snapshot, team_id: str, on: date) -> TeamDay:
    """Return how a team stands on a day; `NOTHING` where there is no such team. Of the last days it is kept."""
    if team_id not in snapshot.teams:
        return NOTHING
    by_day: dict[date, dict[str, TeamDay]] = snapshot.keep("team days", dict)
    if on not in by_day and len(by_day) >= _DAYS_KEPT:
        by_day.clear()
    known = by_day.setdefault(on, {})
    if team_id not in known:
        known[team_id] = _build(snapshot, team_id, on)
    return known[team_id]


def _build(snapshot: Snapshot, team_id: str, on: date) -> TeamDay:
    presence = get_presence(snapshot, team_id, on)
    scopes = build_need_scopes(presence)
    holding = build_holding(presence, scopes)
    tolerance, _ = compute_tolerance(scopes, holding.slots, holding.matching)
    return TeamDay(
        needs={(row.competency, row.level, row.applies): row for row in compute_coverage(snapshot, team_id, on).needs},
        falls={person: holding.find_broken({person}) for person in sorted(holding.leaning_people)},
        able={slot.place: frozenset(slot.able) for slot in holding.slots if slot.place is not None},
        places_filled=sum(holding.slots[index].place is not None for index in holding.matching.slot_of.values()),
        tolerance=tolerance.overall,
    )


def iterate_need_differences(before: TeamDay, after: TeamDay) -> Iterator[NeedDifference]:
    """Yield the needs whose state differs, in the order of competency, level and scope."""
    for key in sorted(before.needs.keys() | after.needs.keys()):
        old, new = before.needs.get(key), after.needs.get(key)
        states = (old.state if old else None, new.state if new else None)
        if states[0] != states[1]:
            yield NeedDifference(*key, *states, old.depth if old else None, new.depth if new else None)
