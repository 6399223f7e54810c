"""The plan on the calendar: hours a week, lead times, and nobody away in whom a need would be short."""

from __future__ import annotations

from datetime import date, timedelta
from types import SimpleNamespace
from typing import Any

from small_company import ON
from small_team import Rows, build_team, build_team_rows

from ontology.analysis.engine.relaxed import RelaxedProblem
from ontology.analysis.paths.offers import Offer
from ontology.analysis.training.cross_training import CrossTrainingResult, TrainingRules, plan_cross_training
from ontology.analysis.training.training_weeks import find_last_week


def build_courses(**hours: tuple[float, str, str]) -> Rows:
    """Return courses from id=(hours, strand, competency given at level 2)."""
    return {
        "courses": [{"id": i, "label": i, "hours": row[0], "strand": row[1]} for i, row in hours.items()],
        "outcomes": [{"course": i, "competency": row[2], "level": 2} for i, row in hours.items()],
    }


def need(competency: str, **more: Any) -> dict[str, Any]:
    return {"team": "t", "competency": competency, "level": 2} | more


def plan(rows: Rows, needs: list[dict[str, Any]], courses: Rows) -> CrossTrainingResult:
    return plan_cross_training(build_team(rows, cover_needs=needs, **courses), "t", ON)


def get_week(result: CrossTrainingResult, person: str) -> int:
    """Return the week in which the person's last course ends."""
    (row,) = [row for row in result.learners if row.person == person]
    assert row.finished_on is not None
    return ((row.finished_on - ON).days - 6) // 7


def test_only_as_many_holders_are_away_in_a_week_as_the_need_can_spare() -> None:
    people = build_team_rows(p={"a": 2}, q={"a": 2}, r={"a": 2})
    needs = [need("a", minimum=2, target=3), need("b", target=3)]
    off_job = plan(people, needs, build_courses(b2=(8.0, "formal", "b")))
    assert sorted(get_week(off_job, person) for person in "pqr") == [1, 3, 5]
    assert off_job.release_conflicts == ()
    at_work = plan(people, needs, build_courses(b2=(8.0, "experience", "b")))
    assert [get_week(at_work, person) for person in "pqr"] == [1, 1, 1]


def test_who_has_finished_is_a_holder_and_frees_the_only_one() -> None:
    people = build_team_rows(p={"a": 2}, q={"b": 2})
    needs = [need("a", target=2), need("b", minimum=1, target=2)]
    courses = build_courses(a2=(4.0, "experience", "a"), b2=(4.0, "formal", "b"))
    result = plan(people, needs, courses)
    # q learns a at work in the first week; only then can p, until then the only holder of a, be spared
    assert (get_week(result, "q"), get_week(result, "p")) == (0, 1)
    assert result.release_conflicts == ()


def test_a_course_for_which_the_only_holder_can_never_be_spared_is_placed_and_said() -> None:
    people = build_team_rows(p={"a": 2}, q={})
    needs = [need("a", target=1), need("b", target=2)]
    result = plan(people, needs, build_courses(b2=(4.0, "formal", "b")))
    (row,) = result.release_conflicts
    assert (row.person, row.course, row.competency, row.level) == ("p", "b2", "a", 2)
    assert get_week(result, "p") >= 1
    assert any("find a stand-in first" in remark for remark in result.remarks)


def test_no_study_hours_means_no_date_and_a_remark() -> None:
    people = build_team_rows(p={})
    people["people"][0]["study_hours_per_week"] = 0.0
    result = plan(people, [need("b", target=1)], build_courses(b2=(4.0, "formal", "b")))
    assert (result.finished_on, result.plan[0].finished_on, result.timetable) == (None, None, ())
    assert "p has no study hours a week" in result.remarks[0]


def test_a_course_lasts_its_own_weeks_and_hours_of_a_month_keep_to_what_is_free() -> None:
    courses = build_courses(b2=(10.0, "experience", "b"))
    courses["courses"][0] |= {"weeks": 6.0, "lead_weeks": 1.5}
    result = plan(build_team_rows(p={}), [need("b", target=1)], courses)
    # asked for on the day, its first day two whole weeks later, then six weeks
    assert result.finished_on == ON + timedelta(days=7 * 8 - 1)
    assert [(row.month, row.study_hours, row.hours_free) for row in result.timetable] == [("2026-12", 10.0, 20.0)]


def test_who_leaves_before_the_end_is_told() -> None:
    people = build_team_rows(p={})
    people["people"][0]["end_date"] = ON + timedelta(days=3)
    result = plan(people, [need("b", target=1)], build_courses(b2=(10.0, "experience", "b")))
    assert any("p leaves on" in remark for remark in result.remarks)


def test_a_course_that_ends_on_the_last_day_ends_in_time() -> None:
    people = build_team_rows(p={})
    people["people"][0]["end_date"] = ON + timedelta(days=6)
    team = build_team(people, cover_needs=[need("b", target=1)], **build_courses(b2=(4.0, "experience", "b")))
    result = plan_cross_training(team, "t", ON, rules=TrainingRules(by=ON + timedelta(days=6)))
    assert (result.finished_on, result.missing, result.remarks) == (ON + timedelta(days=6), 0, ())


def test_a_plan_of_which_one_part_has_no_date_has_none() -> None:
    people = build_team_rows(p={}, q={})
    people["people"][0]["study_hours_per_week"] = 0.0
    result = plan(people, [need("b", target=2)], build_courses(b2=(4.0, "experience", "b")))
    assert [row.finished_on is None for row in result.learners] == [True, False]
    assert result.finished_on is None


