"""One changed or removed record: what its own check finds is what the check of the whole framework finds."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from agreement_cases import AGREEMENT_CASES, SOUND
from framework_cases import CASES, DAY, JUNE, build_company, tell
from small_company import build_scale
from work_cases import WORK_CASES

from ontology.checks.framework import check_framework, check_records
from ontology.errors import Finding
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

ALL = [*CASES, *WORK_CASES, *AGREEMENT_CASES]


@pytest.mark.parametrize(("changes", "expected", "words"), ALL, ids=[f"{c[1][0]}-{n}" for n, c in enumerate(ALL)])
def test_single_change_finds_what_the_whole_check_finds(
    changes: dict[str, Any], expected: tuple[str, str, str, str], words: str
) -> None:
    snapshot = build_company(**changes)
    whole = set(check_framework(snapshot))
    single: set[Finding] = set()
    for name, rows in changes.items():
        table = TABLES[name.removeprefix("more_")]
        for values in rows:
            single |= set(check_records(snapshot, [(table.name, table.build(**values))]))
    if "cycle" not in expected[0]:  # a cycle is addressed to the record that was changed
        assert single == whole
    assert expected in tell(list(single))


@pytest.mark.parametrize(
    ("table", "key"),
    [
        ("competencies", ("weld",)),
        ("roles", ("fitter",)),
        ("courses", ("k1",)),
        ("teams", ("north",)),
        ("shifts", ("early",)),
        ("people", ("p1",)),
        ("places", ("bench",)),
        ("sites", ("yard",)),
        ("sessions", ("k1-june",)),
        ("orientation_items", ("tour",)),
    ],
)
def test_removal_finds_all_that_still_refers_to_the_record(table: str, key: tuple[str]) -> None:
    snapshot = build_company(more_competencies=[{"id": "sub", "label": "Sub", "scale": "s5", "broader": ("read",)}])
    record = snapshot.get_record(table, key)
    tables = {name: [r for k, r in snapshot.get_table(name).items() if (name, k) != (table, key)] for name in TABLES}
    after = Snapshot(tables)
    expected = {f for f in check_framework(after) if f.severity == "error"}
    assert expected
    assert {f for f in check_records(after, [(table, record)]) if f.severity == "error"} == expected


def test_removing_a_requirement_or_level_looks_at_what_is_left() -> None:
    role = build_company(requirements=[])
    gone = TABLES["requirements"].build(role="fitter", competency="weld", level=3)
    assert tell(check_records(role, [("requirements", gone)])) == {
        ("role without requirements", "remark", "roles", "id")
    }
    short = build_company(scales=build_scale(n=2))
    level = TABLES["scales"].build(scale="s5", rank=3, label="Three")
    assert {f.column for f in check_records(short, [("scales", level)])} == {"level"}
    assert set(check_records(short, [("scales", level)])) == set(check_framework(short))


def test_a_change_looks_again_at_what_it_makes_wrong_elsewhere() -> None:
    """Each pair: a sound company with one table replaced, and the record that was changed in it."""
    seats = {"courses": [{"id": "k1", "label": "Course", "hours": 8.0, "seats": 1}]}
    crowd = {
        "more_people": [{"id": "p2", "name": "Bo Tarn"}],
        "more_bookings": [{"session": "k1-june", "person": "p2"}],
    }
    late = {"people": [{"id": "p1", "name": "Ada Quill", "team": "north", "start_date": date(2027, 1, 1)}]}
    cancelled = {"id": "k1-june", "course": "k1", "from_date": DAY, "state": "cancelled"}
    people = {"requests", "assessors", "agreed_plans", "agreed_courses", "bookings"}
    never = SOUND | {"assessors": [{"person": "p1", "to_date": DAY}]}
    changes: list[tuple[dict[str, Any], str, set[str]]] = [
        (late | never, "people", people),
        (
            SOUND | {"agreed_plans": [SOUND["agreed_plans"][1] | {"agreed_on": JUNE}]},
            "agreed_plans",
            {"agreed_courses"},
        ),
        (late, "people", {"memberships", "duties", "appointments", "bookings"}),
        (seats | crowd, "courses", {"sessions"}),
        (crowd | seats, "bookings", {"sessions"}),
        (
            {"sessions": [cancelled]},
            "sessions",
            {"bookings"},
        ),
        ({"teams": [{"id": "north", "label": "N"}, {"id": "south", "label": "S"}]}, "teams", {"obligations"}),
        (
            {
                "more_competencies": [{"id": "c9", "label": "C9", "scale": "s5", "holds_while": ("read",)}],
                "equivalences": [{"competency": "c9", "counts_as": "read"}],
            },
            "equivalences",
            {"competencies"},
        ),
    ]
    for tables, name, expected in changes:
        snapshot = build_company(**tables)
        whole = check_framework(snapshot)
        single: set[Finding] = set()
        for record in snapshot.get_table(name).values():
            single |= set(check_records(snapshot, [(name, record)]))
        assert {f.about[0] for f in single} >= expected, name
        assert single <= set(whole), name
        assert {f for f in whole if f.about[0] in expected} <= single, name


def test_an_assessment_that_is_taken_back_leaves_its_appointment_without_the_level() -> None:
    assessments = [{"person": "p1", "competency": "licence", "level": 1, "date": DAY, "source": "certificate"}]
    snapshot = build_company(assessments=[assessments[0] | {"withdrawn_on": DAY}])
    (record,) = snapshot.get_assessments("p1", "licence")
    assert tell(check_records(snapshot, [("assessments", record)])) == {
        ("appointment without the level", "remark", "appointments", "level")
    }
    by_another = {
        "assessments": [assessments[0] | {"competency": "weld", "source": "assessor"}],
        "equivalences": [{"competency": "weld", "counts_as": "licence"}],
    }
    assert check_framework(build_company(**by_another)) == []
