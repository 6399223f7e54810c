"""How a team's cover changes over weeks and months: every change by date, every hole, the last day to act. Pure.

May import coverage, the team's calendar, causes, mends, the rows and nearest. Nothing is sampled: each need is looked
at on the days on which someone who could count for it comes, goes, is absent, or reaches or loses the level, and on no
other.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import pairwise
from typing import Final

from ontology.analysis.cover.coverage import NeedScope, get_need_shifts
from ontology.analysis.cover.nearest import PathFinder
from ontology.analysis.cover.presence import is_employed
from ontology.analysis.outlook.cover_causes import Cause, find_causes
from ontology.analysis.outlook.cover_mends import find_mend
from ontology.analysis.outlook.cover_timeline_rows import (
    CoverAct,
    CoverChange,
    CoverHole,
    CoverInterval,
    CoverTimelineResult,
    NeedTimeline,
)
from ontology.analysis.outlook.team_calendar import TeamCalendar
from ontology.errors import InputError
from ontology.graph.snapshot import Snapshot
from ontology.records import CoverNeed

__all__ = [
    "LONGEST_DAYS",
    "CoverAct",
    "CoverChange",
    "CoverHole",
    "CoverInterval",
    "CoverTimelineResult",
    "NeedTimeline",
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
    snapshot : Snapshot
    team_id : str
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
        On every day the interval that holds it says what `compute_coverage` says of that day. Assessments dated after
        `on` count from their day, and are told as what happens then.

    Raises
    ------
    UnknownIdError
        There is no such team, or `away` names someone who does not exist.
    InputError
        The last day lies before the first, or more than `LONGEST_DAYS` after the day asked about or the first.

    Notes
    -----
    O(days of change x members) for each need and shift, and one learning path for each hole and way of standing.
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
    calendar = TeamCalendar(snapshot, team_id, min(on, start), to_date, away)
    finder = PathFinder(snapshot, time_limit_s)
    needs: list[NeedTimeline] = []
    remarks: list[str] = []
    for need in snapshot.get_cover_needs(team_id):
        shifts = get_need_shifts(snapshot, need)
        if not shifts:
            name = f"{need.competency} at level {need.level}"
            remarks.append(f"{name} is needed in each shift, but the team has no shifts: nobody counts for it.")
        needs += [_build(calendar, finder, need, shift, start, on, has_scope=True) for shift in shifts]
        if not shifts:
            needs.append(_build(calendar, finder, need, None, start, on, has_scope=False))
    if any(hole.is_late for need in needs for hole in need.holes):
        remarks.append(_TOO_LATE)
    return CoverTimelineResult(
        team=team_id,
        on=on,
        from_date=start,
        to_date=to_date,
        away=tuple(sorted(away)),
        status=finder.status,
        needs=tuple(needs),
        changes=tuple(sorted(_iterate_changes(needs), key=lambda change: change.on)),
        acts=tuple(sorted(_iterate_acts(needs), key=lambda act: (act.last_day_to_act, -act.criticality, act.due))),
        remarks=tuple(remarks),
    )


def _build(
    calendar: TeamCalendar,
    finder: PathFinder,
    need: CoverNeed,
    shift: str | None,
    start: date,
    on: date,
    *,
    has_scope: bool,
) -> NeedTimeline:
    intervals = _build_intervals(calendar, need, shift, start, has_scope=has_scope)
    return NeedTimeline(
        competency=need.competency,
        level=need.level,
        applies=need.applies,
        shift=shift,
        minimum=need.minimum,
        target=need.target,
        criticality=need.criticality,
        intervals=intervals,
        holes=_build_holes(calendar, finder, need, shift, intervals, on, has_scope=has_scope),
    )


def _build_intervals(
    calendar: TeamCalendar, need: CoverNeed, shift: str | None, start: date, *, has_scope: bool
) -> tuple[CoverInterval, ...]:
    people = calendar.get_scope(shift) if has_scope else ()
    days = {day for person in people for day in calendar.get_days_of_change(person, need.competency) if day > start}
    found: list[tuple[date, NeedScope, tuple[Cause, ...]]] = []
    for day in [start, *sorted(days)]:
        who = [p for p in people if calendar.get_rank(p.id, need.competency, day) >= need.level]
        employed = [p for p in who if is_employed(p, day)]
        present = tuple(p.id for p in employed if calendar.is_present(p, day))
        scope = NeedScope(need, shift, has_scope, tuple(p.id for p in employed), present)
        if not found:
            found.append((day, scope, ()))
        elif changed := _get_changed(found[-1][1], scope):
            found.append((day, scope, find_causes(calendar, need, day, changed)))
    ends = [day - _DAY for day, _, _ in found[1:]] + [calendar.last]
    return tuple(
        CoverInterval(day, end, scope.depth, scope.state, scope.qualified, scope.present, causes)
        for (day, scope, causes), end in zip(found, ends, strict=True)
    )


def _get_changed(before: NeedScope, after: NeedScope) -> set[str]:
    return (set(before.qualified) ^ set(after.qualified)) | (set(before.present) ^ set(after.present))


def _build_holes(
    calendar: TeamCalendar,
    finder: PathFinder,
    need: CoverNeed,
    shift: str | None,
    intervals: tuple[CoverInterval, ...],
    on: date,
    *,
    has_scope: bool,
) -> tuple[CoverHole, ...]:
    spans = sorted(
        (run[0].from_date, lacking, run[-1].to_date, run[0].causes)
        for lacking in range(1, need.minimum + 1)
        for run in _iterate_runs(intervals, need.minimum - lacking)
    )
    holes: list[CoverHole] = []
    for first, lacking, last, causes in spans:
        if has_scope:
            taken = {h.mend.person for h in holes if h.mend is not None and h.from_date <= last and h.to_date >= first}
            mend, reason = find_mend(calendar, finder, need, shift, (first, last), on=on, taken=taken)
        else:
            mend, reason = None, "The team has no shifts: nobody counts for it, whatever is learned."
        holes.append(
            CoverHole(
                from_date=first,
                to_date=last,
                is_open=last == calendar.last,
                lacking=lacking,
                causes=causes,
                last_day_to_act=None if mend is None else mend.last_day_to_act,
                is_late=mend is None or mend.is_late,
                mend=mend,
                reason=reason,
            )
        )
    return tuple(holes)


def _iterate_runs(intervals: tuple[CoverInterval, ...], most: int) -> Iterator[list[CoverInterval]]:
    """Yield the longest runs of neighbouring intervals in which at most so many are there."""
    run: list[CoverInterval] = []
    for interval in intervals:
        if interval.depth <= most:
            run.append(interval)
        elif run:
            yield run
            run = []
    if run:
        yield run


def _iterate_changes(needs: list[NeedTimeline]) -> Iterator[CoverChange]:
    for need in needs:
        for before, after in pairwise(need.intervals):
            if before.state != after.state:
                yield CoverChange(
                    on=after.from_date,
                    competency=need.competency,
                    level=need.level,
                    applies=need.applies,
                    shift=need.shift,
                    criticality=need.criticality,
                    from_state=before.state,
                    to_state=after.state,
                    from_depth=before.depth,
                    to_depth=after.depth,
                    causes=after.causes,
                )


def _iterate_acts(needs: list[NeedTimeline]) -> Iterator[CoverAct]:
    for need in needs:
        for hole in need.holes:
            if hole.mend is not None:
                yield CoverAct(
                    last_day_to_act=hole.mend.last_day_to_act,
                    is_late=hole.mend.is_late,
                    due=hole.mend.due,
                    person=hole.mend.person,
                    courses=hole.mend.courses,
                    competency=need.competency,
                    level=need.level,
                    applies=need.applies,
                    shift=need.shift,
                    criticality=need.criticality,
                )
