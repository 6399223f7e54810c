"""The places and groups of a team over a stretch of days: how many slots staffing fills on each, and who is able. Pure.

May import coverage, the team's calendar, causes, holes, mends, the rows, bottleneck, holding and slots. Nothing is
sampled: slots are filled anew on the days on which someone comes, goes, is absent, or reaches or loses a level that a
slot asks for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from itertools import groupby
from typing import Final

from ontology.analysis.cover.coverage import build_need_scopes
from ontology.analysis.cover.nearest import PathFinder
from ontology.analysis.outlook.cover_causes import Cause, find_causes
from ontology.analysis.outlook.cover_holes import Span, build_hole, find_spans
from ontology.analysis.outlook.cover_mends import Mend, find_mend
from ontology.analysis.outlook.cover_timeline_rows import CoverHole, SlotInterval, SlotTimeline
from ontology.analysis.outlook.team_calendar import TeamCalendar
from ontology.analysis.places.bottleneck import find_essential_people, find_matching
from ontology.analysis.places.holding import Holding, build_holding
from ontology.analysis.places.slots import Slot, list_unsupervised_levels
from ontology.snapshot.snapshot import Snapshot

__all__ = ["SlotCalendar", "build_slot_timelines"]

_DAY: Final = timedelta(days=1)


@dataclass(frozen=True)
class _Group:
    """The slots that are alike: those of a place, or of a need of a group in one shift.

    `levels` holds competency id -> level of what it takes; None where nobody counts, whatever they hold.
    """

    slot: Slot
    indices: tuple[int, ...]
    levels: Mapping[str, int] | None

    def count_filled(self, holding: Holding) -> int:
        return sum(holding.matching.person_of[index] is not None for index in self.indices)

    def get_able(self, holding: Holding) -> tuple[str, ...]:
        return holding.slots[self.indices[0]].able


class SlotCalendar:
    """How the slots of a team are filled on the days of a calendar; each day is looked at once."""

    def __init__(self, calendar: TeamCalendar) -> None:
        self.calendar = calendar
        self._holdings: dict[date, Holding] = {}
        self._together = [n for n in calendar.snapshot.get_cover_needs(calendar.team) if n.together]
        slots = self.get_holding(calendar.first).slots
        alike = groupby(
            range(len(slots)), key=lambda index: (slots[index].place, slots[index].need, slots[index].shift)
        )
        self.groups = [_build_group(calendar.snapshot, slots, tuple(indices)) for _, indices in alike]

    @cached_property
    def days(self) -> list[date]:
        """Every day until the last on which a slot may be filled otherwise than the day before, sorted."""
        asked = {competency for group in self.groups for competency in group.levels or ()}
        found: set[date] = set()
        for person in self.calendar.people if self.groups else ():
            found.update(self.calendar.find_days_of_presence(person))
            for competency in asked:
                found.update(self.calendar.find_days_of_change(person, competency))
        return sorted(found)

    def get_holding(self, day: date) -> Holding:
        """Return what holds of places and groups on a day, as staffing fills the slots."""
        if day not in self._holdings:
            presence = self.calendar.get_presence(day)
            self._holdings[day] = build_holding(presence, build_need_scopes(presence, self._together))
        return self._holdings[day]

    def find_causes(self, group: _Group, day: date) -> tuple[Cause, ...]:
        """Return what changed on a day for a group, or for all slots of the team where more or fewer are filled."""
        before, after = self.get_holding(day - _DAY), self.get_holding(day)
        groups = [group] if group.count_filled(before) == group.count_filled(after) else self.groups
        causes: dict[Cause, None] = {}
        for other in groups:
            changed = set(other.get_able(before)) ^ set(other.get_able(after))
            causes.update(dict.fromkeys(find_causes(self.calendar, other.levels or {}, day, changed)))
        return tuple(causes)


def build_slot_timelines(calendar: TeamCalendar, finder: PathFinder, on: date) -> list[SlotTimeline]:
    """Return every place and every need of a group where it counts, with what is unfilled when, in their order.

    Parameters
    ----------
    on : date
        The day from which there is time to act.

    Notes
    -----
    One matching for each day of change; one learning path for each hole and way of standing. Who closes a hole closes
    no other at that time: a slot takes a person of its own.
    """
    days = SlotCalendar(calendar)
    told = [_build_intervals(days, group) for group in days.groups]
    spans: list[tuple[Span, int]] = []
    for number, (group, intervals) in enumerate(zip(days.groups, told, strict=True)):

        def count_on(day: date, group: _Group = group) -> int:
            return group.count_filled(days.get_holding(day))

        spans += [(span, number) for span in find_spans(intervals, len(group.indices), days.days, count_on)]
    holes: list[list[CoverHole]] = [[] for _ in days.groups]
    closing: list[tuple[Span, str]] = []
    for span, number in sorted(spans, key=lambda pair: (pair[0].from_date, pair[1], pair[0].lacking)):
        hole = _build_hole(days, days.groups[number], finder, span, on, closing)
        if hole.mend is not None:
            closing.append((span, hole.mend.person))
        holes[number].append(hole)
    return [
        _build_timeline(calendar.snapshot, group, intervals, found)
        for group, intervals, found in zip(days.groups, told, holes, strict=True)
    ]


def _build_group(snapshot: Snapshot, slots: Sequence[Slot], indices: tuple[int, ...]) -> _Group:
    slot = slots[indices[0]]
    if slot.need is not None:
        return _Group(slot, indices, {slot.need.competency: slot.need.level})
    role_id = snapshot.places[slot.place or ""].role
    if not snapshot.get_requirements(role_id):
        return _Group(slot, indices, None)
    return _Group(slot, indices, {i: level for i, level in list_unsupervised_levels(snapshot, role_id) if level})


def _build_intervals(days: SlotCalendar, group: _Group) -> list[SlotInterval]:
    calendar = days.calendar
    found: list[tuple[date, int, tuple[str, ...]]] = []
    for day in [calendar.first, *(day for day in days.days if day > calendar.first)]:
        holding = days.get_holding(day)
        filled, able = group.count_filled(holding), group.get_able(holding)
        if not found or found[-1][1:] != (filled, able):
            found.append((day, filled, able))
    ends = [day - _DAY for day, _, _ in found[1:]] + [calendar.last]
    return [
        SlotInterval(
            from_date=day,
            to_date=end,
            filled=filled,
            state="filled" if filled == len(group.indices) else "unfilled",
            able=able,
            causes=days.find_causes(group, day) if day > calendar.first else (),
        )
        for (day, filled, able), end in zip(found, ends, strict=True)
    ]


def _build_hole(
    days: SlotCalendar,
    group: _Group,
    finder: PathFinder,
    span: Span,
    on: date,
    closing: Sequence[tuple[Span, str]],
) -> CoverHole:
    calendar, causes = days.calendar, span.causes
    if causes is None:
        causes = days.find_causes(group, span.from_date) if span.is_begin_known else ()
    mend, reason = _find_mend(days, group, finder, span, on, closing)
    return build_hole(span, causes, mend, reason, calendar.last)


def _find_mend(
    days: SlotCalendar,
    group: _Group,
    finder: PathFinder,
    span: Span,
    on: date,
    closing: Sequence[tuple[Span, str]],
) -> tuple[Mend | None, str | None]:
    """Return who could come to fill a slot more, and how: someone whose own slot, if any, finds another."""
    if group.levels is None:
        return None, "The role has no requirements, so nobody counts as able."
    if group.slot.need is not None and group.slot.need.applies == "each-shift" and group.slot.shift is None:
        return None, "The team has no shifts: nobody counts for it, whatever is learned."
    taken = {p for other, p in closing if other.from_date <= span.to_date and other.to_date >= span.from_date}
    if span.to_date >= on:
        # who is in every best assignment of the others fills no slot more, whatever they learn
        slots = days.get_holding(max(span.from_date, on)).slots
        taken |= find_essential_people(find_matching([[p for p in slot.able if p not in taken] for slot in slots]))
    hole = span.from_date, span.to_date
    return find_mend(days.calendar, finder, group.levels, group.slot.shift, hole, on=on, taken=taken)


def _build_timeline(
    snapshot: Snapshot, group: _Group, intervals: list[SlotInterval], holes: list[CoverHole]
) -> SlotTimeline:
    place, need = group.slot.place, group.slot.need
    return SlotTimeline(
        kind="place" if need is None else "together",
        place=place,
        role=None if place is None else snapshot.places[place].role,
        competency=None if need is None else need.competency,
        level=None if need is None else need.level,
        applies=None if need is None else need.applies,
        together=None if need is None else need.together,
        shift=group.slot.shift,
        criticality=None if need is None else need.criticality,
        slots=len(group.indices),
        intervals=tuple(intervals),
        holes=tuple(holes),
    )
