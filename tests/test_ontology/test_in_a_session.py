"""Who has a seat in a session covers nothing on its days, in every answer; a seat given up or a session called off is
none. Common practice, no source."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from small_company import build_scale

from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.outlook.cover_of_day import compute_cover_of_day
from ontology.analysis.outlook.cover_timeline import compute_cover_timeline
from ontology.analysis.outlook.leave_check import check_leave
from ontology.analysis.paths.expected import with_outcomes
from ontology.analysis.places.single_points import find_single_points_of_failure
from ontology.analysis.places.staffing import compute_staffing
from ontology.analysis.places.stand_ins import find_stand_ins
from ontology.analysis.training.cross_training import plan_cross_training
from ontology.analysis.training.plan_effect import compute_plan_effect
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

FIRST, LAST = date(2026, 12, 7), date(2026, 12, 8)
DAY = timedelta(days=1)


def build(booking: str = "booked", state: str = "confirmed") -> Snapshot:
    rows: dict[str, list[dict[str, Any]]] = {
        "scales": build_scale("s3", 3),
        "competencies": [{"id": "run", "label": "Running the plant", "scale": "s3"}],
        "roles": [{"id": "operator", "label": "Operator"}],
        "requirements": [{"role": "operator", "competency": "run", "level": 1}],
        "courses": [{"id": "rescue", "label": "Rescue", "hours": 16, "seats": 8}],
        "teams": [{"id": "t", "label": "T"}],
        "people": [{"id": i, "name": i.upper(), "team": "t"} for i in "ab"],
        "assessments": [
            {"person": i, "competency": "run", "level": 1, "date": date(2026, 1, 5), "source": "assessor"} for i in "ab"
        ],
        "cover_needs": [{"team": "t", "competency": "run", "level": 1, "minimum": 2, "target": 2}],
        "places": [{"id": "desk", "team": "t", "role": "operator", "count": 2}],
        "sessions": [{"id": "s1", "course": "rescue", "from_date": FIRST, "to_date": LAST, "state": state}],
        "bookings": [{"session": "s1", "person": "a", "state": booking}],
    }
    return Snapshot({name: [TABLES[name].build(**row) for row in some] for name, some in rows.items()})


def test_on_its_days_and_on_no_others_they_cover_nothing() -> None:
    snapshot = build()
    for n in range(-2, 4):
        day = FIRST + n * DAY
        is_away = FIRST <= day <= LAST
        cover = compute_coverage(snapshot, "t", day)
        assert (cover.absent, cover.needs[0].depth, cover.needs[0].qualified) == (
            ("a",) if is_away else (),
            1 if is_away else 2,
            ("a", "b"),
        )
        assert compute_staffing(snapshot, "t", day).filled == (1 if is_away else 2)
        assert [p.id for p in find_single_points_of_failure(snapshot, "t", day).people] == (
            ["b"] if is_away else ["a", "b"]
        )
        stand_ins = find_stand_ins(snapshot, "t", day, person_id="b").needs[0].stand_ins
        assert [one.person for one in stand_ins] == ([] if is_away else ["a"])


@pytest.mark.parametrize(
    ("booking", "state"),
    [
        ("asked", "planned"),
        ("waiting", "planned"),
        ("missed", "held"),
        ("cancelled", "planned"),
        ("booked", "cancelled"),
    ],
)
def test_without_a_seat_or_a_session_they_are_there(booking: str, state: str) -> None:
    assert compute_coverage(build(booking, state), "t", FIRST).needs[0].depth == 2


def test_the_timeline_tells_the_session_as_the_cause() -> None:
    (need,) = compute_cover_timeline(build(), "t", date(2026, 12, 1), to_date=date(2026, 12, 20)).needs
    assert [(i.from_date, i.depth, [c.what for c in i.causes]) for i in need.intervals] == [
        (date(2026, 12, 1), 2, []),
        (FIRST, 1, ["session-begins"]),
        (LAST + DAY, 2, ["session-ends"]),
    ]
    assert need.intervals[1].causes[0].words == "is in a session of Rescue."
    assert [(hole.from_date, hole.to_date) for hole in need.holes] == [(FIRST, LAST)]


def test_a_leave_on_days_of_a_session_breaks_nothing_more() -> None:
    result = check_leave(build(), "t", date(2026, 12, 1), person_id="a", from_date=FIRST - DAY, to_date=LAST)
    assert {row.from_date for row in result.breaks} == {row.to_date for row in result.breaks} == {FIRST - DAY}
    assert "in a session from 2026-12-07 to 2026-12-08" in result.remarks[0]


def build_hole(**more: Any) -> Snapshot:
    """b's certificate ends on 2026-12-20, the need takes two; b has a seat in its refresher on 2026-12-01."""
    rows: dict[str, list[dict[str, Any]]] = {
        "scales": build_scale("s1", 1),
        "competencies": [
            {
                "id": "k",
                "label": "K",
                "scale": "s1",
                "kind": "certificate",
                "validity_months": 12,
                "refresher_months": 6,
            }
        ],
        "courses": [{"id": "again", "label": "Again", "hours": 4}],
        "outcomes": [{"course": "again", "competency": "k", "level": 1, "renews": True}],
        "teams": [{"id": "t", "label": "T"}],
        "people": [{"id": i, "name": i.upper(), "team": "t"} for i in "ab"],
        "assessments": [
            {"person": i, "competency": "k", "level": 1, "date": date(2025, 12, 20), "source": "certificate"}
            | {"valid_until": end}
            for i, end in (("a", date(2028, 1, 1)), ("b", date(2026, 12, 20)))
        ],
        "cover_needs": [{"team": "t", "competency": "k", "level": 1, "minimum": 2, "target": 2}],
        "sessions": [{"id": "s1", "course": "again", "from_date": date(2026, 12, 1)}],
        "bookings": [{"session": "s1", "person": "b"}],
    }
    return Snapshot({name: [TABLES[name].build(**row) for row in some] for name, some in (rows | more).items()})


