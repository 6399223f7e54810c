"""Records of how the framework is kept: what took the place of what was retired. Imports nothing of ours."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Replacement:
    """What took the place of a competency, role or course, and how recorded levels of a competency are read for it.

    One old and several new: it was split; several old and one new: they were merged.
    """

    table: str
    old: str
    new: str
    carry: str
    reason: str


@dataclass(frozen=True, slots=True)
class LevelMap:
    """Which rank of one scale a rank of another is read as; 0 = below its first.

    From a scale to itself: how its ranks became others. That is said once, with the change, and not kept.
    """

    from_scale: str
    from_rank: int
    to_scale: str
    to_rank: int
