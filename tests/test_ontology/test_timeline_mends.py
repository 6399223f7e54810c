"""Who mends a hole in the cover, by which courses, and the last day to begin: worked out by hand."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from small_company import ON, build_competencies
from small_team import build_team
from timeline_cases import LAST, build_rows, certify, day, get_hole

from ontology.analysis.cover.nearest import CourseTime, PathFinder, compute_course_time
from ontology.analysis.outlook.cover_timeline import compute_cover_timeline
from ontology.analysis.profiles.profile import Profile
from ontology.model.records import Course
from ontology.model.tables import TABLES


def test_lapse_is_mended_by_the_renewal_of_its_holder() -> None:
    hole = get_hole(build_rows("p", "q"), assessments=[certify("p", "2027-01-31")])
    assert (hole.from_date, hole.to_date, hole.is_open) == (day("2027-02-01"), LAST, True)
    (cause,) = hole.causes
    assert (cause.person, cause.what) == ("p", "lapses")
    assert cause.words == "CARD lapses; level 1 counted until 2027-01-31."
    assert (cause.source, cause.assessed_on) == ("certificate", day("2025-01-31"))
    mend = hole.mend
    assert mend is not None
    # 4 h at 4 h a week take a week, after three weeks of waiting: four weeks before 1 February
    assert (mend.person, mend.kind, mend.courses) == ("p", "renewal", ("renew",))
    assert (mend.study_hours, mend.weeks, mend.lead_weeks) == (4.0, 1.0, 3.0)
    assert hole.last_day_to_act == mend.last_day_to_act == day("2027-01-04")
    assert not hole.is_late
    assert (
        compute_cover_timeline(
            build_team(build_rows("p"), assessments=[certify("p", "2027-01-31")]), "t", ON, to_date=LAST
        ).remarks
        == ()
    )
    assert mend.ready_on == ON + timedelta(weeks=4)
    assert (mend.have, mend.source, mend.assessed_on) == (1, "certificate", day("2025-01-31"))


def test_renewal_comes_before_learning_although_someone_else_would_be_done_sooner() -> None:
    rows = build_rows("p", "q")
    rows["courses"][1] |= {"weeks": None, "lead_weeks": 0.0}
    hole = get_hole(rows, assessments=[certify("p", "2027-01-31")])
    assert hole.mend is not None
    assert (hole.mend.person, hole.mend.kind, hole.mend.ready_on) == ("p", "renewal", ON + timedelta(weeks=4))


def test_who_could_close_a_hole_that_has_begun_is_judged_on_the_day_asked_about() -> None:
    """q was there when p's card lapsed, and has left; r has come since, and holds what the course asks for."""
    rows = build_rows("p", "q", "r", refresher_months=0)
    rows["people"][1]["end_date"] = day("2026-11-15")
    rows["people"][2]["start_date"] = day("2026-11-20")
    rows["people"][0]["end_date"] = day("2026-11-20")
    rows["entry_conditions"] = [{"course": "full", "competency": "skill", "level": 1}]
    learned = {"person": "r", "competency": "skill", "level": 1, "date": day("2026-11-18"), "source": "assessor"}
    hole = get_hole(rows, assessments=[certify("p", "2026-11-10"), learned])
    assert hole.mend is not None
    assert (hole.from_date, hole.mend.person, hole.mend.courses) == (day("2026-11-11"), "r", ("full",))


def test_nobody_begins_a_course_before_their_first_day_or_ends_one_after_their_last() -> None:
    rows = build_rows("p", "q", "r")
    rows["people"][0]["end_date"] = day("2027-03-01")
    rows["people"][1]["start_date"] = day("2027-02-01")
    rows["people"][2]["end_date"] = day("2027-03-20")
    rows["courses"][1] |= {"weeks": 16.0}
    hole = get_hole(rows, assessments=[certify("p", None)])
    # q would have to begin in November, r would end a day late
    assert (hole.from_date, hole.mend) == (day("2027-03-02"), None)
    assert str(hole.reason).startswith("Nobody who is there could begin with CARD at level 1 in time")
    rows["people"][2]["end_date"] = day("2027-03-23")
    hole = get_hole(rows, assessments=[certify("p", None)])
    assert hole.mend is not None
    assert (hole.mend.person, hole.mend.ready_on, hole.is_late) == ("r", day("2027-03-23"), True)
    rows["people"][1]["start_date"] = day("2026-12-01")
    rows["courses"][1] |= {"weeks": 4.0}
    rows["people"][2]["end_date"] = day("2026-12-01")
    hole = get_hole(rows, assessments=[certify("p", None)])
    assert hole.mend is not None
    assert (hole.mend.person, hole.mend.ready_on, hole.last_day_to_act) == ("q", day("2027-01-05"), day("2027-01-26"))


