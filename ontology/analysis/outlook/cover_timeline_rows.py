"""What a timeline of cover consists of: intervals, holes, changes and acts. Pure.

May import coverage's states, causes and mends.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from ontology.analysis.cover.coverage import CoverState
from ontology.analysis.outlook.cover_causes import Cause
from ontology.analysis.outlook.cover_mends import Mend

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

    from_date: date
    to_date: date
    depth: int
    state: CoverState
    qualified: tuple[str, ...]
    present: tuple[str, ...]
    causes: tuple[Cause, ...]


@dataclass(frozen=True, slots=True)
class CoverHole:
    """Days on which a need, a place or a group lacks one person more.

    Attributes
    ----------
    from_date, to_date : date
        Both inclusive. `from_date` lies before the days told where the hole had begun by then; `to_date` is the last
        day of the timeline where it is still open then (`is_open`).
    is_begin_known : bool
        False where the hole was open as far back as records tell: then `from_date` is the first day told.
    lacking : int
        1 for the first person missing, 2 for a second at the same time, ...
    causes : tuple of Cause
        What opened it; empty where that is not known, or people are only supposed to be away.
    last_day_to_act : date or None
        The last day on which the mend can begin and be done in time; None where there is no mend.
    is_late : bool
        Whether that day has passed, or there is no mend.
    mend : Mend or None
    reason : str or None
        Why there is no mend.
    """

    from_date: date
    to_date: date
    is_begin_known: bool
    is_open: bool
    lacking: int
    causes: tuple[Cause, ...]
    last_day_to_act: date | None
    is_late: bool
    mend: Mend | None
    reason: str | None


@dataclass(frozen=True, slots=True)
class NeedTimeline:
    """One cover need where it counts (`shift` None: the team), with its intervals and holes in the order of days."""

    competency: str
    level: int
    applies: str
    shift: str | None
    minimum: int
    target: int
    criticality: int
    intervals: tuple[CoverInterval, ...]
    holes: tuple[CoverHole, ...]


@dataclass(frozen=True, slots=True)
class SlotInterval:
    """Days, both inclusive, on which as many slots are filled and the same people are able.

    `able` are ids of those who are there and could fill one, sorted; `filled` is how many staffing fills, all slots of
    the team taken together, and `state` whether that is all of them.
    """

    from_date: date
    to_date: date
    filled: int
    state: SlotState
    able: tuple[str, ...]
    causes: tuple[Cause, ...]

    @property
    def depth(self) -> int:
        """Slots filled: what people present are to a need."""
        return self.filled


@dataclass(frozen=True, slots=True)
class SlotTimeline:
    """The slots of one place, or of one need of a group where it counts (`shift` None: the team).

    `place` and `role` are None for a group; `competency`, `level`, `applies`, `together` and `criticality` for a place.
    """

    kind: TimelineKind
    place: str | None
    role: str | None
    competency: str | None
    level: int | None
    applies: str | None
    together: str | None
    shift: str | None
    criticality: int | None
    slots: int
    intervals: tuple[SlotInterval, ...]
    holes: tuple[CoverHole, ...]


@dataclass(frozen=True, slots=True)
class CoverChange:
    """A need whose state changes on a day, or a place or group of which more or fewer slots are filled."""

    on: date
    kind: TimelineKind
    place: str | None
    competency: str | None
    level: int | None
    applies: str | None
    together: str | None
    shift: str | None
    criticality: int | None
    from_state: CoverState | SlotState
    to_state: CoverState | SlotState
    from_depth: int
    to_depth: int
    causes: tuple[Cause, ...]


@dataclass(frozen=True, slots=True)
class CoverAct:
    """What to begin, by when, so that nothing is missing: the mends of all holes in the order of their last day."""

    last_day_to_act: date
    is_late: bool
    due: date
    person: str
    courses: tuple[str, ...]
    kind: TimelineKind
    place: str | None
    competency: str | None
    level: int | None
    applies: str | None
    together: str | None
    shift: str | None
    criticality: int | None


@dataclass(frozen=True, slots=True)
class CoverTimelineResult:
    """The cover of a team from one day to another, seen from the day `on`.

    `needs` and `slots` stand in the order of coverage and staffing. `status` is "optimal" where every learning path
    behind a mend is proved, "feasible" where the time limit struck.
    """

    team: str
    on: date
    from_date: date
    to_date: date
    away: tuple[str, ...]
    status: Literal["optimal", "feasible"]
    needs: tuple[NeedTimeline, ...]
    slots: tuple[SlotTimeline, ...]
    changes: tuple[CoverChange, ...]
    acts: tuple[CoverAct, ...]
    remarks: tuple[str, ...]
