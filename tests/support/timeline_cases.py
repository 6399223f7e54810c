"""A team whose certificates lapse, and the one hole in its cover."""

from __future__ import annotations

from datetime import date
from typing import Any

from small_company import ON, build_competencies, build_scale
from small_team import build_team

from ontology.analysis.outlook.cover_timeline import CoverHole, compute_cover_timeline

LAST = date(2027, 5, 25)


def day(text: str) -> date:
    return date.fromisoformat(text)


def certify(person: str, until: str | None, done: str = "2025-01-31") -> dict[str, Any]:
    end = day(until) if until else None
    return {
        "person": person,
        "competency": "card",
        "level": 1,
        "date": day(done),
        "source": "certificate",
        "valid_until": end,
    }


def build_rows(*people: str, refresher_months: int | None = 6, **need: Any) -> dict[str, list[dict[str, Any]]]:
    return {
        "scales": build_scale(),
        "competencies": [
            *build_competencies("card", kind="certificate", refresher_months=refresher_months),
            *build_competencies("skill"),
        ],
        "teams": [{"id": "t", "label": "Team"}],
        "people": [{"id": p, "name": p.upper(), "team": "t"} for p in people],
        "cover_needs": [{"team": "t", "competency": "card", "level": 1, "target": 1} | need],
        "courses": [
            {"id": "renew", "label": "Renewal", "hours": 4.0, "weeks": 1.0, "lead_weeks": 3.0},
            {"id": "full", "label": "Full course", "hours": 24.0, "weeks": 6.0, "lead_weeks": 1.0},
        ],
        "outcomes": [
            {"course": "renew", "competency": "card", "level": 1, "renews": True},
            {"course": "full", "competency": "card", "level": 1},
        ],
    }


def get_hole(rows: dict[str, list[dict[str, Any]]], **more: Any) -> CoverHole:
    options = {name: more.pop(name) for name in ("from_date", "away", "on") if name in more}
    on = options.pop("on", ON)
    (need,) = compute_cover_timeline(build_team(rows, **more), "t", on, to_date=LAST, **options).needs
    (hole,) = need.holes
    return hole
