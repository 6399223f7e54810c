"""What breaks a rule in the whole is what each record's page says of it, on whichever day one looks."""

from __future__ import annotations

from collections import Counter
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.desk.record_words import get_record_id
from api.pages.records import list_findings
from loaders.pipeline import load_paths
from ontology.checks.broken_rules import find_broken_rules
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

SCENARIO = Path(__file__).resolve().parents[2] / "data" / "water_utility"


@pytest.fixture(scope="module")
def snapshot() -> Snapshot:
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    return graph.get_snapshot()


@given(st.dates(date(2020, 1, 1), date(2030, 1, 1)))
@settings(max_examples=6, deadline=None)
def test_the_whole_and_the_pages_of_records_find_the_same(snapshot: Snapshot, on: date) -> None:
    told = find_broken_rules(snapshot, on, limit=100_000)
    whole = Counter((one.table, one.id, one.severity) for one in told.findings)
    single: Counter[tuple[str, str, str]] = Counter()
    for name, table in TABLES.items():
        records = snapshot.scales.values() if name == "scales" else snapshot.get_table(name).values()
        for record in records:
            for noticed in list_findings(snapshot, table, record, on):
                single[name, get_record_id(table, record), noticed.severity] += 1
    assert whole == single
    assert told.error_count + told.remark_count == whole.total()
