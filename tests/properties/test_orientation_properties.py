"""Newcomers' plans of random companies against looking at every day, and what is open against the plans themselves."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from newcomers import build, draw_newcomers, find_plan
from small_company import ON

from ontology.analysis.orientation.open_orientation import find_open_orientation, find_starts
from ontology.analysis.orientation.orientation import build_orientation

SEEDS = range(40)
DAYS = (ON - timedelta(days=30), ON, ON + timedelta(days=25))


@pytest.mark.parametrize("seed", SEEDS)
def test_plan_is_what_looking_at_every_day_finds(seed: int) -> None:
    rows = draw_newcomers(seed)
    snapshot = build(rows)
    for person in snapshot.people.values():
        for on in DAYS:
            starts: list[date | None] = [ON - timedelta(days=20), ON + timedelta(days=9)]
            for start in [*starts, *([None] if person.start_date else [])]:
                found = build_orientation(snapshot, person.id, on, start=start)
                told = [(row.item, row.due, row.done, row.state) for row in found.items]
                first = start or person.start_date
                assert first is not None
                assert told == find_plan(rows, snapshot, person.id, on, first, is_change=start is not None)


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_open_is_what_the_plans_of_the_people_leave_open(seed: int) -> None:
    snapshot = build(draw_newcomers(seed))
    for on in DAYS:
        found = find_open_orientation(snapshot, on)
        told = {
            (owner.owner, item.person, item.start, item.item, item.due, item.state)
            for owner in found.owners
            for item in owner.items
        }
        plans = set()
        for start in find_starts(snapshot, on):
            asked = start.day if start.is_change_of_role else None
            for row in build_orientation(snapshot, start.person, on, start=asked).items:
                if row.state != "done":
                    plans.add((row.owner, start.person, start.day, row.item, row.due, row.state))
        assert told == plans
        for owner in found.owners:
            assert owner == next(iter(find_open_orientation(snapshot, on, owner=owner.owner).owners))
            assert owner.overdue + owner.due + owner.later == len(owner.items)


@pytest.mark.parametrize("seed", SEEDS)
def test_day_of_an_item_is_no_weekend_and_what_comes_before_work_is_not_after_the_start(seed: int) -> None:
    snapshot = build(draw_newcomers(seed))
    for start in find_starts(snapshot, ON):
        asked = start.day if start.is_change_of_role else None
        for row in build_orientation(snapshot, start.person, ON, start=asked).items:
            assert row.due.isoweekday() <= 5
            assert row.due <= start.day or not row.before_work
