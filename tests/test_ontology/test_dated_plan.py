"""The plan on the calendar: exact days of working time, lead times, and nobody released while something would fall."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from small_company import ON
from small_team import Rows, build_team, build_team_rows

from api.desk.names import Names
from api.questions.team._plan_remarks import list_remarks
from ontology.analysis.cover.nearest import compute_course_time
from ontology.analysis.training.cross_training import CrossTrainingResult, TrainingAsked, plan_cross_training


def build_courses(**hours: tuple[float, str, str]) -> Rows:
    """Return courses from id=(hours, strand, competency given at level 2)."""
    return {
        "courses": [{"id": i, "label": i, "hours": row[0], "strand": row[1]} for i, row in hours.items()],
        "outcomes": [{"course": i, "competency": row[2], "level": 2} for i, row in hours.items()],
    }


def need(competency: str, **more: Any) -> dict[str, Any]:
    return {"team": "t", "competency": competency, "level": 2} | more


def plan(rows: Rows, needs: list[dict[str, Any]], courses: Rows, **rules: Any) -> CrossTrainingResult:
    team = build_team(rows, cover_needs=needs, **courses)
    return plan_cross_training(team, "t", ON, asked=TrainingAsked(**rules))


def tell(people: Rows, needs: list[dict[str, Any]], courses: Rows, **rules: Any) -> tuple[str, ...]:
    """Return what is remarked of a plan."""
    snapshot = build_team(people, cover_needs=needs, **courses)
    return list_remarks(plan_cross_training(snapshot, "t", ON, asked=TrainingAsked(**rules)), Names(snapshot))


def get_days(result: CrossTrainingResult, person: str) -> tuple[int, int]:
    """Return the days, from the day asked about, on which a person's only course begins and is done."""
    (row,) = [row for row in result.courses if row.person == person]
    return (row.begins_on - ON).days, (row.finished_on - ON).days


def away(person: str, first: int, last: int) -> dict[str, Any]:
    """Return an absence from one day to another, counted from the day asked about."""
    return {"person": person, "from_date": ON + timedelta(days=first), "to_date": ON + timedelta(days=last)}


@pytest.mark.parametrize(
    ("course", "days"),
    [
        ({"hours": 16.0}, 3),  # 2.8 days of 40 hours a week
        ({"hours": 40.0}, 7),
        ({"hours": 16.0, "weeks": 1.0}, 7),
        ({"hours": 80.0, "weeks": 1.0}, 14),
        ({"hours": 4.0, "lead_weeks": 1.0}, 8),
        ({"hours": 0.0, "lead_weeks": 1.5}, 11),
        ({"hours": 0.0}, 0),
    ],
)
def test_a_course_is_done_as_soon_as_in_the_timeline(course: dict[str, Any], days: int) -> None:
    courses = build_courses(b2=(0.0, "formal", "b"))
    courses["courses"][0] |= course
    people = build_team_rows(p={})
    people["people"][0]["study_hours_per_week"] = 0.0  # paid working time: study hours do not matter
    result = plan(people, [need("b", target=1)], courses)
    team = build_team(people, **courses)
    assert compute_course_time([team.courses["b2"]]).days == days
    assert (get_days(result, "p")[1], result.finished_on, result.after_on) == (days, *[ON + timedelta(days=days)] * 2)


def test_only_as_many_holders_are_away_at_once_as_the_need_can_spare() -> None:
    people = build_team_rows(p={"a": 2}, q={"a": 2}, r={"a": 2})
    needs = [need("a", minimum=2, target=3), need("b", target=3)]
    off_job = plan(people, needs, build_courses(b2=(16.0, "formal", "b")))
    assert [get_days(off_job, person) for person in "pqr"] == [(0, 3), (3, 6), (6, 9)]
    assert [row.released_until for row in off_job.courses] == [ON + timedelta(days=n) for n in (2, 5, 8)]
    assert off_job.release_conflicts == ()
    assert [row.is_held_back for row in off_job.courses] == [False, True, True]
    told = tell(people, needs, build_courses(b2=(16.0, "formal", "b")))
    assert told[0] == f"q cannot be released for b2 earlier than {ON + timedelta(days=3)}."
    at_work = plan(people, needs, build_courses(b2=(16.0, "experience", "b")))
    assert [get_days(at_work, person) for person in "pqr"] == [(0, 3)] * 3
    assert {row.released_until for row in at_work.courses} == {None}


