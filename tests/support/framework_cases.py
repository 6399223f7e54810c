"""A sound company, and one broken copy of it for each of our own rules."""

from __future__ import annotations

from datetime import date
from typing import Any

from small_company import build_competencies, build_scale, build_snapshot

from ontology.errors import Finding
from ontology.snapshot.snapshot import Snapshot

DAY = date(2026, 3, 1)
JUNE = date(2026, 6, 1)


def build_company(**changes: list[dict[str, Any]]) -> Snapshot:
    """Return a small company without any finding, with some tables replaced or extended (`more_...`)."""
    tables: dict[str, list[dict[str, Any]]] = {
        "framework": [{"id": "this", "title": "Trades"}],
        "scales": build_scale(),
        "competencies": build_competencies("weld read")
        + build_competencies("licence", kind="certificate", validity_months=24, appointment=True),
        "roles": [{"id": "fitter", "label": "Fitter"}],
        "requirements": [
            {"role": "fitter", "competency": "weld", "level": 3, "entry_level": 2},
            {"role": "fitter", "competency": "licence", "level": 1, "necessity": "blocking"},
        ],
        "courses": [{"id": "k1", "label": "Course", "hours": 8.0}],
        "outcomes": [{"course": "k1", "competency": "weld", "level": 3}],
        "entry_conditions": [{"course": "k1", "competency": "weld", "level": 1}],
        "teams": [
            {"id": "north", "label": "North", "site": "yard"},
            {"id": "south", "label": "South", "part_of": "north"},
        ],
        "shifts": [
            {"id": "early", "team": "north", "label": "Early"},
            {"id": "night", "team": "south", "label": "Night"},
        ],
        "people": [{"id": "p1", "name": "Ada Quill", "team": "north", "shift": "early", "role": "fitter"}],
        "absences": [{"person": "p1", "from_date": DAY, "to_date": DAY}],
        "assessments": [
            {"person": "p1", "competency": "weld", "level": 2, "date": DAY, "source": "assessor"},
            {"person": "p1", "competency": "licence", "level": 1, "date": DAY, "source": "certificate"},
        ],
        "cover_needs": [{"team": "north", "competency": "weld", "level": 2, "applies": "each-shift"}],
        "places": [{"id": "bench", "team": "north", "role": "fitter", "shift": "early"}],
        "sites": [{"id": "yard", "label": "Yard"}],
        "equivalences": [{"competency": "licence", "counts_as": "read"}],
        "mappings": [{"competency": "weld", "target": "http://elsewhere.example/welding", "relation": "close"}],
        "memberships": [
            {"person": "p1", "from_date": JUNE, "to_date": date(2026, 6, 30), "team": "south", "shift": "night"}
        ],
        "duties": [{"person": "p1", "place": "bench", "from_date": DAY, "recorded_on": DAY}],
        "appointments": [{"person": "p1", "competency": "licence", "from_date": DAY, "recorded_on": DAY}],
        "practices": [{"person": "p1", "competency": "weld", "date": DAY}],
        "obligations": [{"id": "law", "label": "Law", "competency": "licence", "rule": "site", "of": "yard"}],
        "sessions": [{"id": "k1-june", "course": "k1", "from_date": JUNE}],
        "bookings": [{"session": "k1-june", "person": "p1"}],
        "orientation_items": [{"id": "tour", "label": "Tour", "rule": "team", "of": "north"}],
        "orientation_done": [{"person": "p1", "item": "tour", "date": DAY}],
        **{name: [] for name in ("requests", "assessors", "agreed_plans", "agreed_courses")},
    }
    for name, rows in changes.items():
        if name.startswith("more_"):
            tables[name.removeprefix("more_")] = [*tables[name.removeprefix("more_")], *rows]
        else:
            tables[name] = rows
    return build_snapshot(**tables)


def tell(findings: list[Finding]) -> set[tuple[str, str, str, str]]:
    return {(f.source.removeprefix("Rule ").strip('"'), f.severity, f.about[0], f.column) for f in findings}


