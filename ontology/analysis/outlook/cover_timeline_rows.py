"""What a timeline of cover consists of: intervals, holes, changes and acts. Pure.

May import coverage's states, causes and mends.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated, Literal

from ontology.analysis.cover.coverage import CoverState
from ontology.analysis.outlook.cover_causes import Cause
from ontology.analysis.outlook.cover_mends import Mend
from ontology.model.identity import PeopleShort, PeopleTogether, PersonId

__all__ = [
    "CoverAct",
    "CoverChange",
    "CoverHole",
    "CoverInterval",
    "CoverTimelineResult",
    "NeedTimeline",
    "SlotInterval",
    "SlotState",
    "SlotTimeline",
    "TimelineKind",
]

#: What changes or is missing: a need, a slot of a place, or a slot of a need that different people meet at once.
TimelineKind = Literal["need", "place", "together"]
SlotState = Literal["filled", "unfilled"]


@dataclass(frozen=True, slots=True)
class CoverInterval:
    """Days, both inclusive, on which the same people count for a need; `causes` tell what the first of them brought.

    `qualified` are ids at or above the level, absent ones included, `present` those of them who are there, both sorted.
    The first interval has no causes: what led to it lies before.
    """

    from_date: Annotated[date, "The first day."]
    to_date: Annotated[date, "The last day."]
    depth: Annotated[PeopleTogether, "Members present at or above the level."]
    state: Annotated[CoverState, "How it stands: the first that holds."]
    qualified: Annotated[tuple[PersonId, ...], "Ids of those at or above the level, absent ones included."]
    present: Annotated[tuple[PersonId, ...], "Those of them who are there."]
    causes: Annotated[tuple[Cause, ...], "What the first day brought; none on the first day told."]


@dataclass(frozen=True, slots=True)
class CoverHole:
    """Days on which a need, a place or a group lacks one person more."""

    from_date: Annotated[date, "The first day; before the days told where it had begun by then."]
    to_date: Annotated[date, "The last day."]
    is_begin_known: Annotated[bool, "no: it was open as far back as records tell, the first day told stands for that."]
    is_open: Annotated[bool, "Whether it is still open on the last day told."]
    lacking: Annotated[PeopleShort, "1 for the first person missing, 2 for a second at the same time, and so on."]
    causes: Annotated[tuple[Cause, ...], "What opened it; none where that is not known."]
    last_day_to_act: Annotated[date | None, "The last day to begin to close it; null where nobody could."]
    is_late: Annotated[bool, "Whether that day has passed, or nobody could close it."]
    mend: Annotated[Mend | None, "Who could close it, and how."]
    reason: Annotated[str | None, "Why nobody could."]


@dataclass(frozen=True, slots=True)
class NeedTimeline:
    """One cover need where it counts (`shift` None: the team), with its intervals and holes in the order of days."""

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level needed."]
    applies: Annotated[str, "team, each-shift, or the id of one shift."]
    shift: Annotated[str | None, "Where it counts; null for the team."]
    minimum: Annotated[int, "People present at the least."]
    target: Annotated[int, "People qualified."]
    criticality: Annotated[int, "1..5; 5 = life, law or supply within hours."]
    intervals: Annotated[tuple[CoverInterval, ...], "Every day told is in one of them, in order."]
    holes: Annotated[tuple[CoverHole, ...], "When it is short, by first day."]


@dataclass(frozen=True, slots=True)
class SlotInterval:
    """Days, both inclusive, on which as many slots are filled and the same people are able.

    `able` are ids of those who are there and could fill one, sorted; `filled` is how many staffing fills, all slots of
    the team taken together, and `state` whether that is all of them.
    """

    from_date: Annotated[date, "The first day."]
    to_date: Annotated[date, "The last day."]
    filled: Annotated[PeopleTogether, "Slots that staffing fills, all of the team taken together."]
    state: Annotated[SlotState, "Whether these are all."]
    able: Annotated[tuple[PersonId, ...], "Ids of those who are there and could fill one."]
    causes: Annotated[tuple[Cause, ...], "What the first day brought; none on the first day told."]

    @property
    def depth(self) -> int:
        """Slots filled: what people present are to a need."""
        return self.filled


@dataclass(frozen=True, slots=True)
class SlotTimeline:
    """The slots of one place, or of one need of a group where it counts (`shift` None: the team).

    `place` and `role` are None for a group; `competency`, `level`, `applies`, `together` and `criticality` for a place.
    """

    kind: Annotated[TimelineKind, "What it is."]
    place: Annotated[str | None, "Id of a place."]
    role: Annotated[str | None, "Role of a place."]
    competency: Annotated[str | None, "Of a group's need."]
    level: Annotated[int | None, "Of a group's need."]
    applies: Annotated[str | None, "Of a group's need: team, each-shift, or the id of one shift."]
    together: Annotated[str | None, "The group."]
    shift: Annotated[str | None, "Where it counts; null for the team."]
    criticality: Annotated[int | None, "Of a group's need, 1..5."]
    slots: Annotated[int, "People at once."]
    intervals: Annotated[tuple[SlotInterval, ...], "Every day told is in one of them, in order."]
    holes: Annotated[tuple[CoverHole, ...], "When a slot is unfilled, by first day."]


@dataclass(frozen=True, slots=True)
class CoverChange:
    """A need whose state changes on a day, or a place or group of which more or fewer slots are filled."""

    on: Annotated[date, "The day."]
    kind: Annotated[TimelineKind, "What changes."]
    place: Annotated[str | None, "Id of a place."]
    competency: Annotated[str | None, "Id of the competency; null for a place."]
    level: Annotated[int | None, "The level needed; null for a place."]
    applies: Annotated[str | None, "team, each-shift, or the id of one shift; null for a place."]
    together: Annotated[str | None, "The group of a slot."]
    shift: Annotated[str | None, "Where it counts; null for the team."]
    criticality: Annotated[int | None, "1..5; null for a place."]
    from_state: Annotated[CoverState | SlotState, "Before."]
    to_state: Annotated[CoverState | SlotState, "From this day."]
    from_depth: Annotated[PeopleShort, "Depth, or slots filled, before."]
    to_depth: Annotated[PeopleShort, "Depth, or slots filled, from this day."]
    causes: Annotated[tuple[Cause, ...], "What happened."]


@dataclass(frozen=True, slots=True)
class CoverAct:
    """What to begin, by when, so that nothing is missing: the mends of all holes in the order of their last day."""

    last_day_to_act: Annotated[date, "The last day to begin."]
    is_late: Annotated[bool, "Whether it has passed."]
    due: Annotated[date, "The day by which it must be done."]
    person: Annotated[PersonId, "Who."]
    courses: Annotated[tuple[str, ...], "By which courses, in order."]
    kind: Annotated[TimelineKind, "For what."]
    place: Annotated[str | None, "Id of a place."]
    competency: Annotated[str | None, "Id of the competency; null for a place."]
    level: Annotated[int | None, "The level needed; null for a place."]
    applies: Annotated[str | None, "team, each-shift, or the id of one shift; null for a place."]
    together: Annotated[str | None, "The group of a slot."]
    shift: Annotated[str | None, "Where it counts; null for the team."]
    criticality: Annotated[int | None, "1..5; null for a place."]


@dataclass(frozen=True, slots=True)
class CoverTimelineResult:
    """The cover of a team from one day to another, seen from the day `on`.

    `needs` and `slots` stand in the order of coverage and staffing. `status` is "optimal" where every learning path
    behind a mend is proved, "feasible" where the time limit struck.
    """

    team: Annotated[str, "The team."]
    on: Annotated[date, "The day asked about."]
    from_date: Annotated[date, "The first day told."]
    to_date: Annotated[date, "The last day told."]
    away: Annotated[tuple[PersonId, ...], "People taken as absent because the question said so."]
    status: Annotated[
        Literal["optimal", "feasible"],
        "optimal: every learning path is proved; feasible: the time limit struck, better ones may be found.",
    ]
    needs: Annotated[tuple[NeedTimeline, ...], "Every need where it counts."]
    slots: Annotated[tuple[SlotTimeline, ...], "Every place, and every need of a group where it counts."]
    changes: Annotated[tuple[CoverChange, ...], "Every change, by day."]
    acts: Annotated[tuple[CoverAct, ...], "What closes the holes, by the last day to begin."]
    remarks: Annotated[tuple[str, ...], "What else should be known."]
