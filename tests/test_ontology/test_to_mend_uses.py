"""Rules on who asks for what, teaches and holds it, each on a small company where it must speak and must not."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from small_company import build_competencies, build_scale, build_snapshot
from to_mend_cases import COURSE, CREW, NEED, ROLE, TEAM, Rows, ask, assess, find, find_faults, name


def test_needed_is_what_something_names_and_all_above_it() -> None:
    tree = [one | {"broader": up} for one, up in zip(name("A", "B", "C"), (("b",), (), ()), strict=True)]
    rows: Rows = {"competencies": tree, "roles": ROLE, "requirements": ask("r", "a")}
    assert find("needed by none", rows) == [("competencies", "c", None)]
    entry: Rows = {**rows, "courses": COURSE, "entry_conditions": [{"course": "k", "competency": "c", "level": 1}]}
    assert find("needed by none", entry) == []


def test_what_an_obligation_speaks_for_is_not_given_up_unseen() -> None:
    bound = {"id": "o", "label": "O", "competency": "a", "level": 1, "rule": "everyone"}
    snapshot = build_snapshot(scales=build_scale(), competencies=name("A"), obligations=[bound])
    (row,) = find_faults("needed by none", snapshot)
    assert row.bound_by == "obligations"
    assert row.reason.endswith("But 1 obligation names it: look there first.")


def test_what_another_counts_only_with_is_not_given_up_unseen() -> None:
    one, other = name("A", "B")
    snapshot = build_snapshot(scales=build_scale(), competencies=[one, other | {"holds_while": ("a",)}])
    first, second = sorted(find_faults("needed by none", snapshot), key=lambda fault: fault.id or "")
    assert (first.bound_by, second.bound_by) == ("competencies", "")
    assert "1 other competency counts only while it is held: look there first." in first.reason


@pytest.mark.parametrize(
    ("more", "taught", "speaks"),
    [
        ({"learned_on_job": False}, {"level": 1}, True),
        ({"learned_on_job": False}, {"level": 2}, False),
        ({"learned_on_job": False}, {"level": 3, "renews": True}, True),
        ({"learned_on_job": True}, {"level": 1}, False),
        ({"necessity": "desirable"}, {"level": 1}, True),
    ],
)
def test_taught_by_none(more: dict[str, Any], taught: dict[str, Any], speaks: bool) -> None:
    rows: Rows = {"competencies": name("A"), "roles": ROLE, "requirements": ask("r", "a", **more), "courses": COURSE}
    outcomes = [{"course": "k", "competency": "a"} | taught]
    assert bool(find("taught by none", {**rows, "outcomes": outcomes})) == speaks
    assert find("taught by none", {"competencies": name("A"), "teams": TEAM, "cover_needs": [NEED]})


def test_what_is_taught_may_count_as_what_is_asked() -> None:
    asked: Rows = {"competencies": name("A", "B"), "roles": ROLE, "requirements": ask("r", "a", learned_on_job=False)}
    outcomes = [{"course": "k", "competency": "b", "level": 3}]
    rows: Rows = {**asked, "courses": COURSE, "outcomes": outcomes}
    assert find("taught by none", rows)
    for level, speaks in ((2, False), (1, True)):
        counts = [{"competency": "b", "level": 3, "counts_as": "a", "as_level": level}]
        assert bool(find("taught by none", {**rows, "equivalences": counts})) == speaks


def test_held_by_none_counts_what_counts_and_only_of_roles_people_hold() -> None:
    rows: Rows = {
        **{"competencies": name("A"), "roles": ROLE, "teams": TEAM, "requirements": ask("r", "a")},
        "people": [*CREW[:1], {"id": "x", "name": "X", "team": "t"}],
    }
    told = [("competencies", "a", None)]
    assert find("held by none", rows) == told
    assert find("held by none", {**rows, "people": []}) == []
    assert find("held by none", {**rows, "requirements": ask("r", "a", necessity="desirable")}) == []
    own = [row | {"source": "self"} for row in assess(2, "p0")]
    assert find("held by none", {**rows, "assessments": own}) == told
    # someone else of the company, at no level: that is known
    assert find("held by none", {**rows, "assessments": assess(0, "x")}) == []
    left = [rows["people"][0], rows["people"][1] | {"end_date": dt.date(2026, 2, 1)}]
    assert find("held by none", {**rows, "people": left, "assessments": assess(2, "x")}) == told


@pytest.mark.parametrize(
    ("levels", "more", "rule"),
    [
        ((2, 2, 3, 2, 5), {}, "met by all"),
        ((2, 2, 3, 2, 1), {}, ""),
        ((2, 2, 3, 2, 5), {"necessity": "blocking"}, ""),
        ((0, 1, 1, 1, 1), {}, "met by none"),
        ((0, 1, 1, 1, 1), {"entry_level": 1}, ""),
        ((0, 0, 0, 0, 0), {"entry_level": 0}, ""),
        ((2, 2, 2, 2), {}, ""),
    ],
)
def test_met_by_all_or_none_of_five(levels: tuple[int, ...], more: dict[str, Any], rule: str) -> None:
    people = CREW[: len(levels)]
    rows: Rows = {
        **{"competencies": name("A"), "roles": ROLE, "teams": TEAM, "requirements": ask("r", "a", **more)},
        "people": people,
        "assessments": [row for one, n in zip(people, levels, strict=True) for row in assess(n, one["id"])],
    }
    for one in ("met by all", "met by none"):
        assert find(one, rows) == ([("requirements", "r~a", None)] if one == rule else [])
        assert find(one, rows, least_people=6) == []


def test_roles_alike_ask_the_same_at_three_levels() -> None:
    roles = [{"id": i, "label": i} for i in ("r", "s", "q")]
    rows: Rows = {"competencies": name("A"), "roles": roles, "requirements": [*ask("r", "a"), *ask("s", "a", weight=5)]}
    assert find("roles alike", rows) == [("roles", "r", "s")]
    for other in ({"unsupervised_level": 1}, {"entry_level": 1}, {"necessity": "blocking"}, {"level": 3}):
        assert find("roles alike", {**rows, "requirements": [*ask("r", "a"), *ask("s", "a", **other)]}) == []


def test_roles_that_ask_nothing_are_not_alike() -> None:
    assert find("roles alike", {"roles": [{"id": i, "label": i} for i in "rs"]}) == []


def test_a_profile_has_three_to_twenty_five_parts() -> None:
    ids = [f"c{n}" for n in range(26)]
    competencies = build_competencies(" ".join(ids))
    for n, few, many in ((0, True, False), (2, True, False), (3, False, False), (25, False, False), (26, False, True)):
        rows: Rows = {"competencies": competencies, "roles": ROLE, "requirements": ask("r", *ids[:n])}
        assert bool(find("too few", rows)) == few
        assert bool(find("too many", rows)) == many
    assert find("too few", {"roles": ROLE}, fewest_requirements=0) == []


def test_a_course_nothing_asks_for_has_no_purpose() -> None:
    outcome = [{"course": "k", "competency": "a", "level": 2}]
    rows: Rows = {"competencies": name("A"), "courses": COURSE, "outcomes": outcome}
    assert find("course without purpose", rows) == [("courses", "k", None)]
    assert find("course without purpose", {**rows, "roles": ROLE, "requirements": ask("r", "a")}) == []
