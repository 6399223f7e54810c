"""The timeline of a team's cover against asking every day, on random teams whose cover changes."""

from __future__ import annotations

import math
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise

from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from small_company import ON
from small_team import Rows, build_team
from team_over_time import DAYS, team_over_time_rows
from what_holds import get_holding

from ontology.analysis.cover.coverage import CoverageRow, ShiftCover, compute_coverage
from ontology.analysis.cover.presence import is_absent, is_employed
from ontology.analysis.outlook.cover_timeline import (
    CoverHole,
    CoverTimelineResult,
    NeedTimeline,
    SlotTimeline,
    compute_cover_timeline,
)
from ontology.analysis.profiles.levels import get_level
from ontology.snapshot.snapshot import Snapshot

MANY = settings(max_examples=draws(80), deadline=None)
DAY = timedelta(days=1)
LAST = ON + timedelta(days=DAYS)


def get_days(first: date, last: date) -> list[date]:
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def draw_away(data: st.DataObject, rows: Rows) -> frozenset[str]:
    ids = [row["id"] for row in rows["people"]]
    return data.draw(st.frozensets(st.sampled_from(ids), max_size=1)) if ids else frozenset()


def find_row(snapshot: Snapshot, need: NeedTimeline, day: date, away: frozenset[str]) -> CoverageRow | ShiftCover:
    """Return what coverage says of the need where it counts on a day."""
    key = (need.competency, need.level, need.applies)
    (row,) = [
        row
        for row in compute_coverage(snapshot, "t", day, away).needs
        if (row.competency, row.level, row.applies) == key
    ]
    shifts = [shift for shift in row.shifts if shift.shift == need.shift]
    return shifts[0] if shifts else row


@MANY
@given(team_over_time_rows(), st.data())
def test_timeline_says_of_every_day_what_coverage_says_of_it(rows: Rows, data: st.DataObject) -> None:
    away = draw_away(data, rows)
    snapshot = build_team(rows)
    start = ON + timedelta(days=data.draw(st.integers(-3, 5)))
    result = compute_cover_timeline(snapshot, "t", ON, from_date=start, to_date=LAST, away=away)
    assert len({(n.competency, n.level, n.applies, n.shift) for n in result.needs}) == len(result.needs)
    for need in result.needs:
        told = {}
        for interval in need.intervals:
            for day in get_days(interval.from_date, interval.to_date):
                assert day not in told
                told[day] = interval
        assert list(told) == get_days(start, LAST)
        for day, interval in told.items():
            row = find_row(snapshot, need, day, away)
            assert (interval.depth, interval.state) == (row.depth, row.state), day
            assert (interval.qualified, interval.present) == (row.qualified, row.present), day
        for before, after in pairwise(need.intervals):
            assert (before.qualified, before.present) != (after.qualified, after.present)


@MANY
@given(team_over_time_rows())
def test_causes_name_everyone_who_counts_otherwise_and_what_happened(rows: Rows) -> None:
    snapshot = build_team(rows)
    result = compute_cover_timeline(snapshot, "t", ON, to_date=LAST)
    for need in result.needs:
        assert need.intervals[0].causes == ()
        competency = snapshot.competencies[need.competency]
        for before, after in pairwise(need.intervals):
            day = after.from_date
            changed = set(before.qualified) ^ set(after.qualified) | set(before.present) ^ set(after.present)
            assert {cause.person for cause in after.causes} == changed
            for person_id in changed:
                person = snapshot.people[person_id]
                expected = set()
                if is_employed(person, day - DAY) != is_employed(person, day):
                    expected.add("joins" if is_employed(person, day) else "leaves")
                elif is_absent(snapshot, person_id, day - DAY) != is_absent(snapshot, person_id, day):
                    expected.add("absence-begins" if is_absent(snapshot, person_id, day) else "absence-ends")
                held = [
                    (get_level(snapshot, person_id, competency, d).level or 0) >= need.level for d in (day - DAY, day)
                ]
                if held[0] != held[1]:
                    is_new = any(a.date == day for a in snapshot.get_assessments(person_id, competency.id))
                    expected.add("lapses" if held[0] and not is_new else "assessed")
                named = {cause.what for cause in after.causes if cause.person == person_id}
                # an assessment that does not count may be dated on the day of a lapse
                assert named == expected or (named ^ expected) == {"lapses", "assessed"}