def test_a_hole_that_a_booked_seat_closes_is_no_act_any_more() -> None:
    """Without the seat: short from 2026-12-21 on, four hours of work, a day: last day to begin 2026-12-20."""
    asked = {"to_date": date(2027, 1, 31)}
    told = compute_cover_timeline(build_hole(), "t", date(2026, 11, 24), **asked)
    (hole,) = [h for h in told.needs[0].holes if h.from_date > date(2026, 12, 2)]
    assert hole.mend is not None
    assert (hole.mend.person, hole.mend.booked_session, hole.is_late) == ("b", "s1", False)
    assert told.acts == ()
    without = compute_cover_timeline(build_hole(bookings=[]), "t", date(2026, 11, 24), **asked)
    assert [(act.person, act.last_day_to_act) for act in without.acts] == [("b", date(2026, 12, 20))]


def test_cross_training_does_not_ask_again_for_what_is_booked() -> None:
    on = date(2027, 1, 4)
    late = {"sessions": [{"id": "s1", "course": "again", "from_date": date(2027, 1, 12)}]}
    asked = plan_cross_training(build_hole(bookings=[]), "t", on)
    assert [(line.person, line.courses) for line in asked.plan] == [("b", ("again",))]
    plan = plan_cross_training(build_hole(**late), "t", on)
    assert (plan.status, plan.plan, plan.after_on) == ("nothing-to-do", (), date(2027, 1, 12))
    assert [(seat.person, seat.session) for seat in plan.booked] == [("b", "s1")]
    # after the plan is what cover says of that day with the seat passed; b is in the session until its end
    effect = compute_plan_effect(build_hole(**late), plan)
    passed = with_outcomes(build_hole(**late), [("b", "again", date(2027, 1, 12))])
    assert effect.needs == compute_cover_of_day(passed, "t", date(2027, 1, 12)).needs
    assert effect.needs[0].qualified == ("a", "b")


@pytest.mark.parametrize("leads", [(), ("condition",), ("hangs",), ("counts",), ("place",)])
def test_a_plan_takes_in_the_seats_that_bring_what_the_team_asks_for(leads: tuple[str, ...]) -> None:
    """A seat in a course about something else moves no day of a plan; what leads to a need or place does."""
    rows: dict[str, list[dict[str, Any]]] = {
        "competencies": [
            {"id": "k", "label": "K", "scale": "s3", "holds_while": ("other",) if "hangs" in leads else ()},
            {"id": "other", "label": "Other", "scale": "s3"},
        ],
        "courses": [{"id": i, "label": i, "hours": 4} for i in ("again", "aside")],
        "outcomes": [
            {"course": "again", "competency": "k", "level": 1},
            {"course": "aside", "competency": "other", "level": 1},
        ],
        "entry_conditions": [{"course": "again", "competency": "other", "level": 1}] if "condition" in leads else [],
        "equivalences": [{"competency": "other", "counts_as": "k"}] if "counts" in leads else [],
        "roles": [{"id": "r", "label": "R"}],
        "requirements": [{"role": "r", "competency": "other", "level": 1}],
        "places": [{"id": "desk", "team": "t", "role": "r"}] if "place" in leads else [],
        "sessions": [{"id": "s1", "course": "aside", "from_date": date(2026, 12, 1)}],
    }
    plan = plan_cross_training(build_hole(**rows), "t", date(2026, 11, 24))
    assert [seat.session for seat in plan.booked] == (["s1"] if leads else [])
