"""Who refers to records: found in one pass for all of them, equal to looking for each by itself."""

from __future__ import annotations

from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from working_companies import build_working_company

from ontology.checks.changes import find_referrers
from ontology.model.references import get_reference_fields, is_referring
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot


def find_by_hand(snapshot: Snapshot, table: str, record_id: str) -> list[tuple[str, str]]:
    """Ask every record of every table, one wanted record at a time."""
    found = []
    for name, record in snapshot.iterate_records():
        for field in get_reference_fields(name, table):
            value = getattr(record, field)
            if record_id in (value if isinstance(value, tuple) else (value,)) and is_referring(
                name, record, table, field
            ):
                found.append((name, "~".join(map(str, TABLES[name].get_key(record)))))
                break
    return found


@settings(max_examples=draws(20), deadline=None)
@given(st.integers(0, 10_000))
def test_all_referrers_of_all_records_are_found_at_once(seed: int) -> None:
    snapshot = Snapshot(build_working_company(seed))
    single = [(name, key[0]) for name, table in TABLES.items() if table.id_field for key in snapshot.get_table(name)]
    wanted = [*single, *(("scales", scale) for scale in snapshot.scales), ("roles", "nobody")]
    expected = {record: find_by_hand(snapshot, *record) for record in wanted}
    found = find_referrers(snapshot, wanted)
    assert found == {record: rows for record, rows in expected.items() if rows}
    assert list(found) == [record for record in wanted if expected[record]]
    assert any(len(rows) > 3 for rows in found.values())
