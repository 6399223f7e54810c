"""The cover of a team on a day, and from which day on a need that is short holds again. Pure."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Final

from ontology.analysis.cover.coverage import CoverageResult, CoverageRow, build_need_scopes, compute_coverage
from ontology.analysis.cover.presence import get_presence
from ontology.analysis.outlook.need_turns import find_day_of_holding
from ontology.snapshot.snapshot import Snapshot

__all__ = ["DAYS_LOOKED_AHEAD", "compute_cover_of_day"]

#: As far as the timeline of cover looks, unless told otherwise.
DAYS_LOOKED_AHEAD: Final = 7 * 26

#: (competency, level, applies, shift) of a need that is short -> the first day on which it is not, where one is known.
_Holding = dict[tuple[str, int, str, str | None], date]


def compute_cover_of_day(
    snapshot: Snapshot, team_id: str, on: date, away: frozenset[str] = frozenset()
) -> CoverageResult:
    """Return the cover of a team, with `holds_again` of what is short; else as `compute_coverage`.

    Who is supposed away is so on all days.

    Notes
    -----
    As `compute_coverage`, and O(days of change) for each need that is short. What holds while nobody is supposed away
    is worked out once for a team and day: every absence is compared with it.
    """
    if away:
        return _compute(snapshot, team_id, on, away)
    return get_presence(snapshot, team_id, on).keep("cover", lambda: _compute(snapshot, team_id, on, away))


def _compute(snapshot: Snapshot, team_id: str, on: date, away: frozenset[str]) -> CoverageResult:
    result = compute_coverage(snapshot, team_id, on, away)
    if all(row.state != "short" for row in result.needs):
        return result
    days = _find_days(snapshot, team_id, on, away)
    return replace(result, needs=tuple([_fill(row, days) for row in result.needs])) if days else result


def _find_days(snapshot: Snapshot, team_id: str, on: date, away: frozenset[str]) -> _Holding:
    last = on + timedelta(days=min(DAYS_LOOKED_AHEAD, (date.max - on).days))
    days: _Holding = {}
    for scope in build_need_scopes(get_presence(snapshot, team_id, on, away)):
        day = find_day_of_holding(snapshot, scope, on, last, away) if scope.is_short and scope.has_scope else None
        if day is not None:
            days[scope.need.competency, scope.need.level, scope.need.applies, scope.shift] = day
    return days


def _fill(row: CoverageRow, days: _Holding) -> CoverageRow:
    if row.state != "short":
        return row
    about = row.competency, row.level, row.applies
    again = [days.get((*about, one.shift)) for one in row.shifts]
    if not any(again):
        return replace(row, holds_again=day) if (day := days.get((*about, row.shift))) else row
    shifts = [replace(one, holds_again=day) if day else one for one, day in zip(row.shifts, again, strict=True)]
    return replace(row, holds_again=days.get((*about, row.shift)), shifts=tuple(shifts))
