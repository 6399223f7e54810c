"""Certificates that lapse while a plan runs: which days count, who asks for them, which course renews them."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.paths.learning_path import find_learning_path
from ontology.analysis.profiles.profile import build_profile
from ontology.analysis.schedule.development_plan import build_development_plan
from ontology.analysis.schedule.renewals import Lapsing, find_lapsing, find_lapsing_again
from ontology.analysis.schedule.schedule import plan_schedule
from ontology.snapshot.snapshot import Snapshot

ON = date(2026, 11, 30)
FIRST, SECOND = date(2026, 12, 18), date(2027, 1, 5)


def build(*outcomes: dict[str, Any], conditions: tuple[dict[str, Any], ...] = (), **more: Any) -> Snapshot:
    """Return p, who holds the certificate za until SECOND and zb until FIRST; role r asks for zb, p's role for za."""
    courses = more.pop(
        "courses", [{"id": i, "label": i, "hours": 4.0} for i in sorted({row["course"] for row in outcomes})]
    )
    tables: dict[str, Any] = {
        "scales": build_scale(),
        "competencies": [
            *build_competencies("skill"),
            *build_competencies("za zb", kind="certificate", validity_months=12),
        ],
        "roles": [{"id": i, "label": i} for i in ("now", "r")],
        "requirements": [
            {"role": "r", "competency": "skill", "level": 1},
            {"role": "r", "competency": "zb", "level": 1, "necessity": "essential"},
            {"role": "now", "competency": "za", "level": 1, "necessity": "essential"},
        ],
        "courses": courses,
        "outcomes": list(outcomes),
        "entry_conditions": list(conditions),
        "people": [{"id": "p", "name": "P", "role": "now", "study_hours_per_week": 5.0}],
        "assessments": [
            {
                "person": "p",
                "competency": i,
                "level": 1,
                "date": date(2026, 1, 5),
                "source": "certificate",
                "valid_until": until,
            }
            for i, until in (("za", SECOND), ("zb", FIRST))
        ],
    }
    return build_snapshot(**(tables | more))


def renew(course: str, competency: str = "zb", **more: Any) -> dict[str, Any]:
    return {"course": course, "competency": competency, "level": 1, "renews": True} | more


def find(
    snapshot: Snapshot, on: date = ON, finish: date = date(2027, 2, 1), courses: tuple[str, ...] = ()
) -> list[Lapsing]:
    return list(find_lapsing(snapshot, build_profile(snapshot, "p", on), on, finish, "r", courses))


def test_what_lapses_first_comes_first_with_the_roles_that_ask_for_it() -> None:
    rows = find(build())
    assert [(row.competency, row.valid_until, row.needed_for) for row in rows] == [
        ("zb", FIRST, ("r",)),
        ("za", SECOND, ("now",)),
    ]


@pytest.mark.parametrize(
    ("on", "finish", "lapsing"),
    [(ON, FIRST, []), (ON, date(2026, 12, 19), ["zb"]), (FIRST, date(2026, 12, 19), ["zb"])],
)
def test_a_certificate_counts_on_its_last_day(on: date, finish: date, lapsing: list[str]) -> None:
    assert [row.competency for row in find(build(), on, finish)] == lapsing


def test_a_course_of_the_plan_that_gives_the_same_level_needs_no_renewal() -> None:
    for others in ((), (renew("fresh"),)):
        (row, _) = find(build(renew("again", renews=False), *others), courses=("again", "fresh"))
        assert (row.renewal, row.reason) == (None, "The course again of this plan gives it anew.")


def test_only_a_course_that_one_may_begin_keeps_a_certificate_be_it_a_refresher_or_a_full_one() -> None:
    company = build(
        renew("first", renews=False),
        renew("second"),
        renew("third"),
        conditions=(
            {"course": "second", "competency": "skill", "level": 1},
            {"course": "third", "competency": "za", "level": 1},
        ),
        courses=[{"id": i, "label": i, "hours": h} for i, h in (("first", 4.0), ("second", 2.0), ("third", 3.0))],
    )
    assert find(company)[0].renewal == "third"
    assert find(build(renew("first", renews=False)))[0].renewal == "first"
    closed = build(renew("second"), conditions=({"course": "second", "competency": "skill", "level": 1},))
    assert find(closed)[0].reason == "No course renews it from the levels held now."


def test_a_refresher_is_for_those_who_hold_its_level() -> None:
    assert find(build(renew("higher", level=2)))[0].renewal is None
    assert find(build(renew("higher", level=2, renews=False)))[0].renewal == "higher"


