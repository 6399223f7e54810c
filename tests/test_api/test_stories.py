"""The demonstration scenario tells its stories: each a number someone can check by hand.

All are asked on 2026-11-24. The numbers were worked out from the tables with a model of its own (a time-stamped
integer programme over courses and levels) before this code existed; see data/SOURCE.md.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from asking import PERSON, TEAM, tell
from scenario import load_scenario

from ontology.analysis.paths.learning_path import find_path_to_levels
from ontology.analysis.profiles.profile import build_profile
from ontology.snapshot.snapshot import Snapshot

ON = date(2026, 11, 24)


@pytest.fixture(scope="module")
def snapshot() -> Snapshot:
    return load_scenario()


def get_need(answer: dict[str, Any], competency: str, applies: str) -> dict[str, Any]:
    """Return the one row of a cover need."""
    (row,) = (n for n in answer["needs"] if n["competency"] == competency and n["applies"] == applies)
    return dict(row)


def test_1_a_team_looks_covered_but_a_night_crew_hangs_on_one_who_is_away(snapshot: Snapshot) -> None:
    cover = tell(snapshot, "coverage", TEAM, "treatment", on=ON)
    team = get_need(cover, "cert-chlorine", "team")
    assert (team["depth"], team["minimum"], team["state"]) == (6, 2, "covered")
    night = get_need(cover, "cert-chlorine", "each-shift")
    assert (night["shift"], night["depth"], night["state"], night["qualified"]) == ("treat-night", 0, "short", ["p013"])
    assert "p013" in cover["absent"]
    single = tell(snapshot, "single-points-of-failure", TEAM, "treatment", on=ON)
    (alone,) = single["people"]
    assert alone["id"] == "p014"
    assert {need["competency"] for need in alone["needs"]} == {"disinfection-control", "coagulation-control"}
    staffing = tell(snapshot, "staffing", TEAM, "treatment", on=ON)
    assert (staffing["places"], staffing["filled"], staffing["unfilled"]) == (7, 6, ["treat-night-operator"])
    back = tell(snapshot, "staffing", TEAM, "treatment", on=date(2026, 12, 8))
    assert (back["places"], back["filled"]) == (7, 7)


def test_2_a_lapse_makes_the_rescue_duty_fall_short(snapshot: Snapshot) -> None:
    states = {
        day: get_need(tell(snapshot, "coverage", TEAM, "wastewater", on=day), "cert-confined-rescue", "team")
        for day in (date(2026, 10, 15), date(2026, 10, 16), ON)
    }
    assert [(row["depth"], row["state"]) for row in states.values()] == [(2, "no-reserve"), (1, "short"), (1, "short")]
    plan = tell(snapshot, "cross-training", TEAM, "wastewater", on=ON)
    assert (plan["status"], plan["study_hours"], plan["coach_hours"], plan["unmet"]) == ("optimal", 24, 0, [])
    assert {(row["person"], *row["courses"]) for row in plan["plan"]} == {
        ("p034", "confined-rescue-refresher"),
        ("p036", "confined-rescue-basic"),
    }


def test_3_a_stepping_stone_beats_the_direct_move(snapshot: Snapshot) -> None:
    answer = tell(snapshot, "routes", PERSON, "p008", to="senior-treatment-operator", on=ON)
    direct = answer["direct"]
    assert (direct["study_hours"], direct["within_reach"]) == (378, False)
    assert {limit["limit"] for limit in direct["broken_limits"]} == {"preparation", "level"}
    assert answer["status"] == "optimal"
    for aim in ("study_hours", "months", "moves"):
        route = answer["best"][aim]
        assert route["roles"] == ["treatment-operator", "senior-treatment-operator"]
        assert route["study_hours"] == 232
        assert route["months"] == pytest.approx(18 + 232 / 6 / (52 / 12))


def test_4_one_plan_for_three_holes_beats_the_nearest_person_per_need(snapshot: Snapshot) -> None:
    plan = tell(snapshot, "cross-training", TEAM, "laboratory", on=ON)
    assert (plan["status"], plan["study_hours"], plan["coach_hours"]) == ("optimal", 40, 16)
    assert {(row["person"], row["competency"], *row["courses"]) for row in plan["plan"]} == {
        ("p062", need, "bench-rotation")
        for need in ("microbiology-analysis", "instrumental-analysis", "result-interpretation")
    }
    members = [person.id for person in snapshot.get_members("laboratory")]
    nearest = 0.0
    for need in snapshot.get_cover_needs("laboratory"):
        row = get_need(tell(snapshot, "coverage", TEAM, "laboratory", on=ON), need.competency, need.applies)
        if len(row["qualified"]) < need.target:
            paths = [
                find_path_to_levels(snapshot, build_profile(snapshot, person, ON), {need.competency: need.level})
                for person in members
                if person not in row["qualified"]
            ]
            nearest += min(path.study_hours for path in paths if path.status == "optimal")
    assert nearest == 64


def test_5_a_target_that_no_courses_reach_is_named_with_the_reason(snapshot: Snapshot) -> None:
    path = tell(snapshot, "learning-path", PERSON, "p051", role="operations-manager", on=ON)
    assert (path["status"], path["study_hours"], path["cost"]) == ("unreachable", 160, 1790)
    assert [(row["competency"], row["level"]) for row in path["unreachable"]] == [("incident-command", 4)]
    waiting = tell(snapshot, "learning-path", PERSON, "p060", role="quality-manager", on=ON)
    reasons = {row["competency"]: row["reason"] for row in waiting["unreachable"]}
    assert set(reasons) == {"lab-quality-control", "method-validation"}
    assert "validation-advanced" in reasons["method-validation"]
    assert waiting["study_hours"] == 149
    routes = tell(snapshot, "routes", PERSON, "p051", to="operations-manager", on=ON)
    assert (routes["status"], routes["best"]["study_hours"]) == ("unreachable", None)


def test_6_the_first_step_of_an_experienced_newcomer_is_to_be_assessed(snapshot: Snapshot) -> None:
    gap = tell(snapshot, "gap", PERSON, "p040", role="wastewater-operator", on=ON)
    assert len(gap["assess_first"]) == 14
    assert (gap["readiness"], gap["blocking_unmet"], gap["essential_met"], gap["essential_total"]) == (0, 4, 0, 9)
    declared = {row["competency"]: row["declared"] for row in gap["gaps"] if row["declared"]}
    assert declared["biological-treatment"] == 3
    assert all(row["have"] is None and row["state"] == "not-assessed" for row in gap["gaps"])
    assert tell(snapshot, "learning-path", PERSON, "p040", role="wastewater-operator", on=ON)["study_hours"] == 280


def test_7_the_cheapest_way_for_each_gap_costs_far_more_than_the_proved_path(snapshot: Snapshot) -> None:
    path = tell(snapshot, "learning-path", PERSON, "p063", role="laboratory-analyst", on=ON)
    assert (path["status"], path["study_hours"], path["cost"]) == ("optimal", 140, 1180)
    gap = tell(snapshot, "gap", PERSON, "p063", role="laboratory-analyst", on=ON)
    profile = build_profile(snapshot, "p063", ON)
    single = [
        find_path_to_levels(snapshot, profile, {row["competency"]: row["level"]})
        for row in gap["gaps"]
        if row["gap"] and row["necessity"] != "desirable"
    ]
    assert sum(one.study_hours for one in single) == 296
    once = {course.id: course.study_hours for one in single for course in one.courses}
    assert sum(once.values()) == 212


def test_8_one_place_and_one_duty_that_too_few_can_fill(snapshot: Snapshot) -> None:
    single = tell(snapshot, "single-points-of-failure", TEAM, "wastewater", on=ON)
    assert [(person["id"], person["places"]) for person in single["people"]] == [("p036", ["ww-night-operator"])]
    staffing = tell(snapshot, "staffing", TEAM, "networks", on=ON)
    assert (staffing["together_slots"], staffing["together_filled"]) == (3, 2)
    assert staffing["bottleneck"]["people"] == ["p026", "p027"]
    cover = tell(snapshot, "coverage", TEAM, "networks", on=ON)
    together = [need for need in cover["needs"] if need["together"] == "entry-standby"]
    assert [(need["depth"], need["state"]) for need in together] == [(2, "covered")] * 3
