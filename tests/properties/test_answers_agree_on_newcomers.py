"""An item that a competency shows done is met on that day, and on none before, by obligations and gap alike."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pytest
from newcomers import build, draw_newcomers
from small_company import ON

from ontology.analysis.obligations.due_lists import find_person_obligations
from ontology.analysis.orientation.orientation import OrientationRow, build_orientation
from ontology.analysis.profiles.gap import compute_gap
from ontology.snapshot.snapshot import Snapshot

SEEDS = range(25)
DAY = timedelta(days=1)


def build_bound(seed: int) -> Snapshot:
    """Return a company in which everyone must hold, and one role asks, what the items name; nothing is recorded."""
    rows = draw_newcomers(seed) | {"orientation_done": []}
    levels = {item["competency"]: item["level"] for item in rows["orientation_items"] if item["competency"]}
    for item in rows["orientation_items"]:
        item["level"] = levels.get(item["competency"], 1)
    rows["roles"].append({"id": "all", "label": "All"})
    for competency, level in levels.items():
        rows["requirements"].append({"role": "all", "competency": competency, "level": level})
        bound: dict[str, Any] = {"id": f"o-{competency}", "label": competency}
        rows["obligations"].append(bound | {"competency": competency, "level": level})
    return build(rows)


def list_shown(snapshot: Snapshot) -> Iterator[tuple[str, date, OrientationRow]]:
    """Yield (person, start, item) of what a competency could show done."""
    for person in snapshot.people.values():
        if person.start_date is not None:
            for row in build_orientation(snapshot, person.id, ON).items:
                if row.competency is not None:
                    yield person.id, person.start_date, row


@pytest.mark.parametrize("seed", SEEDS)
def test_item_is_done_on_the_first_day_on_which_obligations_and_gap_find_it_met(seed: int) -> None:
    snapshot = build_bound(seed)
    for person, start, row in list_shown(snapshot):
        assert row.competency is not None
        assert row.level is not None
        days = [start + n * DAY for n in range(0, (ON - start).days + 1, 9)]
        days += [row.done, row.done - DAY] if row.done else []
        for day in sorted(day for day in days if start <= day <= (row.done or ON)):
            is_met = day == row.done
            told = {r.competency: r.is_met for r in find_person_obligations(snapshot, person, on=day).rows}
            assert told[row.competency] == is_met, (person, row.item, day)
            (asked,) = [
                gap
                for gap in compute_gap(snapshot, "all", person_id=person, on=day).gaps
                if gap.competency == row.competency
            ]
            assert ((asked.have or 0) >= row.level and asked.state == "ok") == is_met, (person, row.item, day)