def build_chain(**hours: float) -> Rows:
    """Return courses b1, b2 that lead to level 2 of b one after the other."""
    return {
        "courses": [{"id": i, "label": i, "hours": hours[i], "strand": "experience"} for i in ("b1", "b2")],
        "outcomes": [{"course": f"b{n}", "competency": "b", "level": n} for n in (1, 2)],
        "entry_conditions": [{"course": "b2", "competency": "b", "level": 1}],
    }


def test_a_line_of_several_courses_ends_with_the_last_of_them() -> None:
    people = build_team_rows(p={})
    (line,) = plan(people, [need("b", target=1)], build_chain(b1=4.0, b2=8.0)).plan
    assert (line.courses, line.finished_on) == (("b1", "b2"), ON + timedelta(days=20))
    people["people"][0]["study_hours_per_week"] = 0.0
    (line,) = plan(people, [need("b", target=1)], build_chain(b1=0.0, b2=8.0)).plan
    assert line.finished_on is None


def test_of_several_who_can_never_be_spared_the_first_by_id_goes_first() -> None:
    people = build_team_rows(p={"a": 2}, q={"b": 2})
    needs = [need("a", target=1), need("b", target=1), need("c", target=2)]
    result = plan(people, needs, build_courses(c2=(4.0, "formal", "c")))
    assert [row.person for row in result.release_conflicts] == ["p", "q"]
    assert get_week(result, "p") < get_week(result, "q")


def test_weeks_at_the_end_of_the_calendar_are_no_error() -> None:
    team = build_team(
        build_team_rows(p={}), cover_needs=[need("b", target=1)], **build_courses(b2=(8.0, "experience", "b"))
    )
    assert plan_cross_training(team, "t", date.max - timedelta(days=8)).finished_on == date.max


def test_courses_share_the_hours_of_a_week_and_the_longest_comes_first() -> None:
    courses = build_courses(a2=(4.0, "experience", "a"), b2=(12.0, "experience", "b"))
    result = plan(build_team_rows(p={}), [need("a", target=1), need("b", target=1)], courses)
    ends = {line.competency: line.finished_on for line in result.plan}
    assert ends == {"a": ON + timedelta(days=27), "b": ON + timedelta(days=20)}


def test_the_last_week_is_that_in_which_the_last_hours_are_spent() -> None:
    studying: Any = SimpleNamespace(
        problem=RelaxedProblem(1, ("x",), (frozenset(),), (frozenset({0}),), ((480,),), frozenset(), frozenset({0})),
        offers=(Offer("x", 480, 0, (), ()),),
        lead_weeks=(0,),
        own_weeks=(0,),
        is_off_job=(False,),
        weekly_minutes=240,
        lost_minutes={},
    )
    assert [find_last_week(studying, [0], most) for most in (1, 2, 9)] == [None, 1, 1]
    assert find_last_week(studying, []) == -1


def away(person: str, first: int, last: int) -> dict[str, Any]:
    """Return an absence from one day to another, counted from the day asked about (a Tuesday)."""
    return {"person": person, "from_date": ON + timedelta(days=first), "to_date": ON + timedelta(days=last)}


def test_recorded_absence_takes_its_days_share_of_a_week() -> None:
    people = build_team_rows(p={})
    courses = build_courses(b2=(8.0, "experience", "b"))
    assert get_week(plan(people, [need("b", target=1)], courses), "p") == 1
    people["absences"] = [away("p", 1, 1)]
    assert get_week(plan(people, [need("b", target=1)], courses), "p") == 2
    # Saturday and Sunday take nothing
    people["absences"] = [away("p", 4, 5)]
    assert get_week(plan(people, [need("b", target=1)], courses), "p") == 1


def test_nothing_is_learned_in_a_week_of_absence_and_the_month_tells_fewer_hours() -> None:
    people = build_team_rows(p={})
    people["absences"] = [away("p", 0, 13), away("p", 10, 20)]
    result = plan(people, [need("b", target=1)], build_courses(b2=(8.0, "experience", "b")))
    assert get_week(result, "p") == 4
    # five weeks of four hours begin in December 2026, two of them in absence
    assert [(row.month, row.study_hours, row.hours_free) for row in result.timetable] == [("2026-12", 8.0, 12.0)]


def test_nobody_is_spared_while_the_other_holder_is_absent_or_has_left() -> None:
    people = build_team_rows(p={"a": 2}, q={"a": 2})
    needs = [need("a", target=2), need("b", target=1)]
    courses = build_courses(b2=(4.0, "formal", "b"))
    assert get_week(plan(people, needs, courses), "p") == 0
    people["absences"] = [away("q", 7, 13), away("q", 0, 0)]
    result = plan(people, needs, courses)
    assert (get_week(result, "p"), result.release_conflicts) == (2, ())
    people["absences"] = []
    people["people"][1]["end_date"] = ON - timedelta(days=0)
    courses["courses"][0]["lead_weeks"] = 1.0
    assert [row.person for row in plan(people, needs, courses).release_conflicts] == ["p"]


def test_absence_moves_a_plan_with_a_last_day_to_someone_who_is_there() -> None:
    people = build_team_rows(p={}, q={})
    courses = build_courses(b2=(8.0, "experience", "b"))
    rules = TrainingRules(by=ON + timedelta(days=13))
    people["absences"] = [away("p", 2, 3)]
    team = build_team(people, cover_needs=[need("b", target=1)], **courses)
    result = plan_cross_training(team, "t", ON, rules=rules)
    assert [(row.person, row.finished_on) for row in result.learners] == [("q", ON + timedelta(days=13))]
