"""How a team's cover changes over weeks and months: every change by date, every hole, the last day to act. Pure.

May import coverage, the team's calendar, causes, holes, mends, slots over time, events, the rows and nearest. Nothing
is sampled: each need is looked at on the days on which someone who could count for it comes, goes, is absent, or
reaches or loses the level, and on no other.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Final

from ontology.analysis.cover.coverage import NeedScope, get_need_shifts
from ontology.analysis.cover.nearest import PathFinder
from ontology.analysis.outlook.cover_causes import Cause, find_causes
from ontology.analysis.outlook.cover_events import iterate_acts, iterate_changes
from ontology.analysis.outlook.cover_holes import build_hole, find_spans
from ontology.analysis.outlook.cover_mends import Mend, find_mend
from ontology.analysis.outlook.cover_timeline_rows import (
    CoverAct,
    CoverChange,
    CoverHole,
    CoverInterval,
    CoverTimelineResult,
    NeedTimeline,
    SlotTimeline,
)
from ontology.analysis.outlook.need_on_day import find_days_of_need, get_need_on_day
from ontology.analysis.outlook.slot_timeline import build_slot_timelines
from ontology.analysis.outlook.team_calendar import TeamCalendar
from ontology.errors import InputError
from ontology.model.records import CoverNeed
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "LONGEST_DAYS",
    "CoverAct",
    "CoverChange",
    "CoverHole",
    "CoverInterval",
    "CoverTimelineResult",
    "NeedTimeline",
    "SlotTimeline",
    "compute_cover_timeline",
]

#: Ten years: further ahead nothing of this is planned.
LONGEST_DAYS: Final = 3_660
_DAY: Final = timedelta(days=1)
_TOO_LATE: Final = (
    "Where learning comes too late, someone has to stand in: ask who could, for the need on the first day of its hole."
)


def compute_cover_timeline(
    snapshot: Snapshot,
    team_id: str,
    on: date,
    *,
    from_date: date | None = None,
    to_date: date,
    away: frozenset[str] = frozenset(),
    time_limit_s: float | None = None,
) -> CoverTimelineResult:
    """Return every change of a team's cover between two days, its holes, and the last day to act on each.

    Parameters
    ----------
    on : date
        The day from which there is time to act.
    from_date : date or None
        First day told; `on` where left out.
    to_date : date
        Last day told.
    away : frozenset of str
        People taken as absent on all these days.
    time_limit_s : float or None
        Seconds for the learning paths of all mends together; afterwards each is the best found at once.

    Returns
    -------
    CoverTimelineResult
        On every day the interval that holds it says what `compute_coverage` and `compute_staffing` say of that day.
        Assessments dated after `on` count from their day, and are told as what happens then.

    Raises
    ------
    UnknownIdError
        There is no such team, or `away` names someone who does not exist.
    InputError
        The last day lies before the first, or more than `LONGEST_DAYS` after the day asked about or the first.

    Notes
    -----
    O(days of change x members) for each need and shift, one matching of the slots for each of their days of change, and
    one learning path for each hole and way of standing.
    """
    snapshot.require_team(team_id)
    for person_id in sorted(away):
        snapshot.require_person(person_id)
    start = on if from_date is None else from_date
    if to_date < start:
        raise InputError("The last day must not lie before the first.", parameter="until", value=to_date)
    if (start - on).days > LONGEST_DAYS:
        about = f"The first day must be within {LONGEST_DAYS} days of the day asked about."
        raise InputError(about, parameter="from", value=start)
    if (to_date - min(on, start)).days > LONGEST_DAYS:
        raise InputError(f"The last day must be within {LONGEST_DAYS} days.", parameter="until", value=to_date)
    calendar = TeamCalendar(snapshot, team_id, start, to_date, away)
    finder = PathFinder(snapshot, time_limit_s)
    needs: list[NeedTimeline] = []
    remarks: list[str] = []
    for need in snapshot.get_cover_needs(team_id):
        shifts = get_need_shifts(snapshot, need)
        if not shifts:
            name = f"{need.competency} at level {need.level}"
            remarks.append(f"{name} is needed in each shift, but the team has no shifts: nobody counts for it.")
        needs += [_Need(calendar, need, shift, has_scope=True).build(finder, on) for shift in shifts]
        if not shifts:
            needs.append(_Need(calendar, need, None, has_scope=False).build(finder, on))
    slots = build_slot_timelines(calendar, finder, on)
    rows: list[NeedTimeline | SlotTimeline] = [*needs, *slots]
    if any(hole.is_late and hole.to_date >= on for row in rows for hole in row.holes):
        remarks.append(_TOO_LATE)
    return CoverTimelineResult(
        team=team_id,
        on=on,
        from_date=start,
        to_date=to_date,
        away=tuple(sorted(away)),
        status=finder.status,
        needs=tuple(needs),
        slots=tuple(slots),
        changes=tuple(sorted(iterate_changes(rows), key=lambda change: change.on)),
        acts=tuple(sorted(iterate_acts(rows), key=lambda act: (act.last_day_to_act, -(act.criticality or 0), act.due))),
        remarks=tuple(remarks),
    )


class _Need:
    """A need where it counts, over the days of a calendar."""

    def __init__(self, calendar: TeamCalendar, need: CoverNeed, shift: str | None, *, has_scope: bool) -> None:
        self._calendar, self._need, self._shift, self._has_scope = calendar, need, shift, has_scope
        self._days = find_days_of_need(calendar, need, shift) if has_scope else set()

    def build(self, finder: PathFinder, on: date) -> NeedTimeline:
        need = self._need
        intervals = self._build_intervals()
        return NeedTimeline(
            competency=need.competency,
            level=need.level,
            applies=need.applies,
            shift=self._shift,
            minimum=need.minimum,
            target=need.target,
            criticality=need.criticality,
            intervals=intervals,
            holes=self._build_holes(finder, intervals, on),
        )

    def _get_scope(self, day: date) -> NeedScope:
        calendar, need = self._calendar, self._need
        if not self._has_scope:
            return NeedScope(need, self._shift, False, (), ())
        return get_need_on_day(calendar, need, self._shift, day)

    def _find_causes(self, day: date, before: NeedScope, after: NeedScope) -> tuple[Cause, ...]:
        changed = (set(before.qualified) ^ set(after.qualified)) | (set(before.present) ^ set(after.present))
        return find_causes(self._calendar, {self._need.competency: self._need.level}, day, changed)

    def _build_intervals(self) -> tuple[CoverInterval, ...]:
        start = self._calendar.first
        found: list[tuple[date, NeedScope, tuple[Cause, ...]]] = [(start, self._get_scope(start), ())]
        for day in sorted(day for day in self._days if day > start):
            before, scope = found[-1][1], self._get_scope(day)
            if scope != before:
                found.append((day, scope, self._find_causes(day, before, scope)))
        ends = [day - _DAY for day, _, _ in found[1:]] + [self._calendar.last]
        return tuple(
            CoverInterval(day, end, scope.depth, scope.state, scope.qualified, scope.present, causes)
            for (day, scope, causes), end in zip(found, ends, strict=True)
        )

    def _build_holes(self, finder: PathFinder, intervals: tuple[CoverInterval, ...], on: date) -> tuple[CoverHole, ...]:
        calendar, need = self._calendar, self._need
        levels = {need.competency: need.level}
        holes: list[CoverHole] = []
        for span in find_spans(intervals, need.minimum, self._days, lambda day: self._get_scope(day).depth):
            first, last, causes = span.from_date, span.to_date, span.causes
            if causes is None:
                causes = self._find_causes_before(first) if span.is_begin_known else ()
            mend: Mend | None = None
            reason: str | None = "The team has no shifts: nobody counts for it, whatever is learned."
            if self._has_scope:
                taken = {h.mend.person for h in holes if h.mend and h.from_date <= last and h.to_date >= first}
                mend, reason = find_mend(calendar, finder, levels, self._shift, (first, last), on=on, taken=taken)
            holes.append(build_hole(span, causes, mend, reason, calendar.last))
        return tuple(holes)

    def _find_causes_before(self, day: date) -> tuple[Cause, ...]:
        return self._find_causes(day, self._get_scope(day - _DAY), self._get_scope(day))
