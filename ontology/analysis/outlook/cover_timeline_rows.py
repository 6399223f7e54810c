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

__all__ = ["CoverAct", "CoverChange", "CoverHole", "CoverInterval", "CoverTimelineResult", "NeedTimeline"]


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
    """Days on which a need lacks one person more.

    Attributes
    ----------
    from_date, to_date : date
        Both inclusive; `to_date` is the last day of the timeline where the hole is still open then (`is_open`).
    lacking : int
        1 for the first person missing, 2 for a second at the same time, ...
    causes : tuple of Cause
        What opened it; empty where it was open before.
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
class CoverChange:
    """A need whose state changes on a day."""

    on: date
    competency: str
    level: int
    applies: str
    shift: str | None
    criticality: int
    from_state: CoverState
    to_state: CoverState
    from_depth: int
    to_depth: int
    causes: tuple[Cause, ...]


@dataclass(frozen=True, slots=True)
class CoverAct:
    """What to begin, by when, so that a need is not short: the mends of all holes in the order of their last day."""

    last_day_to_act: date
    is_late: bool
    due: date
    person: str
    courses: tuple[str, ...]
    competency: str
    level: int
    applies: str
    shift: str | None
    criticality: int


@dataclass(frozen=True, slots=True)
class CoverTimelineResult:
    """The cover of a team from one day to another, seen from the day `on`.

    `status` is "optimal" where every learning path behind a mend is proved, "feasible" where the time limit struck.
    """

    team: str
    on: date
    from_date: date
    to_date: date
    away: tuple[str, ...]
    status: Literal["optimal", "feasible"]
    needs: tuple[NeedTimeline, ...]
    changes: tuple[CoverChange, ...]
    acts: tuple[CoverAct, ...]
    remarks: tuple[str, ...]