def test_a_course_off_the_job_takes_people_away_for_its_hours_alone() -> None:
    people = build_team_rows(p={"a": 2}, q={"a": 2})
    courses = build_courses(b2=(8.0, "formal", "b"))
    courses["courses"][0]["weeks"] = 4.0
    result = plan(people, [need("a", minimum=1, target=2), need("b", target=2)], courses)
    assert [get_days(result, person) for person in "pq"] == [(0, 28), (2, 30)]


def test_who_is_done_is_a_holder_and_frees_the_only_one() -> None:
    people = build_team_rows(p={"a": 2}, q={"b": 2})
    needs = [need("a", target=2), need("b", minimum=1, target=2)]
    courses = build_courses(a2=(4.0, "experience", "a"), b2=(4.0, "formal", "b"))
    result = plan(people, needs, courses)
    # q learns a at work within a day; only then can p, until then the only holder of a, be spared
    assert (get_days(result, "q"), get_days(result, "p")) == ((0, 1), (1, 2))
    assert result.release_conflicts == ()


def test_a_certificate_that_is_learned_frees_others_until_it_ends() -> None:
    people = build_team_rows(p={"a": 2}, q={})
    people["competencies"][0] |= {"kind": "certificate", "expiry": "hard", "validity_months": 1}
    people["assessments"] = [
        {"person": "p", "competency": "a", "level": 2, "date": ON - timedelta(days=5), "source": "certificate"}
        | {"valid_until": ON + timedelta(days=900)}
    ]
    courses = build_courses(a2=(4.0, "experience", "a"), b2=(40.0, "formal", "b"))
    needs = [need("a", target=2), need("b", target=2)]
    courses["courses"][1]["lead_weeks"] = 5.0
    late = plan(people, needs, courses)
    assert [row.person for row in late.release_conflicts] == ["p"]
    courses["courses"][1]["lead_weeks"] = 2.0
    assert plan(people, needs, courses).release_conflicts == ()


def test_a_course_for_which_the_only_holder_can_never_be_spared_is_placed_and_said() -> None:
    people = build_team_rows(p={"a": 2}, q={})
    needs = [need("a", target=1), need("b", target=2)]
    result = plan(people, needs, build_courses(b2=(4.0, "formal", "b")))
    (row,) = result.release_conflicts
    assert (row.person, row.course, row.competency, row.level, row.place) == ("p", "b2", "a", 2, None)
    assert get_days(result, "p") == (0, 1)
    told = tell(people, needs, build_courses(b2=(4.0, "formal", "b")))
    assert told == ("p cannot be released for b2 without a stand-in: meanwhile A at level 2 is short.",)


def test_nobody_is_released_while_a_place_would_fall_empty() -> None:
    people = build_team_rows(p={"a": 2}, q={})
    people["roles"] = [{"id": "job", "label": "Job"}]
    people["requirements"] = [{"role": "job", "competency": "a", "level": 2}]
    people["places"] = [{"id": "post", "team": "t", "role": "job", "label": "Post"}]
    asked = [need("b", target=2)], build_courses(b2=(4.0, "formal", "b"))
    result = plan(people, *asked, exclude_people=frozenset({"q"}))
    assert [(row.competency, row.place) for row in result.release_conflicts] == [(None, "post")]
    told = tell(people, *asked, exclude_people=frozenset({"q"}))
    assert told == ("p cannot be released for b2 without a stand-in: meanwhile the place Post is empty.",)


def test_nobody_is_released_while_a_slot_of_a_group_would_fall_empty() -> None:
    people = build_team_rows(p={"a": 2, "c": 2}, q={"a": 2, "c": 2})
    needs = [need(i, target=1, together="g") for i in "ac"]
    # either need has one to spare, both at once have none
    result = plan(people, [*needs, need("b", target=1)], build_courses(b2=(4.0, "formal", "b")))
    assert [(row.competency, row.level, row.place) for row in result.release_conflicts] == [("c", 2, None)]


def test_of_several_who_can_never_be_spared_the_first_by_id_goes_first() -> None:
    people = build_team_rows(p={"a": 2}, q={"b": 2})
    needs = [need("a", target=1), need("b", target=1), need("c", target=2)]
    result = plan(people, needs, build_courses(c2=(4.0, "formal", "c")))
    assert [row.person for row in result.release_conflicts] == ["p", "q"]


