"""One changed or removed record: what its own check finds is what the check of the whole framework finds."""

from __future__ import annotations

from typing import Any

import pytest
from framework_cases import CASES, build_company, tell
from small_company import build_scale

from ontology.checks.framework import check_framework, check_record
from ontology.errors import Finding
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot


@pytest.mark.parametrize(("changes", "expected", "words"), CASES, ids=[f"{c[1][0]}-{n}" for n, c in enumerate(CASES)])
def test_single_change_finds_what_the_whole_check_finds(
    changes: dict[str, Any], expected: tuple[str, str, str, str], words: str
) -> None:
    snapshot = build_company(**changes)
    whole = set(check_framework(snapshot))
    single: set[Finding] = set()
    for name, rows in changes.items():
        table = TABLES[name.removeprefix("more_")]
        for values in rows:
            single |= set(check_record(snapshot, table.name, table.build(**values)))
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
    ],
)
def test_removal_finds_all_that_still_refers_to_the_record(table: str, key: tuple[str]) -> None:
    snapshot = build_company(more_competencies=[{"id": "sub", "label": "Sub", "scale": "s5", "broader": ("read",)}])
    record = snapshot.get_record(table, key)
    tables = {name: [r for k, r in snapshot.get_table(name).items() if (name, k) != (table, key)] for name in TABLES}
    after = Snapshot(tables)
    expected = {f for f in check_framework(after) if f.severity == "error"}
    assert expected
    assert {f for f in check_record(after, table, record) if f.severity == "error"} == expected


def test_removing_a_requirement_or_level_looks_at_what_is_left() -> None:
    role = build_company(requirements=[])
    gone = TABLES["requirements"].build(role="fitter", competency="weld", level=3)
    assert tell(check_record(role, "requirements", gone)) == {("role without requirements", "remark", "roles", "id")}
    short = build_company(scales=build_scale(n=2))
    level = TABLES["scales"].build(scale="s5", rank=3, label="Three")
    assert {f.column for f in check_record(short, "scales", level)} == {"level"}
    assert set(check_record(short, "scales", level)) == set(check_framework(short))
