"""What is said of the effect of a change; field names are the JSON keys. Pure."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from ontology.analysis.effect.team_day import NeedDifference
from ontology.model.identity import PeopleCount, PersonId

__all__ = [
    "Asked",
    "CourseEffect",
    "Effect",
    "GroupEffect",
    "LevelEffect",
    "NumberEffect",
    "PathEffect",
    "RoleEffect",
    "SinglePointEffect",
    "TeamEffect",
]

#: may-start, works-alone, full -> whom it is about.
PeopleByStanding = Mapping[str, tuple[PersonId, ...]]
CountByStanding = Mapping[str, PeopleCount]


@dataclass(frozen=True, slots=True)
class GroupEffect:
    """What a change does to the readiness and standing of some people for a role."""

    people: Annotated[PeopleCount, "How many people these are."]
    readiness_up: Annotated[PeopleCount, "Of them, people whose readiness rises."]
    readiness_down: Annotated[PeopleCount, "Of them, people whose readiness falls."]
    started: Annotated[PeopleByStanding, "Ids of people who reach may-start, works-alone or full by it, where seen."]
    stopped: Annotated[PeopleByStanding, "Ids of people who lose may-start, works-alone or full by it, where seen."]
    started_people: Annotated[CountByStanding, "How many people reach each."]
    stopped_people: Annotated[CountByStanding, "How many people lose each."]


@dataclass(frozen=True, slots=True)
class RoleEffect:
    """What a change does to a role."""

    id: Annotated[str, "Id of the role."]
    requirements_changed: Annotated[int, "Requirements of it that come, go or ask otherwise."]
    everyone: Annotated[GroupEffect, "Of everyone employed on the day."]
    holders: Annotated[GroupEffect, "Of those whose role it is on the day."]


@dataclass(frozen=True, slots=True)
class LevelEffect:
    """A competency in which levels on the day differ."""

    competency: Annotated[str, "Id of the competency."]
    people_up: Annotated[PeopleCount, "People whose level rises."]
    people_down: Annotated[PeopleCount, "People whose level falls."]


@dataclass(frozen=True, slots=True)
class PathEffect:
    """How learning paths to the full levels of a role differ; each that differs is counted once."""

    role: Annotated[str, "Id of the role."]
    from_: Annotated[Literal["nothing", "holders"], "From nothing, or from what those hold whose role it is."]
    people: Annotated[PeopleCount | None, "People whose path differs; null from nothing."]
    longer: Annotated[PeopleCount, "Of them, people whose path takes more hours."]
    shorter: Annotated[PeopleCount, "Of them, people whose path takes fewer hours."]
    impossible: Annotated[PeopleCount, "Of them, people whose path no longer leads to every target."]
    possible: Annotated[PeopleCount, "Of them, people whose path leads to every target, and did not."]
    hours_before: Annotated[float, "Study hours of the paths that differ, together, before."]
    hours_after: Annotated[float, "Study hours of the paths that differ, together, after."]


@dataclass(frozen=True, slots=True)
class SinglePointEffect:
    """Single points of failure of a team that come and go."""

    gained: Annotated[tuple[PersonId, ...], "Ids of people on whom alone something comes to rest, where seen."]
    lost: Annotated[tuple[PersonId, ...], "Ids of people on whom alone nothing rests any more, where seen."]
    gained_people: Annotated[PeopleCount, "How many people come."]
    lost_people: Annotated[PeopleCount, "How many people go."]


@dataclass(frozen=True, slots=True)
class NumberEffect:
    """A number before and after; null where it cannot be told."""

    before: Annotated[PeopleCount | None, "Before."]
    after: Annotated[PeopleCount | None, "After."]


@dataclass(frozen=True, slots=True)
class TeamEffect:
    """What a change does to a team."""

    id: Annotated[str, "Id of the team."]
    needs: Annotated[tuple[NeedDifference, ...], "Cover needs whose state differs."]
    single_points: Annotated[SinglePointEffect, "Single points of failure that come and go."]
    places_filled: Annotated[NumberEffect, "Slots of places filled at once."]
    tolerance: Annotated[
        NumberEffect, "Absences survived, whichever they are; null where something is broken or nothing is asked."
    ]


@dataclass(frozen=True, slots=True)
class CourseEffect:
    """A course that loses or gains its purpose: nothing asks any more for what it teaches, or something comes to."""

    id: Annotated[str, "Id of the course."]
    purpose: Annotated[Literal["lost", "gained"], "What becomes of its purpose."]


@dataclass(frozen=True, slots=True)
class Asked:
    """How much is asked."""

    pairs: Annotated[int, "Roles times people: readiness and standing."]
    paths: Annotated[int, "Learning paths."]
    teams: Annotated[int, "Teams."]


@dataclass(frozen=True, slots=True)
class Effect:
    """What a change does: the same people on the same day, before and after. Only what differs is told."""

    on: Annotated[dt.date, "The day asked about."]
    roles: Annotated[
        tuple[RoleEffect, ...], "Roles for which people stand otherwise, or whose requirements changed, by id."
    ]
    levels: Annotated[tuple[LevelEffect, ...], "Competencies in which levels differ, by id."]
    paths: Annotated[tuple[PathEffect, ...], "Roles to which learning paths differ, by id."]
    teams: Annotated[tuple[TeamEffect, ...], "Teams that stand otherwise, by id."]
    courses: Annotated[tuple[CourseEffect, ...], "Courses that lose or gain their purpose, by id."]
    examined: Annotated[Asked, "What was asked: all that the change can touch."]
    of: Annotated[Asked, "How much there is; the rest is as before."]
    status: Annotated[Literal["complete", "cut-short"], "Whether all was asked, or the time was up before."]