def test_several_courses_are_taken_where_one_does_not_lead_there() -> None:
    rows = build_rows("p", "q")
    rows["people"][0]["end_date"] = day("2026-12-31")
    rows["courses"].append({"id": "basics", "label": "Basics", "hours": 80.0, "lead_weeks": 9.0})
    rows["outcomes"].append({"course": "basics", "competency": "skill", "level": 1})
    rows["entry_conditions"] = [{"course": "full", "competency": "skill", "level": 1}]
    hole = get_hole(rows, assessments=[certify("p", None)])
    assert hole.mend is not None
    # nine weeks of waiting, two and six of learning; the wait for the second course is over by then
    assert (hole.mend.courses, hole.mend.study_hours) == (("basics", "full"), 104.0)
    assert (hole.mend.weeks, hole.mend.lead_weeks) == (8.0, 9.0)
    assert hole.last_day_to_act == day("2027-01-01") - timedelta(weeks=17)


def test_learning_is_left_where_the_holder_leaves() -> None:
    rows = build_rows("p", "q")
    rows["people"][0]["end_date"] = day("2026-12-31")
    hole = get_hole(rows, assessments=[certify("p", None)])
    assert [(c.person, c.what, c.source) for c in hole.causes] == [("p", "leaves", None)]
    mend = hole.mend
    assert mend is not None
    # 24 h at 4 h a week take six weeks, more than the two of the course; one week of waiting
    assert (mend.person, mend.kind, mend.courses, mend.have) == ("q", "learning", ("full",), None)
    assert (mend.weeks, mend.lead_weeks) == (6.0, 1.0)
    assert (hole.from_date, hole.last_day_to_act) == (day("2027-01-01"), day("2026-11-13"))
    assert hole.is_late
    assert mend.ready_on == ON + timedelta(weeks=7)


def test_closing_a_hole_is_working_time_whatever_hours_a_person_has_for_study() -> None:
    rows = build_rows("p", "q", "r")
    rows["people"][1]["study_hours_per_week"] = 0.0
    rows["people"][2]["study_hours_per_week"] = 12.0
    rows["people"][0]["end_date"] = day("2026-12-31")
    hole = get_hole(rows, assessments=[certify("p", None)])
    assert hole.mend is not None
    assert (hole.mend.person, hole.mend.weeks) == ("q", 6.0)


def test_renewal_only_for_holders_is_due_before_the_lapse_although_the_hole_comes_later() -> None:
    rows = build_rows("p", "q", refresher_months=None)
    rows["people"][1]["end_date"] = day("2027-03-31")
    rows["courses"][1]["lead_weeks"] = 400.0
    hole = get_hole(rows, assessments=[certify("p", "2027-01-31"), certify("q", None)])
    assert hole.from_date == day("2027-04-01")
    assert hole.mend is not None
    assert (hole.mend.person, hole.mend.kind, hole.mend.due) == ("p", "renewal", day("2027-01-31"))
    assert hole.last_day_to_act == day("2027-01-03")
    later = get_hole(rows, assessments=[certify("p", "2027-01-31"), certify("q", None)], from_date=day("2027-03-01"))
    assert (later.from_date, later.mend) == (hole.from_date, hole.mend)


def test_renewal_is_lost_after_the_refresher_months() -> None:
    rows = build_rows("p", refresher_months=1)
    rows["people"].append({"id": "q", "name": "Q", "team": "t", "end_date": day("2027-03-31")})
    lapsed = [certify("p", "2026-11-10"), certify("q", None)]
    hole = get_hole(rows, assessments=lapsed)
    assert hole.from_date == day("2027-04-01")
    assert hole.mend is not None
    assert (hole.mend.person, hole.mend.kind, hole.mend.courses) == ("p", "learning", ("full",))


def test_without_a_course_there_is_no_day_and_a_reason() -> None:
    rows = build_rows("p", "q") | {"courses": [], "outcomes": []}
    hole = get_hole(rows, assessments=[certify("p", "2027-01-31")])
    assert (hole.mend, hole.last_day_to_act, hole.is_late) == (None, None, True)
    assert hole.reason == (
        "No course leads anyone who is there to CARD at level 1: No course teaches CARD (card) at level 1."
    )


