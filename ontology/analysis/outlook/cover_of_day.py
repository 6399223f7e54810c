"""The cover of a team on a day, and from which day on a need that is short holds again. Pure."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Final

from ontology.analysis.cover.coverage import CoverageResult, CoverageRow, build_need_scopes, compute_coverage
from ontology.analysis.cover.presence import get_presence
from ontology.analysis.outlook.need_on_day import find_days_of_need, get_need_on_day
from ontology.analysis.outlook.team_calendar import TeamCalendar
from ontology.snapshot.snapshot import Snapshot

__all__ = ["DAYS_LOOKED_AHEAD", "compute_cover_of_day"]

#: As far as the timeline of cover looks, unless told otherwise.
DAYS_LOOKED_AHEAD: Final = 7 * 26

#: (competency, level, applies, shift) of a need that is short -> the first day on which it is not.
_Holding = dict[tuple[str, int, str, str | None], date | None]


def compute_cover_of_day(
    snapshot: Snapshot, team_id: str, on: date, away: frozenset[str] = frozenset()
) -> CoverageResult:
    """Return the cover of a team, with `holds_again` of what is short; else as `compute_coverage`.

    Who is supposed away is so on all days. What is short with nobody supposed away is looked at once for a day.

    Notes
    -----
    As `compute_coverage`, and O(days of change x members) for each need that is short.
    """
    result = compute_coverage(snapshot, team_id, on, away)
    if all(row.state != "short" for row in result.needs):
        return result
    presence = get_presence(snapshot, team_id, on, away)

    def build() -> _Holding:
        return _find_days(snapshot, team_id, on, away)

    days = build() if away else presence.keep("holds again", build)
    return replace(result, needs=tuple([_fill(row, days) for row in result.needs]))


def _find_days(snapshot: Snapshot, team_id: str, on: date, away: frozenset[str]) -> _Holding:
    last = on + timedelta(days=min(DAYS_LOOKED_AHEAD, (date.max - on).days))
    calendar = TeamCalendar(snapshot, team_id, on, last, away)
    found: _Holding = {}
    for scope in build_need_scopes(get_presence(snapshot, team_id, on, away)):
        need, shift = scope.need, scope.shift
        if scope.is_short and scope.has_scope:
            days = sorted(day for day in find_days_of_need(calendar, need, shift) if day > on)
            holding = (day for day in days if not get_need_on_day(calendar, need, shift, day).is_short)
            found[need.competency, need.level, need.applies, shift] = next(holding, None)
    return found


def _fill(row: CoverageRow, days: _Holding) -> CoverageRow:
    if row.state != "short":
        return row
    about = row.competency, row.level, row.applies
    shifts = [replace(shift, holds_again=days.get((*about, shift.shift))) for shift in row.shifts]
    return replace(row, holds_again=days.get((*about, row.shift)), shifts=tuple(shifts))
