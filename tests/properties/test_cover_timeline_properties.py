"""The timeline of a team's cover against asking every day, on random teams whose cover changes."""

from __future__ import annotations

import math
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st
from small_company import ON
from small_team import Rows, build_team
from team_over_time import DAYS, team_over_time_rows

from ontology.analysis.cover.coverage import CoverageRow, ShiftCover, compute_coverage
from ontology.analysis.cover.presence import is_absent, is_employed
from ontology.analysis.outlook.cover_timeline import CoverTimelineResult, NeedTimeline, compute_cover_timeline
from ontology.analysis.profiles.levels import get_level
from ontology.graph.snapshot import Snapshot

MANY = settings(max_examples=80, deadline=None)
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
            days = [day for hole in holes for day in get_days(hole.from_date, hole.to_date)]
            assert days == [day for day, depth in depths.items() if need.minimum - depth >= lacking]
            # the longest runs: neighbours never touch
            assert all(b.from_date - a.to_date > DAY for a, b in pairwise(holes))
            assert all(hole.is_open == (hole.to_date == LAST) for hole in holes)
    states = {
        (need.competency, need.level, need.applies, need.shift, day): find_row(snapshot, need, day, away).state
        for need in result.needs
        for day in get_days(ON, LAST)
    }
    expected = sorted(key for key, state in states.items() if key[4] > ON and states[*key[:4], key[4] - DAY] != state)
    assert sorted((c.competency, c.level, c.applies, c.shift, c.on) for c in result.changes) == expected
    check_acts(result)


def check_acts(result: CoverTimelineResult) -> None:
    mended = [hole for need in result.needs for hole in need.holes if hole.mend is not None]
    assert sorted(act.last_day_to_act for act in result.acts) == [act.last_day_to_act for act in result.acts]
    assert len(result.acts) == len(mended)
    for hole in (hole for need in result.needs for hole in need.holes):
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
            candidates = find_candidates(snapshot, need, hole.from_date, away)
            if hole.mend is None:
                continue
            mend = hole.mend
            assert mend.person in candidates
            assert mend.due <= hole.from_date
            days = count_days(snapshot, mend.courses)
            assert mend.last_day_to_act == mend.due - timedelta(days=days)
            assert mend.ready_on == ON + timedelta(days=days)
            more = {
                "person": mend.person,
                "competency": need.competency,
                "level": need.level,
                "date": hole.from_date,
                "source": "certificate" if snapshot.competencies[need.competency].is_certificate else "assessor",
            }
            mended = build_team(rows, assessments=[more])
            before = find_row(snapshot, need, hole.from_date, away).depth
            assert find_row(mended, need, hole.from_date, away).depth == before + 1
            if hole.lacking > 1 or mend.kind == "renewal" or not mend.is_there_throughout:
                continue
            for person_id in candidates:
                for course in find_plain_courses(snapshot, person_id, need, hole.from_date):
                    if all(is_there(snapshot, person_id, d) for d in get_days(hole.from_date, hole.to_date)):
                        assert count_days(snapshot, (course,)) >= days


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
