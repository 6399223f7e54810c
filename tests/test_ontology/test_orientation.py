"""A newcomer's plan: on which day an item is, whom it is for, when it is done; worked out by hand."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.orientation.orientation import OrientationResult, build_orientation, find_item_day
from ontology.errors import InputError, UnknownIdError
from ontology.snapshot.snapshot import Snapshot

D = date
#: A Tuesday.
START = D(2026, 12, 1)
ITEMS: list[dict[str, Any]] = [
    {"id": "badge", "label": "Badge", "owner": "desk", "offset_days": -2},
    {"id": "talk", "label": "First talk", "owner": "lead", "offset_days": 4, "hours": 1.0},
    {"id": "gas", "label": "Gas mask", "competency": "mask", "before_work": True, "offset_days": 2},
    {"id": "tools", "label": "Tools", "rule": "role", "of": "fitter", "offset_days": 1},
    {"id": "walk", "label": "Walk round", "rule": "site", "of": "north"},
    {"id": "crew", "label": "Meet the crew", "rule": "team", "of": "works"},
]


def build(*assessments: dict[str, Any], **more: Any) -> Snapshot:
    tables: dict[str, Any] = {
        "scales": build_scale(),
        "competencies": build_competencies("mask", validity_months=12),
        "roles": [{"id": i, "label": i} for i in ("fitter", "chemist")],
        "sites": [{"id": i, "label": i} for i in ("north", "south")],
        "teams": [
            {"id": "works", "label": "Works", "site": "north"},
            {"id": "hall", "label": "Hall", "part_of": "works"},
            {"id": "lab", "label": "Lab", "site": "south"},
        ],
        "people": [
            {"id": "new", "name": "New", "team": "hall", "role": "fitter", "start_date": START},
            {"id": "old", "name": "Old", "team": "lab", "role": "chemist"},
        ],
        "orientation_items": ITEMS,
        "assessments": [{"person": "new", "competency": "mask", "source": "assessor"} | row for row in assessments],
    }
    return build_snapshot(**(tables | more))


def list_days(result: OrientationResult) -> list[tuple[str, str, str]]:
    return [(row.item, str(row.due), row.state) for row in result.items]


@pytest.mark.parametrize(
    ("start", "offset", "before_work", "day"),
    [
        # the example that the meaning was fixed with; common practice, no source
        pytest.param(START, -2, False, "2026-11-27", id="two days before a Tuesday is a Sunday, so the Friday before"),
        pytest.param(START, 4, False, "2026-12-07", id="four days after a Tuesday is a Saturday, so the Monday after"),
        # common practice, no source
        pytest.param(START, 0, False, "2026-12-01", id="the first day itself"),
        pytest.param(START, -3, False, "2026-11-27", id="a Saturday before the start is the Friday before"),
        pytest.param(START, 5, False, "2026-12-07", id="a Sunday after the start is the Monday after"),
        pytest.param(START, 3, True, "2026-12-01", id="what comes before work is not after the start"),
        pytest.param(START, -2, True, "2026-11-27", id="what comes before work moves to the Friday before"),
        pytest.param(D(2026, 12, 5), 0, True, "2026-12-04", id="who starts on a Saturday is instructed on the Friday"),
        pytest.param(D(2026, 12, 6), 1, True, "2026-12-04", id="also where the offset leads beyond a Sunday"),
        pytest.param(D(2026, 12, 5), 0, False, "2026-12-07", id="without work before it a Saturday is the Monday"),
        pytest.param(D(2026, 12, 4), 1, True, "2026-12-04", id="back from Saturday to the start"),
        pytest.param(START, 10**12, False, "9999-12-31", id="no day after the calendar"),
        pytest.param(START, -(10**12), False, "0001-01-01", id="no day before the calendar"),
    ],
)
def test_day_of_an_item(start: date, offset: int, before_work: bool, day: str) -> None:
    assert find_item_day(start, offset, before_work=before_work) == D.fromisoformat(day)


def test_items_are_told_by_day_then_id_with_how_they_stand() -> None:
    """By hand: on the Friday before the start nothing is late, on the Wednesday after it what came before is."""
    before = build_orientation(build(), "new", D(2026, 11, 26))
    assert list_days(before) == [
        ("badge", "2026-11-27", "due"),
        ("crew", "2026-12-01", "due"),
        ("gas", "2026-12-01", "due"),
        ("walk", "2026-12-01", "due"),
        ("tools", "2026-12-02", "due"),
        ("talk", "2026-12-07", "later"),
    ]
    after = build_orientation(build(), "new", D(2026, 12, 2))
    assert [state for _, _, state in list_days(after)] == ["overdue"] * 4 + ["due", "due"]


def test_due_begins_seven_days_before_the_day() -> None:
    (talk,) = [row for row in build_orientation(build(), "new", D(2026, 11, 30)).items if row.item == "talk"]
    (same,) = [row for row in build_orientation(build(), "new", D(2026, 11, 29)).items if row.item == "talk"]
    assert (talk.state, same.state) == ("due", "later")


def test_items_are_for_the_team_or_one_above_it_the_role_and_the_site() -> None:
    plan = build_orientation(build(), "new", START)
    assert {row.item for row in plan.items} == {item["id"] for item in ITEMS}
    assert (plan.team, plan.role, plan.site, plan.is_change_of_role) == ("hall", "fitter", "north", False)


def test_whom_an_item_is_for_is_judged_by_the_membership_of_the_first_day() -> None:
    lent = {"person": "new", "from_date": START, "to_date": START, "team": "lab", "role": "chemist"}
    plan = build_orientation(build(memberships=[lent]), "new", START)
    assert {row.item for row in plan.items} == {"badge", "talk", "gas"}
    assert (plan.team, plan.role, plan.site) == ("lab", "chemist", "south")


def test_start_that_is_asked_for_is_a_change_of_role_without_what_everyone_meets() -> None:
    snapshot = build(memberships=[{"person": "old", "from_date": D(2027, 3, 1), "team": "hall", "role": "fitter"}])
    plan = build_orientation(snapshot, "old", START, start=D(2027, 3, 1))
    assert list_days(plan) == [
        ("crew", "2027-03-01", "later"),
        ("walk", "2027-03-01", "later"),
        ("tools", "2027-03-02", "later"),
    ]
    assert plan.is_change_of_role
    assert build_orientation(snapshot, "old", START, start=D(2027, 2, 26)).items == ()


def test_recorded_day_is_the_day_it_was_done() -> None:
    done = {"person": "new", "item": "badge", "date": D(2026, 11, 20), "done_by": "old"}
    (badge,) = [row for row in build_orientation(build(orientation_done=[done]), "new", START).items if row.done]
    assert (badge.item, badge.state, badge.done, badge.done_by) == ("badge", "done", D(2026, 11, 20), "old")


def test_what_is_done_after_the_day_asked_about_is_not_done_yet() -> None:
    done = [{"person": "new", "item": "badge", "date": D(2026, 12, 3)}]
    snapshot = build({"level": 1, "date": D(2026, 12, 3)}, orientation_done=done)
    before, then = (build_orientation(snapshot, "new", D(2026, 12, day)) for day in (2, 3))
    assert {row.item: row.done for row in before.items if row.done} == {}
    assert {row.item: row.done for row in then.items if row.done} == {"badge": D(2026, 12, 3), "gas": D(2026, 12, 3)}
    assert before.remarks == ("badge is recorded for 2026-12-03, after the day asked about: it is not done yet.",)


@pytest.mark.parametrize(
    ("assessed", "done"),
    [
        (D(2026, 5, 1), START),  # held already: the first day from the start on
        (START, START),
        (D(2026, 12, 9), D(2026, 12, 9)),
        (D(2025, 11, 30), None),  # ended the day before the start
        (D(2025, 12, 1), START),  # its last day is the start
    ],
)
def test_competency_shows_an_item_done_from_the_first_day_on_which_it_is_met(assessed: date, done: date | None) -> None:
    row = {"level": 1, "date": assessed, "valid_until": assessed.replace(year=assessed.year + 1)}
    plan = build_orientation(build(row), "new", D(2027, 1, 1))
    (gas,) = [row for row in plan.items if row.item == "gas"]
    assert gas.done == done
    assert gas.state == ("done" if done else "overdue")


def test_recorded_day_wins_over_the_competency() -> None:
    done = {"person": "new", "item": "gas", "date": D(2026, 12, 4)}
    snapshot = build({"level": 1, "date": START}, orientation_done=[done])
    days = {}
    for day in (D(2026, 12, 3), D(2026, 12, 4)):
        days[day] = next(row.done for row in build_orientation(snapshot, "new", day).items if row.item == "gas")
    assert days == {D(2026, 12, 3): START, D(2026, 12, 4): D(2026, 12, 4)}


def test_level_below_the_item_does_not_show_it_done() -> None:
    items = [ITEMS[2] | {"level": 2}]
    plan = build_orientation(build({"level": 1, "date": START}, orientation_items=items), "new", START)
    assert [(row.level, row.done) for row in plan.items] == [(2, None)]


def test_sessions_that_are_booked_and_begin_within_a_year_stand_beside_the_items() -> None:
    def session(name: str, first: date, last: date, **more: Any) -> dict[str, Any]:
        return {"id": name, "course": "safety", "from_date": first, "to_date": last} | more

    sessions = [
        session("first", D(2026, 11, 30), START),
        session("before", D(2026, 11, 23), D(2026, 11, 30)),
        session("off", D(2026, 12, 9), D(2026, 12, 9), state="cancelled"),
        session("wished", D(2026, 12, 9), D(2026, 12, 9)),
        session("year", D(2027, 12, 1), D(2027, 12, 3)),
        session("beyond", D(2027, 12, 2), D(2027, 12, 3)),
    ]
    bookings = [{"session": row["id"], "person": "new"} for row in sessions]
    bookings[3]["state"] = "asked"
    courses = [{"id": "safety", "label": "Safety", "hours": 8.0}]
    plan = build_orientation(build(courses=courses, sessions=sessions, bookings=bookings), "new", START)
    assert [(row.session, row.first_day) for row in plan.sessions] == [
        ("first", D(2026, 11, 30)),
        ("year", D(2027, 12, 1)),
    ]


def test_who_has_no_start_date_needs_one_named() -> None:
    with pytest.raises(InputError, match="no start date") as found:
        build_orientation(build(), "old", START)
    assert found.value.context["parameter"] == "start"
    with pytest.raises(UnknownIdError):
        build_orientation(build(), "nobody", START)


def test_start_outside_the_employment_is_remarked_on() -> None:
    plan = build_orientation(build(), "new", START, start=D(2026, 11, 30))
    assert plan.remarks == ("2026-11-30 lies outside the employment of new.",)
