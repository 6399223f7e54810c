"""An agreed plan of one person p: three courses, what has come of them, and how it is asked for."""

from __future__ import annotations

from datetime import date
from typing import Any

from small_company import build_competencies, build_scale, build_snapshot

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


#: Three courses of a week each, at 5 h a week; kb asks for what ka gives.
DAYS = {
    "ka": (date(2026, 11, 16), date(2026, 11, 20)),
    "kb": (date(2026, 11, 23), date(2026, 12, 4)),
    "kc": (date(2026, 12, 7), date(2026, 12, 11)),
}
DONE_A, DONE_B = assess(date(2026, 11, 20), competency="a"), assess(date(2026, 11, 27), competency="b")


def build(**more: list[dict[str, Any]]) -> Snapshot:
    """Return a company in which a plan of the three was agreed with p, to role r."""
    rows: Rows = {
        "scales": build_scale(),
        "competencies": build_competencies("a b c d"),
        "roles": [{"id": "r", "label": "R"}, {"id": "empty", "label": "Empty"}, {"id": "far", "label": "Far"}],
        "requirements": [
            *({"role": "r", "competency": i, "level": 2} for i in "abc"),
            {"role": "far", "competency": "d", "level": 2},
        ],
        "courses": [{"id": f"k{i}", "label": f"Course {i}", "hours": 5.0} for i in "abc"],
        "outcomes": [{"course": f"k{i}", "competency": i, "level": 2} for i in "abc"],
        "entry_conditions": [{"course": "kb", "competency": "a", "level": 2}],
        "people": [{"id": "p", "name": "P", "study_hours_per_week": 5.0}],
        "agreed_plans": [{"id": "plan", "person": "p", "role": "r", "agreed_on": AGREED_ON}],
        "agreed_courses": [
            {"plan": "plan", "course": i, "first_day": first, "last_day": last} for i, (first, last) in DAYS.items()
        ],
    }
    return build_snapshot(**(rows | more))


def book(course: str, first: date, *, state: str = "booked") -> Rows:
    """Return a session of a day with a booking of p."""
    return {
        "sessions": [{"id": "s", "course": course, "from_date": first, "to_date": first, "state": "confirmed"}],
        "bookings": [{"session": "s", "person": "p", "state": state}],
    }
