"""A small company behind the REST API: few enough rows that every answer can be worked out by hand.

Levels on 2026-11-24: p1 has pump 2 (assessed), valve 3 only by own word; p2 has pump 3, valve 3 and the certificate;
p3 has pump 1.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from typing import Any

from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES

ON = "2026-11-24"

#: How each question is asked of the small company: the address of its page, that of its answer without /api.
ASKED = {
    "agenda": "/teams/works/agenda",
    "agreed-plan": "/people/p1/agreed-plan",
    "assessment-round": "/assessment-round?by=2026-12-01&older_than_months=6",
    "assessor-agreement": "/assessor-agreement?from=2026-01-01&until=2026-12-31",
    "attendance-sheet": "/sessions/licence-may/attendance-sheet",
    "bookings": "/people/p2/bookings",
    "company-cover": "/company-cover",
    "company-obligations": "/company-obligations",
    "compare": "/compare?from=0",
    "coverage": "/teams/works/coverage",
    "coverage-timeline": "/teams/works/coverage-timeline?weeks=8",
    "demand": "/courses/licence-course/demand",
    "cross-training": "/teams/works/cross-training",
    "development-plan": "/people/p1/development-plan?role=operator",
    "filled-places": "/teams/works/filled-places",
    "findings": "/findings",
    "find": "/find?text=works",
    "effect": "/drafts/raised/effect",
    "fragile-needs": "/teams/works/fragile-needs",
    "framework-review": "/framework-review",
    "gap": "/people/p1/gap?role=operator",
    "headcount": "/teams/works/headcount?net_hours=1600",
    "leave-check": "/teams/works/leave-check?person=p1&from=2026-12-01&to=2026-12-04",
    "holders": "/competencies/pump/holders",
    "levels": "/people/p1/levels",
    "learning-path": "/people/p1/learning-path?role=operator",
    "map": "/mappings/proposals?framework=neighbour&least=0",
    "missing-translations": "/translations/missing?language=de",
    "obligations": "/teams/works/obligations",
    "open-orientation": "/orientation",
    "orientation": "/people/p1/orientation?start=2026-12-01",
    "person-agenda": "/people/p1/agenda",
    "person-obligations": "/people/p1/obligations",
    "person-changes": "/people/p1/changes?since=0",
    "practice": "/teams/works/practice",
    "proof": "/places/desk/proof?day=2026-11-24",
    "reach-gains": "/people/p1/reach-gains",
    "reachable-roles": "/people/p1/reachable-roles",
    "rotation": "/teams/works/rotation?purpose=learn&people=p1,p2&intervals=3",
    "routes": "/people/p1/routes?to=chief",
    "schedule": "/people/p1/schedule?role=operator",
    "session-plan": "/session-plan?until=2027-01-31",
    "similar": "/roles/operator/similar",
    "single-points-of-failure": "/teams/works/single-points-of-failure",
    "staffing": "/teams/works/staffing",
    "stand-ins": "/teams/works/stand-ins?person=p1",
    "team-changes": "/teams/works/changes?since=0",
    "to-mend": "/to-mend",
    "training-timetable": "/teams/works/training-timetable",
    "waiting-list": "/sessions/licence-may/waiting-list",
    "who-can": "/who-can?team=works&competency=pump&level=2",
}
#: Every question once, and some in other ways: of roles, with wishes.
ANSWERS = [
    *(f"/api{address}" for address in ASKED.values()),
    "/api/roles/senior/gap?from=operator",
    "/api/roles/senior/learning-path?from=helper",
    "/api/people/p1/learning-path?role=operator&minimise=weeks&max_hours=20&exclude=combined&already_booked=valve-2",
    "/api/people/p1/schedule?role=operator&holidays=2026-12-25",
    "/api/roles/senior/schedule?from=helper&at_once=1",
    "/api/people/p1/development-plan?role=operator&with_routes=yes",
    "/api/people/p1/schedule?role=operator&max_cost=100&exclude=combined&already_booked=valve-2",
    "/api/people/p1/development-plan?role=operator&max_hours=20&exclude=combined&already_booked=valve-2",
    "/api/roles/helper/routes?to=senior",
    "/api/roles/helper/reachable-roles",
    "/api/roles/helper/reach-gains?limit=3",
    "/api/teams/works/stand-ins?person=p2",
    "/api/teams/works/fragile-needs?absence_rate=0.1",
    "/api/teams/works/headcount?net_hours=1600&manned_hours=8760",
    "/api/teams/works/staffing?leaving=p2",
]

NEIGHBOUR = (("pumps", "Operation of pumps"), ("valves", "Valve work"))

ROWS: dict[str, list[dict[str, Any]]] = {
    "framework": [{"id": "this", "title": "What the works asks", "licence": "For the works alone"}],
    "scales": [
        *({"scale": "craft", "rank": rank, "label": f"Level {rank}"} for rank in range(1, 6)),
        {"scale": "held", "rank": 1, "label": "Held"},
        {"scale": "unused", "rank": 1, "label": "One"},
    ],
    "competencies": [
        {"id": "pump", "label": "Pump operation", "scale": "craft"},
        {"id": "valve", "label": "Valve work", "scale": "craft", "broader": ("pump",), "alt_labels": ("Schieber",)},
        {
            "id": "licence",
            "label": 'Licence <1> & "2"',
            "scale": "held",
            "kind": "certificate",
            "validity_months": 24,
            "validity_rule": "end-of-month",
        },
    ],
    "roles": [
        {"id": "helper", "label": "Helper", "family": "plant"},
        {"id": "operator", "label": "Operator", "family": "plant"},
        {"id": "senior", "label": "Senior operator", "family": "plant"},
        {"id": "chief", "label": "Chief", "family": "office"},
    ],
    "requirements": [
        {"role": "helper", "competency": "pump", "level": 1},
        {"role": "operator", "competency": "pump", "level": 3},
        {"role": "operator", "competency": "valve", "level": 2},
        {"role": "operator", "competency": "licence", "level": 1, "necessity": "blocking"},
        {"role": "senior", "competency": "pump", "level": 4, "entry_level": 3, "unsupervised_level": 4},
        {"role": "senior", "competency": "valve", "level": 3, "entry_level": 2, "unsupervised_level": 3},
        {"role": "chief", "competency": "pump", "level": 5, "entry_level": 4, "unsupervised_level": 5},
        {"role": "chief", "competency": "valve", "level": 3},
    ],
    "courses": [
        {"id": "pump-3", "label": "Pumps on the job", "hours": 20.0, "cost": 100.0},
        {"id": "valve-2", "label": "Valves", "hours": 8.0, "cost": 50.0, "coach_hours": 2.0},
        {"id": "combined", "label": "Pumps and valves", "hours": 27.0, "cost": 500.0},
        {"id": "licence-course", "label": "Licence", "hours": 16.0, "cost": 200.0},
    ],
    "outcomes": [
        {"course": "pump-3", "competency": "pump", "level": 3},
        {"course": "valve-2", "competency": "valve", "level": 2},
        {"course": "combined", "competency": "pump", "level": 3},
        {"course": "combined", "competency": "valve", "level": 2},
        {"course": "licence-course", "competency": "licence", "level": 1},
    ],
    "entry_conditions": [{"course": "pump-3", "competency": "pump", "level": 2}],
    "teams": [{"id": "works", "label": "Works"}, {"id": "office", "label": "Office"}],
    "shifts": [
        {"id": "day", "team": "works", "label": "Day"},
        {"id": "night", "team": "works", "label": "Night"},
    ],
    "people": [
        {"id": "p1", "name": "Ada Example", "team": "works", "shift": "day", "role": "helper"},
        {"id": "p2", "name": "Ben Example", "team": "works", "shift": "day", "role": "operator"},
        {"id": "p3", "name": "Cleo Example", "team": "works", "shift": "night", "role": "helper"},
    ],
    "absences": [{"person": "p3", "from_date": date(2026, 12, 1), "to_date": date(2026, 12, 5)}],
    "assessments": [
        {"person": "p1", "competency": "pump", "level": 2, "date": date(2026, 1, 10), "source": "assessor"},
        {"person": "p1", "competency": "valve", "level": 3, "date": date(2026, 2, 1), "source": "self"},
        {"person": "p2", "competency": "pump", "level": 3, "date": date(2026, 1, 10), "source": "assessor"},
        {"person": "p2", "competency": "valve", "level": 3, "date": date(2026, 1, 10), "source": "assessor"},
        {
            "person": "p2",
            "competency": "licence",
            "level": 1,
            "date": date(2026, 6, 1),
            "source": "certificate",
            "valid_until": date(2028, 6, 30),
            "assessor": "Prüfstelle A/B ~ Nord",
        },
        {"person": "p3", "competency": "pump", "level": 1, "date": date(2026, 1, 10), "source": "manager"},
    ],
    "cover_needs": [
        {"team": "works", "competency": "pump", "level": 2},
        {"team": "works", "competency": "valve", "level": 2, "criticality": 5},
    ],
    "places": [{"id": "desk", "team": "works", "role": "operator"}],
    "sites": [{"id": "plant", "label": "Plant"}],
    "mappings": [
        {"competency": "pump", "target": "http://elsewhere.example/pumps", "relation": "close", "score": 0.5}
        | {"framework": "neighbour", "status": "refused", "note": "Not only ours."},
    ],
    "equivalences": [
        {"competency": "licence", "counts_as": "valve", "from_date": date(2020, 1, 1), "to_date": date(2020, 12, 31)}
    ],
    "memberships": [
        {"person": "p3", "from_date": date(2025, 1, 1), "team": "office", "to_date": date(2025, 6, 30), "kind": "lent"}
    ],
    "duties": [
        {"person": "p2", "place": "desk", "from_date": date(2026, 10, 5), "to_date": date(2026, 10, 9)}
        | {"recorded_on": date(2026, 10, 1)}
    ],
    "appointments": [
        {"person": "p2", "competency": "licence", "from_date": date(2026, 6, 1), "appointed_by": "p1"}
        | {"recorded_on": date(2026, 6, 1)}
    ],
    "practices": [{"person": "p2", "competency": "pump", "date": date(2026, 9, 1), "count": 3}],
    "obligations": [
        {"id": "licensed", "label": "Operators hold the licence", "competency": "licence", "rule": "role"}
        | {"of": "operator", "days_after": 30, "legal_basis": "Operating permit"}
    ],
    "sessions": [
        {"id": "licence-may", "course": "licence-course", "from_date": date(2026, 5, 28), "to_date": date(2026, 5, 29)}
        | {"seats": 6, "site": "plant", "state": "held"}
    ],
    "bookings": [{"session": "licence-may", "person": "p2", "state": "attended", "booked_on": date(2026, 4, 2)}],
    "orientation_items": [
        {"id": "tour", "label": "Tour of the works", "rule": "team", "of": "works", "owner": "p2", "hours": 1.5}
    ],
    "orientation_done": [{"person": "p1", "item": "tour", "date": date(2026, 1, 12), "done_by": "p2"}],
    "requests": [{"person": "p1", "course": "valve-2", "by": date(2027, 3, 31), "asked_on": date(2026, 11, 2)}],
    "assessors": [{"person": "p2", "competencies": ("pump", "valve"), "teams": ("works",), "hours_per_round": 6.0}],
    "agreed_plans": [
        {"id": "p1-operator", "person": "p1", "role": "operator", "agreed_on": date(2026, 10, 1), "agreed_with": "p2"}
    ],
    "level_maps": [{"from_scale": "held", "from_rank": 1, "to_scale": "unused", "to_rank": 1}],
    "replacements": [{"table": "competencies", "old": "derrick", "new": "pump", "reason": "Derricks are gone."}],
    "translations": [
        {"table": "roles", "id": "operator", "column": "label", "language": "fr", "joined": "Opérateur"},
        {"table": "scales", "id": "craft~1", "column": "description", "language": "fr", "joined": "Sous surveillance"},
    ],
    "agreed_courses": [
        {"plan": "p1-operator", "course": "pump-3", "first_day": date(2026, 11, 2), "last_day": date(2026, 12, 11)}
    ],
}


def fill_neighbour(graph: LiveGraph) -> None:
    """Make the framework of others that is asked for proposals."""
    rows = [("scales", {"scale": "step", "rank": 1, "label": "Able"})]
    rows += [("competencies", {"id": i, "label": label, "scale": "step"}) for i, label in NEIGHBOUR]
    graph.load(
        {name: [TABLES[name].build(**row) for n, row in rows if n == name] for name, _ in rows}, who="t", why="w"
    )


def build_company() -> LiveGraph:
    """Return the company in memory, with a draft beside it."""
    graph = LiveGraph.in_memory()
    records = {name: [TABLES[name].build(**row) for row in rows] for name, rows in ROWS.items()}
    graph.load(records, who="test", why="the company")
    add_beside(graph)
    return graph


def add_beside(graph: LiveGraph) -> None:
    """Add what is asked about beside the company: the framework of others, and a draft."""
    graph.outside.replace("neighbour", fill_neighbour)
    add_draft(graph)


def add_draft(graph: LiveGraph) -> None:
    """Add the draft "raised": operators are to know pumps at level 4."""
    graph.drafts.start("raised", "Raised", who="test")
    row = graph.get_snapshot().get_record("requirements", ("operator", "pump"))
    graph.drafts.edit("raised", Change(put=(("requirements", replace(row, level=4)),)), who="test", why="raised")


def forget_time(answer: bytes) -> bytes:
    """Return an answer without when its states were made: each store was made at its own time."""
    return re.sub(rb'"time": ?"[^"]+Z"', b"", answer)
