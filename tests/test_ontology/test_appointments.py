"""The employer's appointment: who counts for cover and places only with one, and what does not ask for it."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from small_company import ON
from small_team import Rows, build_course_rows, build_team, build_team_rows

from ontology.analysis.cover.coverage import CoverageRow, compute_coverage
from ontology.analysis.outlook.company_cover import compute_company_cover
from ontology.analysis.outlook.cover_timeline import compute_cover_timeline
from ontology.analysis.paths.learning_path import find_learning_path
from ontology.analysis.places.single_points import find_single_points_of_failure
from ontology.analysis.places.staffing import compute_staffing
from ontology.analysis.places.stand_ins import find_stand_ins
from ontology.analysis.profiles.gap import compute_gap
from ontology.analysis.profiles.profile import build_profile
from ontology.analysis.training.cross_training import plan_cross_training
from ontology.snapshot.snapshot import Snapshot

DAY = timedelta(days=1)
NEED = {"team": "t", "competency": "a", "level": 2, "minimum": 1, "target": 2}
PLACE = {"id": "x", "team": "t", "role": "r"}
ASKED = {"role": "r", "competency": "a", "level": 3, "unsupervised_level": 2, "entry_level": 1}


def appoint(person: str, level: int | None = None, **more: Any) -> dict[str, Any]:
    return {"person": person, "competency": "a", "from_date": ON - 100 * DAY, "level": level} | more


def build(rows: Rows, *appointments: dict[str, Any], **more: Any) -> Snapshot:
    """Return a team that needs competency a, which asks for an appointment, and a place of a role that asks for it."""
    rows = {**rows, "competencies": [row | {"appointment": row["id"] == "a"} for row in rows["competencies"]]}
    both: dict[str, Any] = {"cover_needs": [NEED], "places": [PLACE], "requirements": [ASKED]} | more
    return build_team(rows, appointments=list(appointments), roles=[{"id": "r", "label": "R"}], **both)


def get_need(snapshot: Snapshot, on: date = ON) -> CoverageRow:
    (row,) = compute_coverage(snapshot, "t", on).needs
    return row


def test_only_the_appointed_count_and_the_others_stay_qualified_and_are_named() -> None:
    snapshot = build(build_team_rows(p={"a": 2}, q={"a": 3}, s={"a": 1}), appoint("p"), appoint("s"))
    row = get_need(snapshot)
    assert (row.depth, row.state) == (1, "sole-holder")
    assert (row.qualified, row.present, row.not_appointed) == (("p", "q"), ("p",), ("q",))


@pytest.mark.parametrize(("level", "depth"), [(None, 1), (1, 0), (2, 1), (5, 1)])
def test_appointment_is_for_any_level_or_up_to_the_one_it_names(level: int | None, depth: int) -> None:
    assert get_need(build(build_team_rows(p={"a": 5}), appoint("p", level))).depth == depth


def test_appointment_is_in_force_from_its_first_to_its_last_day() -> None:
    snapshot = build(build_team_rows(p={"a": 2}), appoint("p", from_date=ON, to_date=ON + DAY))
    assert [get_need(snapshot, ON + n * DAY).depth for n in (-1, 0, 1, 2)] == [0, 1, 1, 0]
    timeline = compute_cover_timeline(snapshot, "t", ON - 3 * DAY, to_date=ON + 9 * DAY)
    (need,) = timeline.needs
    assert [(row.from_date, row.depth) for row in need.intervals] == [(ON - 3 * DAY, 0), (ON, 1), (ON + 2 * DAY, 0)]
    causes = {cause.what for row in timeline.changes for cause in row.causes}
    assert causes == {"appointed", "appointment-ends"}


def test_competency_that_asks_for_none_ignores_appointments() -> None:
    rows = build_team_rows(p={"b": 2})
    assert get_need(build(rows, cover_needs=[NEED | {"competency": "b"}], places=[])).depth == 1


def test_staffing_single_points_and_tolerance_count_the_appointed_only() -> None:
    rows = build_team_rows(p={"a": 2}, q={"a": 3})
    one = build(rows, appoint("q"))
    staffing = compute_staffing(one, "t", ON)
    assert [(row.place, row.person) for row in staffing.assignment] == [("x", "q")]
    assert staffing.tolerance.overall == 0
    assert [row.id for row in find_single_points_of_failure(one, "t", ON).people] == ["q"]
    both = build(rows, appoint("p"), appoint("q"))
    assert compute_staffing(both, "t", ON).tolerance.overall == 1
    assert find_single_points_of_failure(both, "t", ON).people == ()
    nobody = compute_staffing(build(rows), "t", ON)
    assert (nobody.unfilled, nobody.bottleneck.people) == (("x",), ())


def test_place_whose_role_asks_for_level_0_unsupervised_asks_for_no_appointment() -> None:
    snapshot = build(build_team_rows(p={}), requirements=[ASKED | {"unsupervised_level": 0}])
    assert compute_staffing(snapshot, "t", ON).filled == 1


def test_stand_ins_of_every_team_are_appointed() -> None:
    rows = build_team_rows(p={"a": 2}, q={"a": 2}, lent={"a": 2}, other={"a": 2})
    rows["teams"].append({"id": "u", "label": "U"})
    for row in rows["people"][2:]:
        row["team"] = "u"
    snapshot = build(rows, appoint("p"), appoint("lent"))
    (need,) = find_stand_ins(snapshot, "t", ON, person_id="p").needs
    assert [row.person for row in need.stand_ins] == ["lent"]
    assert (need.depth, need.depth_without) == (1, 0)
    (place,) = find_stand_ins(snapshot, "t", ON, person_id="p").places
    assert [row.person for row in place.stand_ins] == ["lent"]
    (row,) = compute_company_cover(snapshot, ON).needs
    assert (row.depth, [lender.qualified for lender in row.lenders]) == (1, [1])


def test_training_plan_makes_nobody_count_whom_the_employer_has_not_appointed() -> None:
    courses = build_course_rows(k={"hours": 8.0, "gives": {"a": 3}})
    rows = build_team_rows(p={"a": 1}, q={"a": 1})
    plan = plan_cross_training(build(rows, appoint("q"), **courses), "t", ON, holes="places")
    assert [(row.person, row.courses) for row in plan.learners] == [("q", ("k",))]
    none = plan_cross_training(build(rows, **courses), "t", ON, holes="places")
    assert (none.plan, none.missing) == ((), 1)


def test_gap_and_path_do_not_ask_for_an_appointment() -> None:
    courses = build_course_rows(k={"hours": 8.0, "gives": {"a": 3}})
    rows = build_team_rows(p={"a": 2})
    for snapshot in (build(rows, **courses), build(rows, appoint("p"), **courses)):
        gap = compute_gap(snapshot, "r", person_id="p", on=ON)
        assert (gap.standing, gap.readiness, gap.gaps[0].have) == ("works-alone", 2 / 3, 2)
        path = find_learning_path(snapshot, build_profile(snapshot, "p", ON), "r")
        assert [row.id for row in path.courses] == ["k"]