def test_nobody_is_spared_while_the_other_holder_is_absent_or_has_left() -> None:
    people = build_team_rows(p={"a": 2}, q={"a": 2})
    needs = [need("a", target=2), need("b", target=1)]
    courses = build_courses(b2=(4.0, "formal", "b"))
    assert get_days(plan(people, needs, courses, exclude_people=frozenset("q")), "p") == (0, 1)
    people["absences"] = [away("q", 7, 13), away("q", 0, 0)]
    needs[0]["minimum"] = 1
    rules = {"exclude_people": frozenset("q")}
    result = plan(people, needs, courses, **rules)
    assert (get_days(result, "p"), result.release_conflicts) == ((1, 2), ())
    people["absences"] = []
    people["people"][1]["end_date"] = ON
    courses["courses"][0]["lead_weeks"] = 1.0
    assert [row.person for row in plan(people, needs, courses, **rules).release_conflicts] == ["p"]


def test_hours_stand_still_in_recorded_absence_and_nothing_begins_in_it() -> None:
    people = build_team_rows(p={})
    courses = build_courses(b2=(16.0, "experience", "b"))
    people["absences"] = [away("p", 1, 4)]
    assert get_days(plan(people, [need("b", target=1)], courses), "p") == (0, 7)
    people["absences"] = [away("p", 0, 13), away("p", 10, 20)]
    assert get_days(plan(people, [need("b", target=1)], courses), "p") == (21, 24)
    people["absences"] = [away("p", 3, 9)]
    assert get_days(plan(people, [need("b", target=1)], courses), "p") == (0, 3)
    courses["courses"][0]["hours"] = 40.0
    people["absences"] = [away("p", 7, 9)]
    assert get_days(plan(people, [need("b", target=1)], courses), "p") == (0, 7)
    courses["courses"][0] |= {"hours": 8.0, "weeks": 1.0}
    people["absences"] = [away("p", 1, 4)]
    assert get_days(plan(people, [need("b", target=1)], courses), "p") == (0, 7)


def test_a_course_off_the_job_waits_until_it_fits_between_two_absences() -> None:
    people = build_team_rows(p={})
    people["absences"] = [away("p", 2, 4), away("p", 7, 8)]
    courses = build_courses(b2=(16.0, "formal", "b"))
    assert get_days(plan(people, [need("b", target=1)], courses), "p") == (9, 12)
    people["absences"] = [away("p", 3, 4)]
    assert get_days(plan(people, [need("b", target=1)], courses), "p") == (0, 3)


def test_courses_of_one_person_follow_each_other_the_shorter_first() -> None:
    courses = build_courses(a2=(16.0, "experience", "a"), b2=(12.0, "experience", "b"))
    result = plan(build_team_rows(p={}), [need("a", target=1), need("b", target=1)], courses)
    days = {row.course: ((row.begins_on - ON).days, (row.finished_on - ON).days) for row in result.courses}
    # 2.1 days, then 2.8: a day that is begun is shared
    assert days == {"b2": (0, 3), "a2": (2, 5)}
    assert [line.finished_on for line in result.plan] == [ON + timedelta(days=5), ON + timedelta(days=3)]


def test_a_line_of_several_courses_ends_with_the_last_of_them() -> None:
    courses: Rows = {
        "courses": [{"id": f"b{n}", "label": "b", "hours": 40.0} for n in (1, 2)],
        "outcomes": [{"course": f"b{n}", "competency": "b", "level": n} for n in (1, 2)],
        "entry_conditions": [{"course": "b2", "competency": "b", "level": 1}],
    }
    (line,) = plan(build_team_rows(p={}), [need("b", target=1)], courses).plan
    assert (line.courses, line.finished_on) == (("b1", "b2"), ON + timedelta(days=14))


def test_nobody_ends_a_course_after_their_last_day() -> None:
    people = build_team_rows(p={}, q={})
    courses = build_courses(b2=(16.0, "experience", "b"))
    for days, who in ((2, "q"), (3, "p")):
        people["people"][0]["end_date"] = ON + timedelta(days=days)
        result = plan(people, [need("b", target=1)], courses)
        assert ([row.person for row in result.learners], result.remarks) == ([who], ())


