"""The timetable of a plan on random small teams: its days, its hours, and that what held still holds meanwhile."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from typing import Any

from brute_training import find_done_day
from hypothesis import given
from hypothesis import strategies as st
from small_company import ON
from small_team import PlainTeam, Rows, build_team
from training_questions import MANY, absence_rows, questions, read_absent, read_courses, read_levels

from ontology.analysis.cover.coverage import build_need_scopes
from ontology.analysis.cover.nearest import compute_course_time
from ontology.analysis.cover.presence import get_presence
from ontology.analysis.paths.expected import with_outcomes
from ontology.analysis.places.holding import find_broken
from ontology.analysis.training.cross_training import CrossTrainingResult, TrainingAsked, plan_cross_training
from ontology.snapshot.snapshot import Snapshot


@st.composite
def teams(draw: st.DrawFn) -> tuple[Rows, Rows]:
    """Draw a team with absences, minima, places, and people who come or leave meanwhile."""
    rows, courses = draw(questions(people=4))
    rows = draw(absence_rows(rows))
    for need in rows["cover_needs"]:
        need["minimum"] = draw(st.integers(1, 2))
    rows["roles"] = [{"id": "job", "label": "job"}]
    rows["requirements"] = [{"role": "job", "competency": "a", "level": 1}]
    rows["places"] = [{"id": "post", "team": "t", "role": "job", "shift": "", "count": draw(st.integers(1, 2))}]
    for person in rows["people"]:
        if draw(st.integers(0, 3)) == 0:
            person["end_date"] = ON + timedelta(days=draw(st.integers(0, 40)))
        elif draw(st.integers(0, 5)) == 0:
            person["start_date"] = ON + timedelta(days=draw(st.integers(1, 20)))
    return rows, courses


def plan(snapshot: Snapshot, **rules: Any) -> CrossTrainingResult:
    return plan_cross_training(snapshot, "t", ON, asked=TrainingAsked(**rules))


@MANY
@given(teams())
def test_each_course_is_within_employment_and_after_the_one_before_it(question: tuple[Rows, Rows]) -> None:
    rows, courses = question
    snapshot = build_team(rows, **courses)
    result = plan(snapshot)
    known = {course.id: course for course in read_courses(courses)}
    absent, levels = read_absent(rows), read_levels(PlainTeam(rows))
    for learner in result.learners:
        own = [row for row in result.courses if row.person == learner.person]
        assert sorted(row.course for row in own) == sorted(learner.courses)
        assert max(row.finished_on for row in own) == learner.finished_on
        person = snapshot.people[learner.person]
        for before, after in pairwise(own):
            assert before.finished_on <= after.begins_on + timedelta(days=1)
        for row in own:
            course = snapshot.courses[row.course]
            time = compute_course_time([course])
            assert row.begins_on >= ON + timedelta(days=int(7 * course.lead_weeks))
            assert row.finished_on >= ON + timedelta(days=time.days)
            assert (row.begins_on - ON).days not in absent.get(row.person, set())
            assert person.end_date is None or row.finished_on <= person.end_date
        alone = find_done_day(
            levels[learner.person], [known[c] for c in learner.courses], absent.get(learner.person, set())
        )
        assert alone is not None
        assert learner.finished_on >= ON + timedelta(days=alone)
        if not any(known[course].is_off_job for course in learner.courses):
            assert learner.finished_on == ON + timedelta(days=alone)


@MANY
@given(teams())
def test_months_hold_the_hours_of_the_plan_and_no_more_than_there_are(question: tuple[Rows, Rows]) -> None:
    rows, courses = question
    result = plan(build_team(rows, **courses))
    for month in result.timetable:
        assert month.study_hours <= month.hours_free + 1e-9
    for learner in result.learners:
        own = sum(month.study_hours for month in result.timetable if month.person == learner.person)
        assert abs(own - learner.study_hours) < 1e-9


@MANY
@given(teams())
def test_nothing_that_held_falls_while_people_are_released_but_what_is_told(question: tuple[Rows, Rows]) -> None:
    """Asked day by day of coverage and staffing, with what is done by then."""
    rows, courses = question
    snapshot = build_team(rows, **courses)
    result = plan(snapshot)
    after = with_outcomes(snapshot, [(row.person, row.course, row.finished_on) for row in result.courses])
    released = [row for row in result.courses if row.released_until is not None]
    told = {(row.person, row.course) for row in result.release_conflicts}
    for day in sorted({d for row in released for d in iterate_days(row.begins_on, row.released_until)}):
        out = {
            row.person: (row.person, row.course) in told
            for row in released
            if row.begins_on <= day <= (row.released_until or day)
        }
        presence = get_presence(after, "t", day)
        kept = {person for person, is_told in out.items() if not is_told}
        if not kept or len(kept) < len(out):
            continue
        assert not find_broken(presence, kept), (day, kept)
        for scope in build_need_scopes(presence):
            left = set(scope.present) - set(out)
            assert len(left) >= scope.need.minimum or not kept & set(scope.present)


def iterate_days(first: date, last: date | None) -> list[date]:
    assert last is not None
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]
