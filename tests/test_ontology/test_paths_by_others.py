"""Learning paths to levels that hang on others, and through levels that count as another."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from small_company import ON
from small_team import build_course_rows, build_team, build_team_rows

from ontology.analysis.cover.nearest import PathFinder
from ontology.analysis.paths.expected import expect_assessments
from ontology.analysis.paths.learning_path import find_learning_path, find_path_to_levels
from ontology.analysis.paths.path_results import LearningPathResult
from ontology.analysis.paths.person_path import find_person_path
from ontology.analysis.profiles.profile import build_profile, build_role_profile
from ontology.analysis.schedule.schedule import plan_schedule
from ontology.snapshot.snapshot import Snapshot

DAY = timedelta(days=1)
COURSES: dict[str, dict[str, Any]] = {
    "mask": {"hours": 4.0, "gives": {"a": 1}},
    "rescue": {"hours": 16.0, "gives": {"b": 2}},
}


def build(levels: dict[str, int], hangs: dict[str, tuple[str, ...]] | None = None, **more: Any) -> Snapshot:
    """Return a company of p; role r asks for b at level 2. `hangs`: what each of a, b, c holds while."""
    rows = build_team_rows(p=levels)
    for row in rows["competencies"]:
        row["holds_while"] = (hangs or {}).get(row["id"], ())
    courses = build_course_rows(**{i: dict(row) for i, row in more.pop("courses", COURSES).items()})
    roles = [{"id": "r", "label": "R"}]
    requirements = more.pop("requirements", [{"role": "r", "competency": "b", "level": 2}])
    return build_team(rows, roles=roles, requirements=requirements, **courses, **more)


def find(snapshot: Snapshot, on: date = ON, **more: Any) -> LearningPathResult:
    return find_learning_path(snapshot, build_profile(snapshot, "p", on), "r", **more)


def list_courses(path: LearningPathResult) -> list[str]:
    return [row.id for row in path.courses]


def test_path_to_a_suspended_level_asks_only_for_what_it_hangs_on() -> None:
    """Section 11: it comes back with them, without a course."""
    path = find(build({"b": 2}, {"b": ("a",)}))
    assert (path.status, list_courses(path), path.study_hours) == ("optimal", ["mask"], 4.0)
    assert (path.readiness_before, path.readiness_after, path.standing_after) == (0.0, 1.0, "full")
    (row,) = path.requirements
    assert (row.have, row.reached) == (0, 2)


def test_path_to_a_level_takes_what_it_hangs_on_in_at_level_1() -> None:
    path = find(build({}, {"b": ("a",)}))
    assert (sorted(list_courses(path)), path.study_hours) == (["mask", "rescue"], 20.0)
    held = find(build({"a": 1}, {"b": ("a",)}))
    assert list_courses(held) == ["rescue"]
    chain = build({}, {"b": ("c",), "c": ("a",)}, courses=COURSES | {"c": {"hours": 1.0, "gives": {"c": 1}}})
    assert sorted(list_courses(find(chain))) == ["c", "mask", "rescue"]


def test_target_that_hangs_on_what_no_course_teaches_is_unreachable_for_that() -> None:
    path = find(build({"b": 2}, {"b": ("c",)}))
    assert path.status == "unreachable"
    assert [(row.competency, row.level) for row in path.unreachable] == [("c", 1)]


def test_entry_condition_asks_for_what_its_level_hangs_on() -> None:
    courses = COURSES | {"rescue": {"hours": 16.0, "gives": {"b": 2}, "asks": {"c": 1}}}
    path = find(build({"c": 1}, {"c": ("a",)}, courses=courses))
    assert list_courses(path) == ["mask", "rescue"]


def test_path_to_a_level_may_go_through_an_equivalent_one() -> None:
    """Section 11, equivalences: who learns a cheaper competency that counts as the target is there."""
    row = {"competency": "c", "counts_as": "b", "level": 1, "as_level": 2}
    courses = COURSES | {"short": {"hours": 2.0, "gives": {"c": 1}}}
    path = find(build({}, courses=courses, equivalences=[row]))
    assert (list_courses(path), path.study_hours) == (["short"], 2.0)
    assert path.is_target_reached
    assert list_courses(find(build({}, courses=courses, equivalences=[row | {"level": 2}]))) == ["rescue"]


@pytest.mark.parametrize(("first", "last", "told"), [(0, 0, "short"), (1, None, "rescue"), (None, -1, "rescue")])
def test_equivalence_that_is_not_in_force_is_not_gone_through(first: int | None, last: int | None, told: str) -> None:
    days = [None if n is None else ON + n * DAY for n in (first, last)]
    row = {"competency": "c", "counts_as": "b", "level": 1, "as_level": 2, "from_date": days[0], "to_date": days[1]}
    snapshot = build({}, courses=COURSES | {"short": {"hours": 0.0, "gives": {"c": 1}}}, equivalences=[row])
    assert list_courses(find(snapshot)) == [told]


def test_path_goes_another_way_where_what_is_learned_counts_no_longer_on_its_last_day() -> None:
    """Two hours at four a week take four days: c counts as b until the second of them, or until the last."""
    courses = COURSES | {"short": {"hours": 2.0, "gives": {"c": 1}}}
    for days, told in ((1, ["rescue"]), (4, ["short"])):
        row = {"competency": "c", "counts_as": "b", "level": 1, "as_level": 2, "to_date": ON + days * DAY}
        path = find_person_path(build({}, courses=courses, equivalences=[row]), "p", "r", ON)
        assert (list_courses(path), path.is_target_reached) == (told, True)
    row = {"competency": "c", "counts_as": "b", "level": 1, "as_level": 2, "to_date": ON + DAY}
    del courses["rescue"]
    path = find_person_path(build({}, courses=courses, equivalences=[row]), "p", "r", ON)
    assert (list_courses(path), path.is_target_reached) == (["short"], False)


def test_level_held_by_equivalence_needs_no_course() -> None:
    row = {"competency": "c", "counts_as": "b", "level": 1, "as_level": 2}
    path = find(build({"c": 1}, equivalences=[row]))
    assert (path.status, path.study_hours, path.requirements[0].have) == ("nothing-to-do", 0.0, 2)


def test_readiness_bought_by_a_budget_counts_no_level_that_stays_suspended() -> None:
    """Rescue takes 16 hours, mask 4: within 16 hours rescue alone would count for nothing."""
    asked = [{"role": "r", "competency": i, "level": level} for i, level in (("a", 1), ("b", 2))]
    path = find(build({}, {"b": ("a",)}, requirements=asked), max_hours=16)
    assert (list_courses(path), path.readiness_after) == (["mask"], 0.5)


def test_budget_buys_what_a_suspended_level_hangs_on() -> None:
    """Rescue is held and comes back with the mask; what else the role asks for takes more than the budget."""
    asked = [{"role": "r", "competency": i, "level": level} for i, level in (("b", 2), ("c", 1))]
    courses = COURSES | {"other": {"hours": 50.0, "gives": {"c": 1}}, "high": {"hours": 8.0, "gives": {"b": 4}}}
    path = find(build({"b": 2}, {"b": ("a",)}, requirements=asked, courses=courses), max_hours=16)
    assert (list_courses(path), path.readiness_before, path.readiness_after) == (["mask"], 0.0, 0.5)
    # a level learned beyond the one held hangs on the mask, too
    more = [row | {"level": 4} if row["competency"] == "b" else row for row in asked]
    path = find(build({"b": 2}, {"b": ("a",)}, requirements=more, courses=courses), max_hours=11)
    assert (list_courses(path), path.readiness_after) == (["mask"], 0.25)
    path = find(build({"b": 2}, {"b": ("a",)}, requirements=more, courses=courses), max_hours=12)
    assert (sorted(list_courses(path)), path.readiness_after) == (["high", "mask"], 0.5)


def test_path_from_a_role_profile_takes_its_levels_to_be_held_with_all_they_hang_on() -> None:
    snapshot = build({}, {"b": ("a",)})
    path = find_path_to_levels(snapshot, build_role_profile(snapshot, "r"), {"a": 1, "b": 2})
    assert path.status == "nothing-to-do"


def test_single_course_to_a_level_brings_what_it_hangs_on_too_or_finds_it_held() -> None:
    both = COURSES | {"all": {"hours": 18.0, "gives": {"a": 1, "b": 2}}}
    for held, told in (({}, ["all"]), ({"a": 1}, ["all", "rescue"])):
        snapshot = build(held, {"b": ("a",)}, courses=both)
        finder = PathFinder(snapshot)
        assert finder.find_single_courses(finder.build_profile("p", ON, "b"), "b", 2) == told


def test_schedule_begins_a_course_after_what_its_entry_conditions_hang_on() -> None:
    """Rescue's follow-up asks for c, which hangs on the mask: it waits for the mask, too."""
    courses = COURSES | {"next": {"hours": 16.0, "gives": {"b": 2}, "asks": {"c": 1}}}
    del courses["rescue"]
    snapshot = build({"c": 1}, {"c": ("a",)}, courses=courses)
    profile = build_profile(snapshot, "p", ON)
    result = plan_schedule(snapshot, profile, find_learning_path(snapshot, profile, "r"), on=ON)
    days = {row.id: (row.first_day, row.last_day) for row in result.courses}
    assert days["mask"][1] <= days["next"][0]
    assert next(row.waits_for for row in result.courses if row.id == "next") == ("mask",)


def test_refresher_is_for_those_who_hold_its_level_suspended_or_by_equivalence_too() -> None:
    courses = build_course_rows(again={"hours": 2.0, "gives": {"b": 2}, "renews": True})
    rows = build_team_rows(p={"b": 2}, q={"c": 2}, s={})
    rows["competencies"][1] |= {"kind": "certificate", "holds_while": ("a",)}
    for row in rows["assessments"]:
        row["source"] = "certificate"
    row = {"competency": "c", "counts_as": "b", "level": 2, "as_level": 2}
    snapshot = build_team(rows, equivalences=[row], **courses)
    done = [(person, "again", ON + DAY) for person in "pqs"]
    assert [record.person for record in expect_assessments(snapshot, done)] == ["p", "q"]
