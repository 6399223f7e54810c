"""The worked example of obligations: a certificate that everyone must hold, and four people who stand otherwise."""

from __future__ import annotations

from datetime import date
from typing import Any

from small_company import build_scale, build_snapshot

from ontology.snapshot.snapshot import Snapshot

D = date
ON = D(2026, 11, 16)
_FIRST_AID: dict[str, Any] = {
    "id": "first-aid",
    "label": "First aid",
    "scale": "held",
    "kind": "certificate",
    "validity_months": 12,
    "refresher_months": 6,
}
ROWS: dict[str, list[dict[str, Any]]] = {
    "scales": build_scale("held", 1),
    "competencies": [_FIRST_AID],
    "courses": [
        {"id": "course", "label": "First aid course", "hours": 16.0, "lead_weeks": 2.0, "seats": 1},
        {"id": "refresher", "label": "First aid refresher", "hours": 4.0, "lead_weeks": 1.0},
    ],
    "outcomes": [
        {"course": "course", "competency": "first-aid", "level": 1},
        {"course": "refresher", "competency": "first-aid", "level": 1, "renews": True},
    ],
    "teams": [{"id": "crew", "label": "Crew"}],
    "people": [
        {"id": "ends", "name": "E", "team": "crew"},
        {"id": "hired", "name": "H", "team": "crew", "start_date": D(2026, 11, 2)},
        {"id": "starts", "name": "S", "team": "crew", "start_date": D(2026, 12, 1)},
        {"id": "away", "name": "A", "team": "crew"},
    ],
    "absences": [{"person": "away", "from_date": D(2026, 7, 20), "to_date": D(2026, 12, 13)}],
    "assessments": [
        {
            "person": person,
            "competency": "first-aid",
            "level": 1,
            "date": date,
            "source": "certificate",
            "valid_until": date.replace(year=date.year + 1),
        }
        for person, date in (("ends", D(2025, 12, 20)), ("away", D(2025, 8, 1)))
    ],
    "obligations": [
        {"id": "aid", "label": "First aid for all", "competency": "first-aid", "legal_basis": "house rule 7"}
    ],
}


def build(**more: Any) -> Snapshot:
    """Return the example, with some tables otherwise."""
    return build_snapshot(**(ROWS | more))
