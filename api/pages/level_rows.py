"""Levels as rows of a page: the ruler, what each level rests on, until when it counts."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from markupsafe import Markup

from api.desk.names import Names
from api.desk.sheet import Ref
from api.pages.ruler import write_ruler
from api.pages.spans import tell_age
from ontology.analysis.profiles.known_levels import KnownLevel
from ontology.snapshot.snapshot import Snapshot

__all__ = ["LevelRow", "build_level_row"]

_STATES = {"lapsed": "lapsed", "suspended": "suspended", "review-due": "review due"}
_SUSPENDED = "comes back once what it hangs on is held again"


class LevelRow(NamedTuple):
    """One competency: `rests` and `detail` say what the level rests on, `until` the last day it counts.

    `state` is "" where the level simply counts; `missing` the levels that are not held. A page holds dozens, and a
    tuple is made in half the time.
    """

    competency: Ref
    necessity: str
    ruler: Markup
    missing: int
    state: tuple[str, str]
    rests: str
    day: dt.date | None
    detail: str
    until: dt.date | None
    no_day: str
    then: str


#: Rows as they were written on a state.
Written = dict[LevelRow, str]


def get_written(snapshot: Snapshot) -> Written:
    """Return what rows of levels were written as, kept with the state as it is seen."""
    return snapshot.keep("rows of levels as they are written", dict)


def build_level_row(row: KnownLevel, snapshot: Snapshot, names: Names) -> LevelRow:
    """Return a level as a row."""
    competency = snapshot.competencies[row.competency]
    steps = len(snapshot.scales.get(competency.scale, ()))
    return LevelRow(
        competency=names.refer("competencies", row.competency),
        necessity=row.necessity or "",
        ruler=write_ruler(row.level, row.asked, max(steps, row.asked or 0, row.level or 0)),
        missing=row.gap,
        state=(row.state, _STATES[row.state]) if row.state in _STATES else ("", ""),
        rests=_tell_rests(row, names),
        day=row.date,
        detail=_tell_detail(row, names),
        until=row.until,
        no_day="no end" if row.state == "ok" else "–",
        then="then it wants a fresh look" if row.then == "review-due" else "",
    )


def _tell_rests(row: KnownLevel, names: Names) -> str:
    if row.source is None:
        return "nothing yet"
    who = f", {names.person(row.assessor)}" if row.assessor else ""
    return f"{row.source}{who}"


def _tell_detail(row: KnownLevel, names: Names) -> str:
    if row.age_days is None:
        return "the first step is to ask for an assessment"
    told = tell_age(row.age_days)
    if row.by_equivalence:
        told += f"; it counts by {names.competency(row.by_equivalence)}"
    if row.carried_from:
        told += f"; it was recorded of {names.competency(row.carried_from)}, which is retired"
    return f"{told}; {_SUSPENDED}" if row.state == "suspended" else told
