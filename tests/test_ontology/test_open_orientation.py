"""What is open of all newcomers' plans, by owner."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from small_company import build_snapshot

from ontology.analysis.orientation.open_orientation import Start, find_open_orientation, find_starts
from ontology.errors import InputError
from ontology.snapshot.snapshot import Snapshot

D = date
ON = D(2026, 12, 1)
ITEMS: list[dict[str, Any]] = [
    {"id": "badge", "label": "Badge", "owner": "desk", "offset_days": -2},
    {"id": "talk", "label": "First talk", "owner": "lead", "offset_days": 4},
    {"id": "tools", "label": "Tools", "owner": "lead", "rule": "role", "of": "fitter"},
    {"id": "locker", "label": "Locker", "rule": "team", "of": "works", "offset_days": 1},
]


def build(people: list[dict[str, Any]], **more: Any) -> Snapshot:
    return build_snapshot(
        roles=[{"id": i, "label": i} for i in ("fitter", "chemist")],
        teams=[{"id": "works", "label": "Works"}],
        people=[{"name": row["id"], "team": "works", "role": "fitter"} | row for row in people],
        orientation_items=ITEMS,
        **more,
    )


def test_open_items_stand_with_who_sees_to_them() -> None:
    """By hand: one newcomer of that day, with the badge had already."""
    done = [{"person": "p", "item": "badge", "date": D(2026, 11, 27)}]
    found = find_open_orientation(build([{"id": "p", "start_date": ON}], orientation_done=done), ON)
    assert found.people == 1
    assert [(o.owner, o.overdue, o.due, o.later, [i.item for i in o.items]) for o in found.owners] == [
        ("", 0, 1, 0, ["locker"]),
        ("lead", 0, 2, 0, ["tools", "talk"]),
    ]


def test_one_owner_is_told_alone() -> None:
    snapshot = build([{"id": "p", "start_date": ON}])
    assert [o.owner for o in find_open_orientation(snapshot, ON, owner="lead").owners] == ["lead"]
    assert [i.item for o in find_open_orientation(snapshot, ON, owner="").owners for i in o.items] == ["locker"]
    with pytest.raises(InputError) as found:
        find_open_orientation(snapshot, ON, owner="nobody")
    assert found.value.context["parameter"] == "owner"


def test_who_started_over_a_year_ago_or_has_left_is_left_out() -> None:
    people = [
        {"id": "ago365", "start_date": ON - timedelta(days=365)},
        {"id": "ago366", "start_date": ON - timedelta(days=366)},
        {"id": "coming", "start_date": ON + timedelta(days=800)},
        {"id": "gone", "start_date": ON - timedelta(days=9), "end_date": ON - timedelta(days=1)},
        {"id": "last", "start_date": ON - timedelta(days=9), "end_date": ON},
        {"id": "unknown"},
    ]
    assert [start.person for start in find_starts(build(people), ON)] == ["ago365", "coming", "last"]


def test_membership_with_another_role_is_a_change_of_role_on_its_first_day() -> None:
    people = [{"id": i} for i in ("mover", "same", "lent")] + [{"id": "new", "start_date": ON}]
    memberships = [
        {"person": "mover", "from_date": D(2027, 1, 4), "team": "works", "role": "chemist"},
        {"person": "same", "from_date": D(2027, 1, 4), "team": "works", "role": "fitter"},
        {"person": "lent", "from_date": D(2027, 1, 4), "team": "works", "kind": "lent"},
        # one's own first day is no change of role
        {"person": "new", "from_date": ON, "team": "works", "role": "chemist"},
    ]
    snapshot = build(people, memberships=memberships)
    assert list(find_starts(snapshot, ON)) == [Start("mover", D(2027, 1, 4), True), Start("new", ON, False)]
    # who has no role of their own leaves one: nothing begins
    memberships = [
        {"person": "p", "from_date": D(2027, 1, 4), "team": "works", "role": "fitter", "to_date": D(2027, 1, 5)},
        {"person": "p", "from_date": D(2027, 1, 6), "team": "works"},
    ]
    without = build([{"id": "p", "role": ""}], memberships=memberships)
    assert list(find_starts(without, ON)) == [Start("p", D(2027, 1, 4), True)]
    items = [item for owner in find_open_orientation(snapshot, ON).owners for item in owner.items]
    assert [i.item for i in items if i.person == "mover"] == ["locker"]
    assert {i.is_change_of_role for i in items if i.person == "mover"} == {True}
