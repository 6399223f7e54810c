"""A course has a purpose where what it teaches is asked for: directly, or by a course that has one."""

from __future__ import annotations

from typing import Any

import pytest
from company_strategies import draw_snapshots
from effort import draws
from hypothesis import given, settings
from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.effect.purpose import find_courses_with_purpose
from ontology.snapshot.snapshot import Snapshot

NEED = {"team": "t", "competency": "a", "level": 2}
ASKED = {"role": "r", "competency": "a", "level": 3}


def build_offers(outcomes: list[tuple[str, str, int]], conditions: list[tuple[str, str, int]] = (), **more: Any) -> Any:
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("a b c"),
        roles=[{"id": "r", "label": "R"}],
        teams=[{"id": "t", "label": "T"}],
        courses=[{"id": i, "label": i, "hours": 8} for i in "xyz"],
        outcomes=[{"course": x, "competency": c, "level": n} for x, c, n in outcomes],
        entry_conditions=[{"course": x, "competency": c, "level": n} for x, c, n in conditions],
        **more,
    )


@pytest.mark.parametrize(
    ("more", "level", "has_purpose"),
    [
        ({}, 5, False),
        ({"requirements": [ASKED]}, 3, True),
        ({"requirements": [ASKED]}, 2, False),
        ({"requirements": [ASKED | {"entry_level": 1}]}, 1, True),
        ({"requirements": [ASKED | {"unsupervised_level": 2}]}, 2, True),
        ({"requirements": [ASKED | {"entry_level": 0, "unsupervised_level": 2}]}, 1, False),
        ({"cover_needs": [NEED]}, 2, True),
        ({"cover_needs": [NEED]}, 1, False),
    ],
)
def test_the_lowest_level_asked_decides(more: dict[str, Any], level: int, has_purpose: bool) -> None:
    found = find_courses_with_purpose(build_offers([("x", "a", level)], **more))
    assert found == (frozenset("x") if has_purpose else frozenset())


def test_a_course_that_leads_to_one_with_a_purpose_has_one() -> None:
    outcomes = [("x", "a", 3), ("y", "b", 2), ("z", "b", 1)]
    offers = build_offers(outcomes, [("x", "b", 2)], requirements=[ASKED])
    assert find_courses_with_purpose(offers) == {"x", "y"}


def test_courses_that_ask_only_for_each_other_have_none() -> None:
    outcomes = [("x", "b", 3), ("y", "c", 2)]
    assert not find_courses_with_purpose(build_offers(outcomes, [("x", "c", 1), ("y", "b", 1)], requirements=[ASKED]))


def test_what_only_renews_has_a_purpose() -> None:
    outcome = {"course": "x", "competency": "a", "level": 3, "renews": True}
    offers = build_offers([], requirements=[ASKED]).with_changes(
        [("outcomes", build_snapshot(outcomes=[outcome]).get_record("outcomes", ("x", "a")))]
    )
    assert find_courses_with_purpose(offers) == {"x"}


def find_slowly(snapshot: Snapshot) -> set[str]:
    """Ask every outcome of every course again, until nothing comes any more."""
    found: set[str] = set()
    while True:
        asked = [
            (r.competency, level)
            for r in snapshot.get_table("requirements").values()
            for level in (r.level, r.entry_level, r.unsupervised_level)
            if level > 0
        ]
        asked += [(n.competency, n.level) for n in snapshot.get_table("cover_needs").values()]
        asked += [(c.competency, c.level) for i in found for c in snapshot.get_entry_conditions(i)]
        more = {
            o.course
            for o in snapshot.get_table("outcomes").values()
            if any(c == o.competency and n <= o.level for c, n in asked)
        }
        if more == found:
            return found
        found = more


@given(draw_snapshots(competencies=6, courses=8, roles=2))
@settings(max_examples=draws(60), deadline=None)
def test_it_is_what_asking_again_and_again_finds(snapshot: Snapshot) -> None:
    assert find_courses_with_purpose(snapshot) == find_slowly(snapshot)
