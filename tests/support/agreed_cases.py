"""An agreed plan of one person p, as the tests of it build and read one."""

from __future__ import annotations

from datetime import date
from typing import Any

from ontology.analysis.agreed.agreed_plan import AgreedPlanRow, find_agreed_plans
from ontology.snapshot.snapshot import Snapshot

#: A Monday.
ON = date(2026, 11, 30)
AGREED_ON = date(2026, 11, 2)
Rows = dict[str, list[dict[str, Any]]]


def find(snapshot: Snapshot, on: date = ON) -> AgreedPlanRow:
    """Return the one plan of p that is in force."""
    (plan,) = find_agreed_plans(snapshot, "p", on=on).plans
    return plan


def assess(day: date, level: int = 2, source: str = "assessor", competency: str = "a", **more: Any) -> dict[str, Any]:
    """Return the row of an assessment of p."""
    return {"person": "p", "competency": competency, "level": level, "date": day, "source": source} | more