@MANY
@given(team_over_time_rows(), st.data())
def test_holes_are_the_days_on_which_so_many_are_missing(rows: Rows, data: st.DataObject) -> None:
    away = draw_away(data, rows)
    snapshot = build_team(rows)
    result = compute_cover_timeline(snapshot, "t", ON, to_date=LAST, away=away)
    for need in result.needs:
        depths = {day: find_row(snapshot, need, day, away).depth for day in get_days(ON, LAST)}
        for lacking in range(1, need.minimum + 1):
            holes = [hole for hole in need.holes if hole.lacking == lacking]
            days = [day for hole in holes for day in get_days(max(ON, hole.from_date), hole.to_date)]
            assert days == [day for day, depth in depths.items() if need.minimum - depth >= lacking]
            # the longest runs: neighbours never touch
            assert all(b.from_date - a.to_date > DAY for a, b in pairwise(holes))
            assert all(hole.is_open == (hole.to_date == LAST) for hole in holes)
            check_begins(snapshot, need, holes, away)
    states = {
        (need.competency, need.level, need.applies, need.shift, day): find_row(snapshot, need, day, away).state
        for need in result.needs
        for day in get_days(ON, LAST)
    }
    expected = sorted(key for key, state in states.items() if key[4] > ON and states[*key[:4], key[4] - DAY] != state)
    told = [(c.competency, c.level, c.applies, c.shift, c.on) for c in result.changes if c.kind == "need"]
    assert sorted(told) == expected
    check_acts(result)


def check_begins(snapshot: Snapshot, need: NeedTimeline, holes: list[CoverHole], away: frozenset[str]) -> None:
    """A hole that has begun by the first day told begins on the day before which so many were there."""
    for hole in holes:
        if hole.from_date > ON:
            continue
        # nothing is recorded before
        first = ON - timedelta(days=60)
        days = get_days(first if not hole.is_begin_known else hole.from_date, ON - DAY)
        for day in days:
            assert need.minimum - find_row(snapshot, need, day, frozenset()).depth >= hole.lacking
        if hole.is_begin_known:
            supposed = away if hole.from_date - DAY >= ON else frozenset()
            before = find_row(snapshot, need, hole.from_date - DAY, supposed)
            assert need.minimum - before.depth < hole.lacking


@MANY
@given(team_over_time_rows(max_people=3), st.data())
def test_slots_are_filled_on_every_day_as_staffing_fills_them(rows: Rows, data: st.DataObject) -> None:
    away = draw_away(data, rows)
    snapshot = build_team(rows)
    result = compute_cover_timeline(snapshot, "t", ON, to_date=LAST, away=away)
    events = set()
    before: dict[tuple[object, ...], int] = {}
    for day in get_days(ON, LAST):
        _, places, groups = get_holding(snapshot, "t", away, day)
        for row in result.slots:
            key = (row.place, row.competency, row.level, row.applies, row.shift)
            (interval,) = [i for i in row.intervals if i.from_date <= day <= i.to_date]
            assert row.place is None or interval.filled == places[row.place], day
            # a need of each shift and one of this shift may be the same group
            alike = [
                r for r in result.slots if (r.competency, r.level, r.shift) == (row.competency, row.level, row.shift)
            ]
            assert row.place or len(alike) > 1 or interval.filled == groups[key[1], key[2], key[4], row.together], day
            assert interval.state == ("filled" if interval.filled == row.slots else "unfilled")
            lacking = {hole.lacking for hole in row.holes if hole.from_date <= day <= hole.to_date}
            assert lacking == set(range(1, row.slots - interval.filled + 1))
            if before.get(key, interval.filled) != interval.filled:
                events.add((*key, day, before[key], interval.filled))
            before[key] = interval.filled
    assert events == {
        (c.place, c.competency, c.level, c.applies, c.shift, c.on, c.from_depth, c.to_depth)
        for c in result.changes
        if c.kind != "need"
    }
    assert all(change.causes for change in result.changes)
    for row in result.slots:
        for hole in row.holes:
            if hole.mend is not None:
                check_slot_mend(rows, row, hole, away)


def check_slot_mend(rows: Rows, row: SlotTimeline, hole: CoverHole, away: frozenset[str]) -> None:
    """With all that is reached on the first day, one slot more of the team is filled."""
    mend, day = hole.mend, max(hole.from_date, ON)
    assert mend is not None
    if any((a["person"], a["date"]) == (mend.person, day) for a in rows["assessments"]):
        return  # what else is assessed on that day may count instead
    counts = []
    for more in ([], mend.levels):
        kinds = {c["id"]: "certificate" if "kind" in c else "assessor" for c in rows["competencies"]}
        added = [
            {
                "person": mend.person,
                "competency": m.competency,
                "level": m.level,
                "date": day,
                "source": kinds[m.competency],
            }
            for m in more
        ]
        _, places, groups = get_holding(build_team(rows, assessments=added), "t", away, day)
        counts.append(places.total() + groups.total())
    assert counts[1] == counts[0] + 1
    person = build_team(rows).people[mend.person]
    assert person.end_date is None or mend.ready_on <= person.end_date
    assert person.start_date is None or mend.ready_on >= person.start_date


