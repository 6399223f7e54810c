"""What breaks a rule is told by table and record, and says the same as the check of a change."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from api.desk.names import Names
from api.questions.company.findings import name_record, tell
from loaders.pipeline import load_paths
from ontology.checks.broken_rules import BrokenRules, find_broken_rules
from ontology.checks.framework import check_framework
from ontology.live.live_graph import LiveGraph
from ontology.snapshot.snapshot import Snapshot

SCENARIO = Path(__file__).resolve().parents[2] / "data" / "water_utility"
#: Long after the scenario's days: what was planned is over by then, and nothing says what came of it.
LATER = date(2027, 6, 1)


@pytest.fixture(scope="module")
def snapshot() -> Snapshot:
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    return graph.get_snapshot()


@pytest.mark.parametrize("on", [date(2026, 11, 30), LATER])
def test_it_counts_what_the_checks_of_the_framework_find(snapshot: Snapshot, on: date) -> None:
    told = find_broken_rules(snapshot, on, limit=1_000)
    found = check_framework(snapshot, on)
    assert told.error_count + told.remark_count == sum(rule.findings for rule in told.rules) == len(found)
    assert sorted((one.table, one.column, one.value) for one in told.findings) == sorted(
        (one.about[0], one.column, one.value) for one in found
    )


def test_a_limit_names_fewer_and_counts_all(snapshot: Snapshot) -> None:
    whole, few = (find_broken_rules(snapshot, LATER, limit=limit) for limit in (1_000, 2))
    assert (few.rules, few.remark_count) == (whole.rules, whole.remark_count)
    assert few.findings == whole.findings[:2]


def test_every_record_named_is_there(snapshot: Snapshot) -> None:
    for one in find_broken_rules(snapshot, LATER, limit=1_000).findings:
        keys = {"~".join(map(str, key)) for key in snapshot.get_table(one.table)}
        assert one.id in keys
        assert name_record(Names(snapshot), one)
        assert not one.reason.startswith(one.table)


@pytest.mark.parametrize(
    ("errors", "remarks", "words"),
    [
        (0, 0, "Nothing breaks a rule."),
        (0, 3, "No errors and 3 remarks, in 0 tables."),
        (1, 0, "1 error, in 0 tables."),
    ],
)
def test_the_first_sentence_says_how_much(errors: int, remarks: int, words: str) -> None:
    assert tell(BrokenRules(LATER, errors, remarks, (), ())) == words
