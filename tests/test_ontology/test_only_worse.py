"""Whether a course only got worse, change by change: then a plan without it stays the cheapest."""

from __future__ import annotations

from typing import Any

import pytest

from ontology.analysis.effect.worse import is_only_worse
from ontology.model.tables import TABLES


def build(table: str, **values: Any) -> Any:
    usual = {"courses": {"id": "k", "label": "K", "hours": 8.0}}.get(table, {"course": "k", "competency": "c"})
    return TABLES[table].build(**(usual | values))


@pytest.mark.parametrize(
    ("table", "before", "after", "is_worse"),
    [
        ("entry_conditions", {"level": 2}, {"level": 3}, True),
        ("entry_conditions", None, {"level": 1}, True),
        ("entry_conditions", {"level": 2}, {"level": 1}, False),
        ("entry_conditions", {"level": 2}, None, False),
        ("outcomes", {"level": 2}, {"level": 1}, True),
        ("outcomes", {"level": 2}, None, True),
        ("outcomes", {"level": 1}, {"level": 2}, False),
        ("outcomes", None, {"level": 1}, False),
        ("outcomes", {"level": 2, "renews": True}, {"level": 1, "renews": True}, False),
        ("courses", {}, {"hours": 9.0}, True),
        ("courses", {}, {"hours": 7.0}, False),
        ("courses", {}, {"cost": 10.0}, True),
        ("courses", {}, {"label": "Another name"}, True),
        ("courses", {}, None, True),
        ("courses", None, {}, False),
    ],
)
def test_each_change_of_a_course(
    table: str, before: dict[str, Any] | None, after: dict[str, Any] | None, is_worse: bool
) -> None:
    pair: Any = tuple(None if values is None else build(table, **values) for values in (before, after))
    key = ("k",) if table == "courses" else ("k", "c")
    assert is_only_worse("k", {table: {key: pair}}) is is_worse
    assert is_only_worse("x", {table: {key: pair}}), "of another course nothing changed"
