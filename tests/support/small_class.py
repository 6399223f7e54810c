"""A class of five in a session that is over: a certificate, a skill and a refresher as outcomes of its course."""

from __future__ import annotations

from datetime import date
from typing import Any

from small_company import build_scale

FIRST, LAST, TODAY = date(2026, 11, 2), date(2026, 11, 3), date(2026, 11, 16)

#: Certificates of first aid: a's ends on 2026-12-20 and may be renewed three months before; b's has ended.
#: Of the mask (a refresher only): a holds it, b lost it within the six months allowed, c never had it.
CLASS_ROWS: dict[str, list[dict[str, Any]]] = {
    "scales": [*build_scale("s1", 1), *build_scale("s3", 3)],
    "competencies": [
        {"id": "aid", "label": "First aid", "scale": "s1", "kind": "certificate", "validity_months": 12}
        | {"renewal_window_months": 3, "refresher_months": 6},
        {"id": "hoist", "label": "Hoists", "scale": "s3", "validity_months": 24},
        {"id": "mask", "label": "Masks", "scale": "s1", "kind": "certificate", "validity_months": 12}
        | {"refresher_months": 6},
    ],
    "courses": [{"id": "week", "label": "Safety week", "hours": 16, "seats": 6}],
    "outcomes": [
        {"course": "week", "competency": "aid", "level": 1},
        {"course": "week", "competency": "hoist", "level": 2},
        {"course": "week", "competency": "mask", "level": 1, "renews": True},
    ],
    "teams": [{"id": "t", "label": "T"}],
    "people": [{"id": i, "name": f"{i.upper()} Example", "team": "t"} for i in "abcdefg"],
    "assessments": [
        {"person": person, "competency": competency, "level": 1, "date": date(2025, 1, 10), "source": "certificate"}
        | {"valid_until": until}
        for person, competency, until in (
            ("a", "aid", date(2026, 12, 20)),
            ("a", "mask", date(2026, 11, 30)),
            ("b", "aid", date(2026, 10, 1)),
            ("b", "mask", date(2026, 6, 1)),
        )
    ],
    "cover_needs": [{"team": "t", "competency": "hoist", "level": 2, "minimum": 2, "target": 2}],
    "obligations": [{"id": "all", "label": "All", "competency": "aid"}],
    "sessions": [{"id": "s1", "course": "week", "from_date": FIRST, "to_date": LAST, "state": "confirmed"}],
    "bookings": [
        *({"session": "s1", "person": i, "booked_on": date(2026, 9, 1)} for i in "abcd"),
        {"session": "s1", "person": "e", "state": "waiting"},
        {"session": "s1", "person": "f", "state": "cancelled"},
    ],
}