def row(table: str, **values: Any) -> dict[str, Any]:
    return {f"more_{table}": [values]}


CASES: list[tuple[dict[str, Any], tuple[str, str, str, str], str]] = [
    (
        row("framework", id="another", title="Another"),
        ("framework in one row", "error", "framework", "id"),
        "its id is 'this', not 'another'",
    ),
    (
        {"framework": [{"id": "this", "title": "Trades", "language": "English (British)"}]},
        ("language of the framework", "error", "framework", "language"),
        "no tag of a language",
    ),
    (
        row("requirements", role="fitter", competency="juggle", level=1),
        ("references exist", "error", "requirements", "competency"),
        "'juggle', but competencies has no row",
    ),
    (
        row("competencies", id="c9", label="C9", scale="s9"),
        ("references exist", "error", "competencies", "scale"),
        "'s9', but scales has no row",
    ),
    (
        row("competencies", id="c9", label="C9", scale="s5", broader=("weld", "gone")),
        ("references exist", "error", "competencies", "broader"),
        "'gone'",
    ),
    (
        row("requirements", role="fitter", competency="read", level=6),
        ("levels within the scale", "error", "requirements", "level"),
        "levels are 1 to 5",
    ),
    (
        row("assessments", person="p1", competency="read", level=9, date=DAY),
        ("levels within the scale", "error", "assessments", "level"),
        "scale s5",
    ),
    (
        row("entry_conditions", course="k1", competency="read", level=6),
        ("levels within the scale", "error", "entry_conditions", "level"),
        "which measures read",
    ),
    (
        row("cover_needs", team="south", competency="read", level=6),
        ("levels within the scale", "error", "cover_needs", "level"),
        "read",
    ),
    (
        row("requirements", role="fitter", competency="read", level=2, entry_level=3, unsupervised_level=3),
        ("no level above the full level", "error", "requirements", "entry_level"),
        "entry_level 3 is above the full level 2",
    ),
    (
        row("requirements", role="fitter", competency="read", level=2, entry_level=1, unsupervised_level=3),
        ("no level above the full level", "error", "requirements", "unsupervised_level"),
        "unsupervised_level 3",
    ),
    (
        row("requirements", role="fitter", competency="read", level=4, entry_level=1),
        ("growth on the job", "remark", "requirements", "entry_level"),
        "more than 2 above",
    ),
    (
        row("requirements", role="fitter", competency="read", level=3, entry_level=2, unsupervised_level=1),
        ("unsupervised below entry", "remark", "requirements", "unsupervised_level"),
        "below the entry level 2",
    ),
    (
        row("requirements", role="fitter", competency="read", level=2, weight=5.5),
        ("values within limits", "error", "requirements", "weight"),
        "at most 5",
    ),
    (
        row("requirements", role="fitter", competency="read", level=2, weight=float("nan")),
        ("values within limits", "error", "requirements", "weight"),
        "finite",
    ),
    (
        row("requirements", role="fitter", competency="read", level=2, necessity="nice"),
        ("values within limits", "error", "requirements", "necessity"),
        "blocking, essential, desirable",
    ),
    (
        row("shifts", id="two words", label="X", team="north"),
        ("values within limits", "error", "shifts", "id"),
        "letters, digits",
    ),
    (row("roles", id="idle", label="Idle"), ("role without requirements", "remark", "roles", "id"), "idle"),
    (row("courses", id="k2", label="Empty", hours=1.0), ("course without outcomes", "remark", "courses", "id"), "k2"),
    (
        row("outcomes", course="k1", competency="read", level=3),
        ("jump of levels", "remark", "outcomes", "level"),
        "has no entry condition",
    ),
    (
        {
            **row("outcomes", course="k1", competency="read", level=2),
            **row("entry_conditions", course="k1", competency="read", level=2),
        },
        ("outcome without gain", "remark", "outcomes", "level"),
        "nobody gains",
    ),
    (
        row("competencies", id="c9", label="C9", scale="s5", kind="certificate"),
        ("certificate without validity", "remark", "competencies", "validity_months"),
        "never expires",
    ),
    (
        row("competencies", id="c9", label="C9", scale="s5", alt_labels=("C9", "Nine")),
        ("label and other names differ", "error", "competencies", "alt_labels"),
        "SKOS S13",
    ),
    (
        row("shifts", id="each-shift", team="north", label="X"),
        ("shift with a reserved id", "error", "shifts", "id"),
        "each-shift",
    ),
    (
        row("cover_needs", team="south", competency="read", level=1, minimum=3, target=2),
        ("target not below minimum", "error", "cover_needs", "target"),
        "target 2 is below the minimum 3",
    ),
    (
        row("cover_needs", team="south", competency="read", level=1, applies="early"),
        ("need within its team", "error", "cover_needs", "applies"),
        "a shift of team north",
    ),
    (
        row("cover_needs", team="south", competency="read", level=1, applies="noon"),
        ("need within its team", "error", "cover_needs", "applies"),
        "no shift at all",
    ),
    (
        {
            **row("teams", id="bare", label="Bare", site="yard"),
            **row("cover_needs", team="bare", competency="read", level=1, applies="each-shift"),
        },
        ("need for shifts that do not exist", "remark", "cover_needs", "applies"),
        "has no shifts",
    ),
    (
        row("places", id="desk", team="south", role="fitter", shift="early"),
        ("place within its team", "error", "places", "shift"),
        "a shift of team north",
    ),
    (
        row("people", id="p2", name="Bo Tarn", team="south", shift="early"),
        ("person within a shift of the team", "error", "people", "shift"),
        "p2 is of team south",
    ),
    (
        row("people", id="p2", name="Bo Tarn", shift="early"),
        ("person within a shift of the team", "error", "people", "shift"),
        "of no team",
    ),
    (
        row("people", id="Bo.Tarn", name="Bo Tarn"),
        ("neutral ids of people", "remark", "people", "id"),
        "neutral",
    ),
    (row("people", id="jose.garcia", name="José García"), ("neutral ids of people", "remark", "people", "id"), "jose"),
    (
        row("assessments", person="p1", competency="read", level=1, date=DAY, source="manager", assessor="p1"),
        ("assessor is not the person", "error", "assessments", "assessor"),
        "write the source self",
    ),
    (
        row("people", id="p2", name="Bo Tarn", start_date=DAY, end_date=date(2026, 2, 1)),
        ("last day after the first", "error", "people", "end_date"),
        "2026-02-01 is before the first, 2026-03-01",
    ),
    (
        row("absences", person="p1", from_date=date(2026, 5, 2), to_date=date(2026, 5, 1)),
        ("absence ends after it begins", "error", "absences", "to"),
        "2026-05-01",
    ),
    (
        row("assessments", person="p1", competency="read", level=1, date=DAY, valid_until=date(2026, 2, 1)),
        ("validity after the assessment", "error", "assessments", "valid_until"),
        "2026-02-01",
    ),
    (
        row("assessments", person="p1", competency="licence", level=1, date=DAY, source="manager"),
        ("source of a certificate", "remark", "assessments", "source"),
        "not manager",
    ),
    (
        row("assessments", person="p1", competency="weld", level=3, date=DAY, source="assessor"),
        ("two levels on one day", "remark", "assessments", "level"),
        "the lower one counts",
    ),
    (
        row("scales", scale="s5", rank=7, label="Seven"),
        ("ranks run from 1 without a hole", "error", "scales", "rank"),
        "1, 2, 3, 4, 5, 7; they must run 1 to 6",
    ),
    (
        {
            "teams": [
                {"id": "north", "label": "N", "part_of": "south", "site": "yard"},
                {"id": "south", "label": "S", "part_of": "north"},
            ]
        },
        ("cycle in part_of", "error", "teams", "part_of"),
        "north > south > north",
    ),
]