def test_who_cannot_be_spared_before_the_last_day_is_placed_in_time_and_told() -> None:
    people = build_team_rows(p={"a": 2}, q={"a": 2})
    people["absences"] = [away("q", 0, 9)]
    needs = [need("a", minimum=1, target=2), need("b", target=1)]
    courses = build_courses(b2=(16.0, "formal", "b"))
    rules = {"exclude_people": frozenset("q")}
    assert get_days(plan(people, needs, courses, by=ON + timedelta(days=13), **rules), "p") == (10, 13)
    told = plan(people, needs, courses, by=ON + timedelta(days=12), **rules)
    assert (get_days(told, "p"), [row.person for row in told.release_conflicts]) == ((0, 3), ["p"])


def test_until_a_date_someone_who_can_be_released_learns_in_place_of_someone_who_cannot() -> None:
    people = build_team_rows(p={"a": 2}, q={}, r={})
    needs = [need("a", target=1), need("b", target=1)]
    courses = build_courses(b2=(16.0, "formal", "b"))
    assert [row.person for row in plan(people, needs, courses).release_conflicts] == ["p"]
    result = plan(people, needs, courses, by=ON + timedelta(days=9))
    assert ([row.person for row in result.learners], result.release_conflicts) == (["q"], ())
    assert (result.status, result.missing, result.study_hours) == ("optimal", 0, 16.0)
    # but never for one for whom it takes more
    courses["entry_conditions"] = [{"course": "b2", "competency": "a", "level": 1}]
    courses["courses"].append({"id": "a1", "label": "a1", "hours": 1.0})
    courses["outcomes"].append({"course": "a1", "competency": "a", "level": 1})
    result = plan(people, needs, courses, by=ON + timedelta(days=9))
    assert [row.person for row in result.release_conflicts] == ["p"]


def test_absence_moves_a_plan_with_a_last_day_to_someone_who_is_there() -> None:
    people = build_team_rows(p={}, q={})
    people["absences"] = [away("p", 2, 3)]
    courses = build_courses(b2=(16.0, "experience", "b"))
    result = plan(people, [need("b", target=1)], courses, by=ON + timedelta(days=3))
    assert [(row.person, row.finished_on) for row in result.learners] == [("q", ON + timedelta(days=3))]


@pytest.mark.parametrize(("lead", "done"), [(1.0, True), (2.0, False)])
def test_a_refresher_is_no_way_once_who_lost_the_level_can_no_longer_use_it(lead: float, *, done: bool) -> None:
    people = build_team_rows(p={})
    people["competencies"][0] |= {"kind": "certificate", "expiry": "hard", "refresher_months": 1}
    lost = {"person": "p", "competency": "a", "level": 2, "date": ON - timedelta(days=99), "source": "certificate"}
    people["assessments"] = [lost | {"valid_until": ON - timedelta(days=20)}]  # until ten days from now
    courses = build_courses(a2=(4.0, "experience", "a"))
    courses["courses"][0]["lead_weeks"] = lead
    courses["outcomes"][0]["renews"] = True
    result = plan(people, [need("a", target=1)], courses)
    assert [row.course for row in result.courses] == (["a2"] if done else [])
    assert result.missing == (0 if done else 1)
    assert any("refresher" in row.reason for row in result.unmet) is not done


def test_months_tell_the_hours_planned_and_the_working_hours_there_are() -> None:
    courses = build_courses(b2=(60.0, "experience", "b"))
    people = build_team_rows(p={})
    people["absences"] = [away("p", 14, 20)]
    result = plan(people, [need("b", target=1)], courses)
    # seven days of November from the 24th on, then 20 hours in December, of 24 days less an absence of seven
    assert [(row.month, row.study_hours, round(row.hours_free, 6)) for row in result.timetable] == [
        ("2026-11", 40.0, 40.0),
        ("2026-12", 20.0, round(24 * 40 / 7, 6)),
    ]
    people["people"][0]["end_date"] = ON + timedelta(days=12)
    assert [round(row.hours_free * 7 / 40, 6) for row in plan(people, [need("b", target=1)], courses).timetable] == [
        7,
        6,
    ]


def test_days_at_the_end_of_the_calendar_are_no_error() -> None:
    team = build_team(
        build_team_rows(p={}), cover_needs=[need("b", target=1)], **build_courses(b2=(80.0, "formal", "b"))
    )
    assert plan_cross_training(team, "t", date.max - timedelta(days=8)).finished_on == date.max
