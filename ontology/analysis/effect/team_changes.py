"""What changed about a team between a state and another: needs, single points, places, absences it stands. Pure."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Annotated

from ontology.analysis.effect.between import Between
from ontology.analysis.effect.team_day import NeedDifference, TeamDay, get_team_day, iterate_need_differences
from ontology.analysis.effect.touching import Records, Touching
from ontology.analysis.effect.why import Touched, Why
from ontology.model.identity import PeopleCount, PersonId

__all__ = ["NeedChange", "NumberChange", "PointChange", "SinglePointChanges", "TeamChanges", "find_team_changes"]


@dataclass(frozen=True, slots=True)
class NeedChange(NeedDifference):
    """A cover need whose state differs, and why."""

    why: Why


@dataclass(frozen=True, slots=True)
class PointChange:
    """Someone whose absence alone makes something fall now and did not then, or the other way round."""

    id: Annotated[PersonId, "Id of the person."]
    why: Why


@dataclass(frozen=True, slots=True)
class SinglePointChanges:
    """Single points of failure that came and went, by id."""

    gained: Annotated[tuple[PointChange, ...], "On whom alone something rests now and did not then."]
    lost: Annotated[tuple[PointChange, ...], "On whom alone something rested then and does not now."]


@dataclass(frozen=True, slots=True)
class NumberChange:
    """A number that differs, or not; null where it cannot be told."""

    before: Annotated[PeopleCount | None, "In the state before."]
    after: Annotated[PeopleCount | None, "In the state after."]
    why: Why


@dataclass(frozen=True, slots=True)
class TeamChanges:
    """What changed about a team since a state; only needs whose state differs are told."""

    team: Annotated[str, "The team."]
    since: Annotated[str, "The state before, as it was named."]
    before_on: Annotated[dt.date, "The day on which the state before is judged: its own."]
    on: Annotated[dt.date, "The day on which it is judged now."]
    needs: Annotated[tuple[NeedChange, ...], "Cover needs whose state differs."]
    single_points: Annotated[SinglePointChanges, "Single points of failure that came and went."]
    places_filled: Annotated[NumberChange, "Slots of places filled at once."]
    tolerance: Annotated[
        NumberChange, "Absences survived, whichever they are; null where something is broken or nothing is asked."
    ]
    remarks: Annotated[tuple[str, ...], "What else should be known."] = ()


def find_team_changes(between: Between, team_id: str) -> TeamChanges:
    """Return what changed about a team from a state on its day to another on another.

    Parameters
    ----------
    team_id : str
        A team of the state after; it need not be in the state before.

    Raises
    ------
    UnknownIdError
        There is no such team in the state after.

    Notes
    -----
    Two coverages, matchings and tolerances; O(records of the tables that differ).
    """
    before, after = between.before, between.after
    after.require_team(team_id)
    then, now = get_team_day(before, team_id, between.before_on), get_team_day(after, team_id, between.on)
    touching = Touching(before, after, between.before_on, between.on)
    of_need = {key: touching.of_need(team_id, key, then, now) for key in then.needs.keys() | now.needs.keys()}
    of_places = touching.of_places(team_id, then, now)
    everything = of_places.union(*of_need.values())

    in_groups = {
        (row.competency, row.level, row.applies)
        for state in (before, after)
        for row in state.get_cover_needs(team_id)
        if row.together
    }

    def of_point(person: str, day: TeamDay) -> Records:
        fallen = day.falls[person]
        keys = [(row.competency, row.level, row.applies) for row in fallen.needs]
        # the slots of places and groups are filled at once, by different people: what changed of one can empty another
        has_slots = bool(fallen.places or fallen.together)
        keys += in_groups if has_slots else ()
        of_slots = of_places if has_slots else frozenset()
        return of_slots.union(*(of_need[key] for key in keys))

    needs = [(row, of_need[row.competency, row.level, row.applies]) for row in iterate_need_differences(then, now)]
    gained = {person: of_point(person, now) for person in sorted(now.falls.keys() - then.falls.keys())}
    lost = {person: of_point(person, then) for person in sorted(then.falls.keys() - now.falls.keys())}
    asked: list[Touched] = [touched for _, touched in needs]
    tell = between.reasons.read([*asked, *gained.values(), *lost.values(), of_places, everything])

    def tell_number(old: int | None, new: int | None, touched: Touched) -> NumberChange:
        return NumberChange(old, new, () if old == new else tell(touched))

    return TeamChanges(
        team=team_id,
        since=between.since,
        before_on=between.before_on,
        on=between.on,
        needs=tuple(_explain(row, tell(touched)) for row, touched in needs),
        single_points=SinglePointChanges(
            tuple(PointChange(person, tell(touched)) for person, touched in gained.items()),
            tuple(PointChange(person, tell(touched)) for person, touched in lost.items()),
        ),
        places_filled=tell_number(then.places_filled, now.places_filled, of_places),
        tolerance=tell_number(then.tolerance, now.tolerance, everything),
        remarks=() if team_id in before.teams else ("The team was not there then.",),
    )


def _explain(row: NeedDifference, why: tuple[str, ...]) -> NeedChange:
    return NeedChange(
        row.competency,
        row.level,
        row.applies,
        row.state_before,
        row.state_after,
        row.depth_before,
        row.depth_after,
        why,
    )
