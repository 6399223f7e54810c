"""Obligations by spans say what judging day by day says, on random companies."""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest
from brute_obligations import DayByDay
from obligation_companies import ON, build_company

from ontology.analysis.obligations.due_lists import find_person_obligations

_SEEDS = 300
_BUNDLE = 50


def tell(row: Any) -> dict[str, Any]:
    told = {name: getattr(row, name) for name in (field.name for field in dataclasses.fields(row))}
    told |= {"obligations": list(row.obligations), "legal_basis": sorted(row.legal_basis)}
    beside = ("person", "team", "days_left", "source", "assessed_on", "valid_until", "is_appointed", "reason")
    return {name: value for name, value in told.items() if name not in beside}


@pytest.mark.parametrize("first", range(0, _SEEDS, _BUNDLE))
def test_spans_say_what_day_by_day_says(first: int) -> None:
    """Own brute force: every day of five years, every obligation."""
    for seed in range(first, first + _BUNDLE):
        snapshot = build_company(seed)
        for person_id in snapshot.people:
            rows = [tell(row) for row in find_person_obligations(snapshot, person_id, on=ON).rows]
            expected = DayByDay(snapshot, person_id, ON).tell()
            assert sorted(rows, key=lambda row: (row["competency"], row["level"])) == expected, (seed, person_id)
