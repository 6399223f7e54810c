"""One broken copy of the sound company for each rule on requests, assessors, agreed plans and their courses."""

from __future__ import annotations

from datetime import date
from typing import Any

from framework_cases import DAY, JUNE, row
from work_cases import BEFORE, employ

#: Rows without a finding, in the sound company.
SOUND: dict[str, list[dict[str, Any]]] = {
    "requests": [{"person": "p1", "course": "k1", "asked_on": DAY, "by": JUNE}],
    "assessors": [{"person": "p1", "competencies": ("weld", "read"), "teams": ("north",), "from_date": DAY}],
    "agreed_plans": [
        {"id": "first", "person": "p1", "role": "fitter", "agreed_on": BEFORE, "ended_on": DAY},
        {"id": "second", "person": "p1", "role": "fitter", "agreed_on": DAY},
    ],
    "agreed_courses": [{"plan": "second", "course": "k1", "first_day": DAY, "last_day": JUNE}],
}
_PLAN = {"id": "plan", "person": "p1", "role": "fitter", "agreed_on": DAY}
_COURSE = {"plan": "plan", "course": "k1", "first_day": DAY, "last_day": JUNE}

AGREEMENT_CASES: list[tuple[dict[str, Any], tuple[str, str, str, str], str]] = [
    (
        row("assessors", person="p1", from_date=JUNE, to_date=BEFORE),
        ("end not before the beginning", "error", "assessors", "to"),
        "ends on 2026-02-01, before it begins on 2026-06-01",
    ),
    (
        row("agreed_plans", **_PLAN | {"ended_on": BEFORE}),
        ("end not before the beginning", "error", "agreed_plans", "ended_on"),
        "ends on 2026-02-01, before it begins on 2026-03-01",
    ),
    (
        row("agreed_plans", **_PLAN) | row("agreed_courses", **_COURSE | {"first_day": JUNE, "last_day": DAY}),
        ("end not before the beginning", "error", "agreed_courses", "last_day"),
        "ends on 2026-03-01, before it begins on 2026-06-01",
    ),
    (
        row("assessors", person="p1", hours_per_round=-0.5),
        ("values within limits", "error", "assessors", "hours_per_round"),
        "at least 0",
    ),
    (
        row("assessors", person="p1", teams=("north", "west")),
        ("references exist", "error", "assessors", "teams"),
        "'west', but teams has no row",
    ),
    (
        row("requests", person="p1", course="k1", asked_on=DAY) | employ(start_date=JUNE),
        ("request while employed", "remark", "requests", "asked_on"),
        "p1 is employed from 2026-06-01 on",
    ),
    (
        row("requests", person="p1", course="k1", by=JUNE) | employ(end_date=DAY),
        ("request while employed", "remark", "requests", "by"),
        "p1 is employed until 2026-03-01",
    ),
    (
        row("requests", person="p1", course="k1", asked_on=DAY, by=BEFORE),
        ("wished for after it was asked", "remark", "requests", "by"),
        "by 2026-02-01, before it was asked, 2026-03-01",
    ),
    (
        row("assessors", person="p1", from_date=JUNE) | employ(end_date=DAY),
        ("assessor while employed", "remark", "assessors", "from"),
        "p1 is employed until 2026-03-01; they will assess nobody",
    ),
    (
        row("assessors", person="p1", to_date=DAY) | employ(start_date=JUNE),
        ("assessor while employed", "remark", "assessors", "to"),
        "p1 is employed from 2026-06-01 on",
    ),
    (
        row("assessors", person="p1", competencies=("licence", "weld")),
        ("assessor of a certificate", "remark", "assessors", "competencies"),
        "only the source certificate counts",
    ),
    (
        row("agreed_plans", **_PLAN) | employ(end_date=BEFORE),
        ("plan agreed while employed", "remark", "agreed_plans", "agreed_on"),
        "agreed on 2026-03-01, but p1 is employed until 2026-02-01",
    ),
    (
        row("roles", id="guest", label="Guest")
        | row("requirements", role="guest", competency="weld", level=1)
        | {"agreed_plans": [_PLAN | {"id": "late", "ended_on": JUNE}, _PLAN, _PLAN | {"id": "spare", "role": "guest"}]},
        ("one open plan of a person", "remark", "agreed_plans", "ended_on"),
        "agreed plan spare is open, and so is plan of the same person",
    ),
    (
        row("agreed_plans", **_PLAN) | row("agreed_courses", **_COURSE | {"first_day": BEFORE}),
        ("agreed course within its plan", "remark", "agreed_courses", "first_day"),
        "before the plan was agreed on 2026-03-01",
    ),
    (
        row("agreed_plans", **_PLAN) | row("agreed_courses", **_COURSE) | employ(end_date=date(2026, 5, 31)),
        ("agreed course within its plan", "remark", "agreed_courses", "last_day"),
        "p1 is employed until 2026-05-31",
    ),
]
