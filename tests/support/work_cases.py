"""One broken copy of the sound company for each rule on the tables of the weekly work."""

from __future__ import annotations

from datetime import date
from typing import Any

from framework_cases import DAY, JUNE, row

BEFORE = date(2026, 2, 1)
LICENCE = {"id": "licence", "label": "licence", "scale": "s5", "kind": "certificate", "validity_months": 24}


def employ(**days: date) -> dict[str, Any]:
    """Return the person of the company, employed on these days only, and away from all that is planned for them."""
    person = {"id": "p1", "name": "Ada Quill", "team": "north", "shift": "early", "role": "fitter"} | days
    return {"people": [person], "memberships": [], "bookings": [], "duties": [], "appointments": []}


WORK_CASES: list[tuple[dict[str, Any], tuple[str, str, str, str], str]] = [
    *(
        (
            row(table, **values, from_date=JUNE, to_date=BEFORE),
            ("end not before the beginning", "error", table, "to"),
            "ends on 2026-02-01, before it begins on 2026-06-01",
        )
        for table, values in (
            ("duties", {"person": "p1", "place": "bench"}),
            ("equivalences", {"competency": "weld", "counts_as": "read"}),
            ("obligations", {"id": "o", "label": "O", "competency": "read"}),
            ("sessions", {"id": "k1-x", "course": "k1"}),
        )
    ),
    (
        row("memberships", person="p1", team="south", from_date=DAY, to_date=BEFORE),
        ("end not before the beginning", "error", "memberships", "to"),
        "ends on 2026-02-01",
    ),
    (
        row("appointments", person="p1", competency="licence", from_date=JUNE, to_date=BEFORE),
        ("end not before the beginning", "error", "appointments", "to"),
        "ends on 2026-02-01",
    ),
    (
        row("memberships", person="p1", team="north", from_date=date(2026, 6, 30), to_date=date(2026, 7, 9)),
        ("one membership on a day", "error", "memberships", "from"),
        "that of 2026-06-01 in team south still holds, which ends on 2026-06-30",
    ),
    (
        row("memberships", person="p1", team="north", from_date=date(2026, 5, 1)),
        ("one membership on a day", "error", "memberships", "from"),
        "which has no end",
    ),
    (
        row("memberships", person="p1", team="south", from_date=date(2026, 8, 1), shift="early"),
        ("membership within a shift of the team", "error", "memberships", "shift"),
        "a shift of team north",
    ),
    (
        row("duties", person="p1", place="bench", from_date=JUNE, supervised_by="p1"),
        ("nobody watches over themselves", "error", "duties", "supervised_by"),
        "name another person or none",
    ),
    (
        employ(start_date=JUNE)
        | {"memberships": [{"person": "p1", "from_date": DAY, "to_date": JUNE, "team": "south", "shift": "night"}]},
        ("membership while employed", "remark", "memberships", "from"),
        "employed from 2026-06-01 on",
    ),
    (
        employ(end_date=JUNE)
        | {"memberships": [{"person": "p1", "from_date": DAY, "to_date": date(2026, 6, 2), "team": "south"}]},
        ("membership while employed", "remark", "memberships", "to"),
        "employed until 2026-06-01",
    ),
    (
        employ(start_date=JUNE) | {"duties": [{"person": "p1", "place": "bench", "from_date": DAY}]},
        ("duty while employed", "remark", "duties", "from"),
        "count for nothing",
    ),
    (
        employ(end_date=JUNE)
        | {"appointments": [{"person": "p1", "competency": "licence", "from_date": date(2026, 6, 2)}]},
        ("appointment while employed", "remark", "appointments", "from"),
        "employed until 2026-06-01",
    ),
    (
        employ(end_date=date(2026, 5, 31)) | {"bookings": [{"session": "k1-june", "person": "p1"}]},
        ("booking while employed", "remark", "bookings", "person"),
        "2026-06-01 to 2026-06-01: p1 is employed until 2026-05-31",
    ),
    (
        row("appointments", person="p1", competency="weld", from_date=DAY),
        ("appointment that is not asked for", "remark", "appointments", "competency"),
        "asks for no appointment",
    ),
    (
        row("appointments", person="p1", competency="licence", from_date=BEFORE),
        ("appointment without the level", "remark", "appointments", "level"),
        "valid on 2026-02-01 gives level 1",
    ),
    (
        row("appointments", person="p1", competency="licence", from_date=JUNE, level=2),
        ("appointment without the level", "remark", "appointments", "level"),
        "gives level 2",
    ),
    *(
        (
            row(table, id="o", label="O", rule=rule, of=of, **more),
            ("what the rule names exists", "error", table, "of"),
            words,
        )
        for table, more in (("obligations", {"competency": "read"}), ("orientation_items", {}))
        for rule, of, words in (
            ("role", "bench", "roles has no row with this id"),
            ("team", "", "names nothing; of must be an id of teams"),
            ("site", "north", "of must be an id of sites"),
        )
    ),
    (
        row("obligations", id="o", label="O", competency="read", rule="place", of="fitter"),
        ("what the rule names exists", "error", "obligations", "of"),
        "of must be an id of places",
    ),
    (
        row("obligations", id="o", label="O", competency="read", of="fitter"),
        ("a rule for everyone names nothing", "remark", "obligations", "of"),
        "'fitter' is passed over",
    ),
    (
        row("orientation_items", id="o", label="O", of="north"),
        ("a rule for everyone names nothing", "remark", "orientation_items", "of"),
        "role, place, team, site",
    ),
    (
        row("sites", id="quay", label="Quay")
        | row("obligations", id="o", label="O", competency="read", rule="site", of="quay"),
        ("site that no team works at", "remark", "obligations", "of"),
        "binds nobody: no team works at site quay",
    ),
    (
        row("teams", id="east", label="East"),
        ("site that no team works at", "remark", "obligations", "of"),
        "of east no site is known",
    ),
    (
        row("orientation_items", id="o", label="O", before_work=True, offset_days=3),
        ("before work means before the start", "remark", "orientation_items", "offset_days"),
        "planned for 3 days after the start",
    ),
    (
        {"courses": [{"id": "k1", "label": "Course", "hours": 8.0, "seats": 1}]}
        | row("people", id="p2", name="Bo Tarn")
        | row("bookings", session="k1-june", person="p2", state="attended"),
        ("no more bookings than seats", "remark", "sessions", "seats"),
        "1 seats and 2 bookings",
    ),
    (
        row("sessions", id="k1-x", course="k1", from_date=JUNE, book_by=date(2026, 6, 2)),
        ("last day to book before the session", "remark", "sessions", "book_by"),
        "2026-06-02, after it begins",
    ),
    *(
        (
            {"sessions": [{"id": "k1-june", "course": "k1", "from_date": JUNE, "state": "cancelled"}]}
            | {"bookings": [{"session": "k1-june", "person": "p1", "state": state}]},
            ("booking of a cancelled session", "remark", "bookings", "state"),
            words,
        )
        for state, words in (("waiting", "is still open"), ("attended", "is attended"))
    ),
    (
        row("equivalences", competency="weld", counts_as="weld"),
        ("equivalence with itself", "error", "equivalences", "counts_as"),
        "counts as itself anyway",
    ),
    (
        row("competencies", id="weld", label="Weld", scale="s5", exact_match=("http://elsewhere.example/a",))
        | row("mappings", competency="weld", target="http://elsewhere.example/a", relation="broad"),
        ("one relation to a concept elsewhere", "error", "mappings", "relation"),
        "exact matches make the two the same concept",
    ),
    (
        row("competencies", id="weld", label="Weld", scale="s5", exact_match=("http://elsewhere.example/a",))
        | row("mappings", competency="weld", target="http://elsewhere.example/a", relation="different"),
        ("what is not the same is not matched", "remark", "mappings", "target"),
        "is not the same, but exact_match of weld names it",
    ),
    *(
        (row(table, **values), ("levels within the scale", "error", table, column), words)
        for table, values, column, words in (
            ("equivalences", {"competency": "weld", "counts_as": "read", "level": 6}, "level", "which measures weld"),
            ("equivalences", {"competency": "weld", "counts_as": "read", "as_level": 7}, "as_level", "measures read"),
            ("obligations", {"id": "o", "label": "O", "competency": "read", "level": 6}, "level", "levels are 1 to 5"),
            ("orientation_items", {"id": "o", "label": "O", "competency": "read", "level": 6}, "level", "scale s5"),
        )
    ),
    (
        row("competencies", id="c9", label="C9", scale="s5", holds_while=("read",))
        | row("equivalences", competency="c9", counts_as="licence")
        | {"equivalences": [{"competency": i, "counts_as": j} for i, j in (("c9", "licence"), ("licence", "read"))]},
        ("circle through equivalences", "remark", "competencies", "holds_while"),
        "counts towards it (c9 > read > licence > c9)",
    ),
    (
        row(
            "competencies", **LICENCE | {"id": "c9", "label": "C9", "validity_months": 12, "renewal_window_months": 12}
        ),
        ("renewal window that fits", "remark", "competencies", "renewal_window_months"),
        "window of 12 months and counts for 12",
    ),
    (
        row("competencies", id="c9", label="C9", scale="s5", renewal_window_months=1),
        ("renewal window that fits", "remark", "competencies", "renewal_window_months"),
        "nothing ends",
    ),
    (
        {"courses": [{"id": "k1", "label": "Course", "hours": 8.0, "seats": 3, "group_minimum": 4}]},
        ("group that fits the seats", "remark", "courses", "group_minimum"),
        "at least 4 and has 3 seats",
    ),
    (
        row("places", id="desk", team="north", role="fitter", trainees=1, trainees_per_able=0),
        ("trainees beside somebody", "remark", "places", "trainees_per_able"),
        "nobody would ever learn there",
    ),
    (
        row("assessments", person="p1", competency="read", level=1, date=DAY, withdrawn_on=BEFORE),
        ("taken back after the assessment", "error", "assessments", "withdrawn_on"),
        "taken back on 2026-02-01, before its date 2026-03-01",
    ),
    (
        row("practices", person="p1", competency="read", date=DAY, count=-1),
        ("values within limits", "error", "practices", "count"),
        "at least 0",
    ),
    (
        row("courses", id="k2", label="K2", hours=1.0, pass_share=1.25)
        | row("outcomes", course="k2", competency="read", level=1),
        ("values within limits", "error", "courses", "pass_share"),
        "at most 1",
    ),
    (
        row("obligations", id="o", label="O", competency="nothing"),
        ("references exist", "error", "obligations", "competency"),
        "competencies has no row",
    ),
]