def test_the_renewal_of_fewest_hours_is_chosen_and_of_equal_ones_the_cheapest() -> None:
    courses = [
        {"id": "a", "label": "A", "hours": 5.0, "cost": 10.0},
        {"id": "b", "label": "B", "hours": 4.0, "cost": 90.0},
        {"id": "c", "label": "C", "hours": 4.0, "cost": 80.0},
    ]
    assert find(build(renew("a"), renew("b"), renew("c"), courses=courses))[0].renewal == "c"


def test_of_two_courses_that_give_a_certificate_the_later_one_counts_until_it_ends() -> None:
    company = build(renew("a"), renew("b"))
    ends = {"a": date(2026, 12, 1), "b": date(2027, 3, 1)}
    last = date(2028, 3, 1)
    assert find_lapsing_again(company, ends, last, "r", ()) == ()
    (row,) = find_lapsing_again(company, ends, date(2028, 3, 2), "r", ())
    assert (row.competency, row.valid_until, row.needed_for) == ("zb", last, ("r",))


def test_a_course_that_renews_several_ends_before_the_first_of_them_lapses() -> None:
    # fifteen hours end on the last day of zb only where they are not kept back by the five of the short course
    company = build(
        {"course": "learn", "competency": "skill", "level": 1},
        {"course": "short", "competency": "more", "level": 1},
        renew("both"),
        renew("both", "za"),
        competencies=[
            *build_competencies("skill more"),
            *build_competencies("za zb", kind="certificate", validity_months=12),
        ],
        requirements=[{"role": "r", "competency": i, "level": 1} for i in ("skill", "more", "za", "zb")],
        courses=[
            {"id": "learn", "label": "L", "hours": 0.0, "weeks": 9.0},
            {"id": "short", "label": "S", "hours": 5.0},
            {"id": "both", "label": "B", "hours": 15.0},
        ],
    )
    profile = build_profile(company, "p", ON)
    result = plan_schedule(company, profile, find_learning_path(company, profile, "r"), on=ON)
    assert [(row.renewal, row.renewed_on) for row in result.lapsing] == [("both", FIRST), ("both", FIRST)]


def test_a_course_that_begins_after_what_it_asks_for_has_lapsed_is_remarked() -> None:
    company = build(
        {"course": "base", "competency": "skill", "level": 1},
        {"course": "learn", "competency": "skill", "level": 2},
        conditions=(
            {"course": "learn", "competency": "skill", "level": 1},
            {"course": "learn", "competency": "zb", "level": 1},
        ),
        courses=[{"id": i, "label": i, "hours": 20.0} for i in ("base", "learn")],
        requirements=[{"role": "r", "competency": "skill", "level": 2}],
    )
    profile = build_profile(company, "p", ON)
    result = plan_schedule(company, profile, find_learning_path(company, profile, "r"), on=ON)
    assert sum("settle its renewal first" in remark for remark in result.remarks) == 1


def test_a_step_of_a_development_plan_leaves_out_what_is_held_but_for_what_it_renews() -> None:
    company = build(
        {"course": "learn", "competency": "skill", "level": 1},
        renew("learn", "za"),
        renew("refresh"),
        courses=[{"id": "learn", "label": "L", "hours": 40.0}, {"id": "refresh", "label": "R", "hours": 2.0}],
    )
    profile = build_profile(company, "p", ON)
    result = plan_schedule(company, profile, find_learning_path(company, profile, "r"), on=ON)
    plan = build_development_plan(company, "p", result, ON)
    assert {step.course: [row.competency for row in step.outcomes] for step in plan.steps} == {
        # za lapses on the way, and the course renews it besides its aim
        "learn": ["skill", "za"],
        "refresh": ["zb"],
    }


def test_a_refresher_comes_while_it_still_restores_what_was_lost() -> None:
    # za was lost on 20 November and can be refreshed for a month: the refresher comes before the longer course
    lost = {"person": "p", "competency": "za", "level": 1, "date": date(2025, 1, 5), "source": "certificate"}
    company = build(
        {"course": "learn", "competency": "skill", "level": 1},
        renew("fresh", "za"),
        competencies=[
            *build_competencies("skill"),
            *build_competencies("za", kind="certificate", validity_months=12, refresher_months=1),
        ],
        requirements=[{"role": "r", "competency": i, "level": 1} for i in ("skill", "za")],
        courses=[{"id": "learn", "label": "L", "hours": 30.0}, {"id": "fresh", "label": "F", "hours": 10.0}],
        assessments=[lost | {"valid_until": date(2026, 11, 20)}],
    )
    profile = build_profile(company, "p", ON)
    path = find_learning_path(company, profile, "r")
    result = plan_schedule(company, profile, path, on=ON, at_once=1)
    assert [course.id for course in result.courses] == ["fresh", "learn"]
    assert result.is_target_reached
