"""One case per collection of records: what the tests of the REST API make, replace, break and look for."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Case:
    """One collection: a new record, its id, what replaces it, one wrong member, and who refers to a present one."""

    path: str
    new: dict[str, Any]
    new_id: str
    replaced: dict[str, Any]
    wrong: dict[str, Any]
    pointer: str
    referred: str = ""
    referrer: str = ""
    filter: dict[str, Any] = field(default_factory=dict)


CASES = [
    Case(
        "scales",
        {
            "id": "trade",
            "levels": [{"rank": 1, "label": "Can", "description": "seen once"}, {"rank": 2, "label": "Does"}],
        },
        "trade",
        {"id": "trade", "levels": [{"rank": 1, "label": "Could", "description": ""}]},
        {"levels": [{"rank": 1, "label": "Can"}, {"rank": 3, "label": "Gap"}]},
        "/levels",
        "craft",
        "competencies/pump",
        {"id": "trade"},
    ),
    Case(
        "competencies",
        {"id": "weld", "label": "Welding", "scale": "craft", "broader": ["pump", "valve"], "assessment_hours": 1.5},
        "weld",
        {"id": "weld", "label": "Weld", "scale": "craft", "safety": True, "exact_match": ["https://example.org/w"]},
        {"kind": "talent"},
        "/kind",
        "licence",
        "requirements/operator~licence",
        {"broader": "valve"},
    ),
    Case(
        "roles",
        {"id": "welder", "label": "Welder", "family": "shop"},
        "welder",
        {"id": "welder", "label": "Master welder", "months_to_full": 0},
        {"months_to_full": -1},
        "/months_to_full",
        "helper",
        "people/p1",
        {"family": "shop"},
    ),
    Case(
        "requirements",
        {"role": "helper", "competency": "valve", "level": 2, "entry_level": 1, "weight": 4.5},
        "helper~valve",
        {"role": "helper", "competency": "valve", "level": 3, "necessity": "desirable", "learned_on_job": True},
        {"entry_level": 3},
        "/entry_level",
        filter={"weight": "4.5"},
    ),
    Case(
        "courses",
        {"id": "weld-1", "label": "Welding", "hours": 7.5, "strand": "formal", "seats": 6},
        "weld-1",
        {"id": "weld-1", "label": "Welding again", "hours": 0, "weeks": 2.5},
        {"hours": "7"},
        "/hours",
        "pump-3",
        "outcomes/pump-3~pump",
        {"strand": "formal"},
    ),
    Case(
        "outcomes",
        {"course": "valve-2", "competency": "pump", "level": 1},
        "valve-2~pump",
        {"course": "valve-2", "competency": "pump", "level": 2, "renews": True},
        {"level": 9},
        "/level",
        filter={"course": "valve-2", "competency": "pump"},
    ),
    Case(
        "entry-conditions",
        {"course": "combined", "competency": "pump", "level": 1},
        "combined~pump",
        {"course": "combined", "competency": "pump", "level": 2},
        {"competency": "nothing"},
        "/competency",
        filter={"course": "combined"},
    ),
    Case(
        "teams",
        {"id": "shop", "label": "Shop", "part_of": "works"},
        "shop",
        {"id": "shop", "label": "Workshop"},
        {"part_of": "nowhere"},
        "/part_of",
        "works",
        "shifts/day",
        {"part_of": "works"},
    ),
    Case(
        "shifts",
        {"id": "late", "team": "office", "label": "Late"},
        "late",
        {"id": "late", "team": "works", "label": "Later"},
        {"team": None},
        "/team",
        "night",
        "people/p3",
        {"team": "office"},
    ),
    Case(
        "people",
        {"id": "p9", "name": "Ünal Example", "team": "office", "study_hours_per_week": 2.5, "start_date": "2026-01-01"},
        "p9",
        {"id": "p9", "name": "Ünal Example", "role": "chief", "end_date": "2027-12-31"},
        {"start_date": "2026-02-30"},
        "/start_date",
        "p3",
        "absences/p3~2026-12-01",
        {"start_date": "2026-01-01"},
    ),
    Case(
        "absences",
        {"person": "p1", "from": "2026-12-24", "to": "2026-12-31"},
        "p1~2026-12-24",
        {"person": "p1", "from": "2026-12-24", "to": "2026-12-24"},
        {"to": "2026-12-01"},
        "/to",
        filter={"to": "2026-12-31"},
    ),
    Case(
        "assessments",
        {
            "person": "p3",
            "competency": "valve",
            "level": 1,
            "date": "2026-03-01",
            "source": "manager",
            "assessor": "p2",
        },
        "p3~valve~2026-03-01~manager~p2~1",
        {"person": "p3", "competency": "valve", "level": 1, "date": "2026-03-01", "source": "manager", "assessor": "p2"}
        | {"valid_until": "2027-03-01", "recorded_on": "2026-03-02"},
        {"source": "hearsay"},
        "/source",
        filter={"source": "manager", "competency": "valve"},
    ),
    Case(
        "cover-needs",
        {"team": "works", "competency": "pump", "level": 1, "minimum": 2, "applies": "each-shift", "criticality": 5},
        "works~pump~1~each-shift",
        {"team": "works", "competency": "pump", "level": 1, "minimum": 1, "target": 1, "applies": "each-shift"},
        {"target": 1},
        "/target",
        filter={"applies": "each-shift"},
    ),
    Case(
        "places",
        {"id": "gate", "team": "works", "role": "helper", "shift": "day", "count": 2},
        "gate",
        {"id": "gate", "team": "works", "role": "operator", "label": "Gate", "count": 1},
        {"count": 0},
        "/count",
        filter={"shift": "day"},
    ),
]