def test_without_anyone_there_the_reason_says_so() -> None:
    rows = build_rows("p")
    rows["people"][0]["end_date"] = day("2026-12-31")
    hole = get_hole(rows, assessments=[certify("p", None)])
    assert hole.mend is None
    assert str(hole.reason).startswith("Nobody else is there")


def test_second_person_missing_is_a_hole_of_its_own_with_another_mend() -> None:
    rows = build_rows("p", "q", "r", minimum=2, target=2)
    rows["people"][2]["start_date"] = day("2025-01-01")
    result = compute_cover_timeline(
        build_team(rows, assessments=[certify("p", "2026-12-31"), certify("q", "2027-02-28")]), "t", ON, to_date=LAST
    )
    holes = result.needs[0].holes
    assert [(h.from_date, h.lacking) for h in holes] == [(day("2027-01-01"), 1), (day("2027-03-01"), 2)]
    assert [h.mend.person for h in holes if h.mend] == ["p", "q"]
    assert [act.last_day_to_act for act in result.acts] == [day("2026-12-04"), day("2027-02-01")]
    assert [act.person for act in result.acts] == ["p", "q"]


def test_who_is_away_when_the_hole_begins_does_not_mend_it() -> None:
    rows = build_rows("p", "q")
    rows["people"][0]["end_date"] = day("2026-12-31")
    hole = get_hole(rows, assessments=[certify("p", None)], away=frozenset({"q"}))
    assert (hole.from_date, hole.mend) == (day("2027-01-01"), None)


def test_time_to_act_counts_from_the_day_asked_about_not_from_the_first_day_told() -> None:
    assessments = [certify("p", "2027-01-31")]
    for on, is_late in ((ON, False), (day("2027-01-04"), False), (day("2027-01-05"), True)):
        hole = get_hole(build_rows("p", "q"), assessments=assessments, on=on, from_date=day("2027-01-20"))
        assert (hole.from_date, hole.last_day_to_act) == (day("2027-02-01"), day("2027-01-04"))
        assert hole.is_late == is_late


def make_course(hours: float, weeks: float | None, lead_weeks: float) -> Course:
    return TABLES["courses"].build(id="k", label="K", hours=hours, weeks=weeks, lead_weeks=lead_weeks)


@pytest.mark.parametrize(
    ("courses", "weeks", "lead_weeks", "days"),
    [
        ([(80, None, 0)], 2.0, 0.0, 14),
        ([(80, 3.0, 0)], 3.0, 0.0, 21),
        ([(80, 1.0, 2.0)], 2.0, 2.0, 28),
        # the second course's lead runs while the first is taken
        ([(80, None, 1.0), (40, None, 2.0)], 3.0, 1.0, 28),
        # and is waited for where it is longer: 1 + 2 weeks done, then until week 5
        ([(80, None, 1.0), (40, None, 5.0)], 3.0, 3.0, 42),
        # 0.7 + 0.1 days are a day, 0.7 + 0.1 + 0.3 two: decimals add up as written
        ([(4, None, 0), (0.5, None, 0), (1.2, None, 0)], 0.1425, 0.0, 1),
        ([(4, None, 1.0)], 0.1, 1.0, 8),
        ([(0, None, 0)], 0.0, 0.0, 0),
    ],
)
def test_courses_follow_each_other_and_are_all_asked_for_at_once(
    courses: list[Any], weeks: float, lead_weeks: float, days: int
) -> None:
    records = [make_course(*course) for course in courses]
    assert compute_course_time(records) == CourseTime(weeks, lead_weeks, days)


def test_people_who_stand_alike_are_searched_once() -> None:
    rows = build_rows("p", "q")
    rows["entry_conditions"] = [{"course": "full", "competency": "skill", "level": 1}]
    rows["competencies"] += build_competencies("else")
    rows["assessments"] = [
        {"person": "p", "competency": "else", "level": 3, "date": ON, "source": "assessor"},
    ]
    finder = PathFinder(build_team(rows))
    assert finder.get_relevant("card") == ("card", "skill")
    for person in ("p", "q"):
        profile = finder.build_profile(person, ON, "card")
        path = finder.find(profile, "card", 1)
        assert path.status == "unreachable"
        assert finder.is_searched(profile, "card", 1)
    assert finder.searched == 1
    able = Profile({"skill": 1})
    assert not finder.is_searched(able, "card", 1)
    assert finder.find(able, "card", 1).study_hours == 24.0