def check_acts(result: CoverTimelineResult) -> None:
    holes = [hole for row in result.needs for hole in row.holes] + [h for row in result.slots for h in row.holes]
    mended = [hole for hole in holes if hole.mend is not None]
    assert sorted(act.last_day_to_act for act in result.acts) == [act.last_day_to_act for act in result.acts]
    assert len(result.acts) == len(mended)
    for hole in holes:
        assert (hole.mend is None) == (hole.reason is not None)
        assert hole.is_late == (hole.last_day_to_act is None or hole.last_day_to_act < result.on)


@MANY
@given(team_over_time_rows(), st.data())
def test_mend_closes_the_hole_and_nobody_is_done_sooner_by_one_course(rows: Rows, data: st.DataObject) -> None:
    away = draw_away(data, rows)
    snapshot = build_team(rows)
    result = compute_cover_timeline(snapshot, "t", ON, to_date=LAST, away=away)
    for need in result.needs:
        for hole in need.holes:
            # where the hole has begun before, the day asked about counts
            first = max(ON, hole.from_date)
            candidates = find_candidates(snapshot, need, first, away)
            if hole.mend is None:
                continue
            mend = hole.mend
            assert mend.person in candidates
            assert mend.due <= hole.from_date
            days = count_days(snapshot, mend.courses)
            assert mend.last_day_to_act == mend.due - timedelta(days=days)
            person = snapshot.people[mend.person]
            begin = max(ON, person.start_date or ON)
            assert mend.ready_on == begin + timedelta(days=days)
            assert person.end_date is None or mend.ready_on <= person.end_date
            assert begin == ON or mend.last_day_to_act >= begin
            more = {
                "person": mend.person,
                "competency": need.competency,
                "level": need.level,
                "date": first,
                "source": "certificate" if snapshot.competencies[need.competency].is_certificate else "assessor",
            }
            mended = build_team(rows, assessments=[more])
            before = find_row(snapshot, need, first, away).depth
            assert find_row(mended, need, first, away).depth == before + 1
            if hole.lacking > 1 or mend.kind == "renewal" or not mend.is_there_throughout:
                continue
            for person_id in candidates:
                if not may_take(snapshot, person_id):
                    continue
                for course in find_plain_courses(snapshot, person_id, need, first):
                    if all(is_there(snapshot, person_id, d) for d in get_days(first, hole.to_date)):
                        assert count_days(snapshot, (course,)) >= days


def may_take(snapshot: Snapshot, person_id: str) -> bool:
    """Whether nothing but the days of courses decides: who comes later or leaves may be no way."""
    person = snapshot.people[person_id]
    return (person.start_date is None or person.start_date <= ON) and person.end_date is None


def is_there(snapshot: Snapshot, person_id: str, day: date) -> bool:
    return is_employed(snapshot.people[person_id], day) and not is_absent(snapshot, person_id, day)


def find_candidates(snapshot: Snapshot, need: NeedTimeline, day: date, away: frozenset[str]) -> set[str]:
    competency = snapshot.competencies[need.competency]
    return {
        person.id
        for person in snapshot.get_members("t")
        if need.shift in (None, person.shift)
        and person.id not in away
        and is_there(snapshot, person.id, day)
        and (get_level(snapshot, person.id, competency, day).level or 0) < need.level
    }


def find_plain_courses(snapshot: Snapshot, person_id: str, need: NeedTimeline, day: date) -> list[str]:
    """Return the courses that reach the level without renewing, and whose conditions the person meets on a day."""
    found = []
    for outcome in snapshot.get_outcomes_of_competency(need.competency):
        conditions = snapshot.get_entry_conditions(outcome.course)
        is_open = all(
            (get_level(snapshot, person_id, snapshot.competencies[c.competency], day).level or 0) >= c.level
            for c in conditions
        )
        if outcome.level >= need.level and not outcome.renews and is_open:
            found.append(outcome.course)
    return found


def count_days(snapshot: Snapshot, courses: tuple[str, ...]) -> int:
    """Return the days from asking for all courses until the last is done, one after another."""
    end = Fraction(0)
    for course_id in courses:
        course = snapshot.courses[course_id]
        # paid working time: forty hours a week
        end = max(end, Fraction(course.lead_weeks)) + max(Fraction(course.weeks or 0.0), Fraction(course.hours) / 40)
    return math.ceil(end * 7)


@MANY
@given(team_over_time_rows())
def test_order_of_rows_changes_nothing(rows: Rows) -> None:
    turned = {name: group[::-1] for name, group in rows.items()}
    results = [compute_cover_timeline(build_team(r), "t", ON, to_date=LAST) for r in (rows, turned)]
    assert results[0] == results[1]
