"""The JSON text of answers: valid, the same for the same value, a row to a line."""

from __future__ import annotations

import dataclasses
import datetime as dt
import enum
import json
import math
from collections import OrderedDict
from typing import Any

import pytest
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st

from api.json_text import dump_json, get_members, to_json

TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | TEXT,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXT, inner, max_size=4),
    max_leaves=25,
)


class Level(enum.IntEnum):
    """A number with a name."""

    HIGH = 3


@dataclasses.dataclass(frozen=True, slots=True)
class Row:
    """A result."""

    day: dt.date
    people: tuple[str, ...]
    share: float
    below: Any = None


@settings(max_examples=draws(300), deadline=None)
@given(VALUES)
def test_what_is_written_is_read_back(value: Any) -> None:
    text = dump_json(value)
    assert json.loads(text) == value
    assert text.endswith(b"\n")
    assert dump_json(json.loads(text)) == text


@settings(max_examples=draws(200), deadline=None)
@given(VALUES)
def test_what_json_holds_already_stays_as_it_is(value: Any) -> None:
    assert to_json(value) == value
    assert to_json((value, [value])) == [value, [value]]


def test_results_become_plain_values() -> None:
    row = Row(dt.date(2026, 1, 31), ("a", "b"), math.inf, Row(dt.datetime(2026, 1, 31, 12), (), math.nan))
    plain = {"day": "2026-01-31", "people": ["a", "b"], "share": None}
    assert to_json(row) == plain | {"below": {"day": "2026-01-31T12:00:00", "people": [], "share": None, "below": None}}
    assert to_json({1: frozenset({"b", "a"}), "x": OrderedDict(y=Level.HIGH)}) == {"1": ["a", "b"], "x": {"y": 3}}
    with pytest.raises(TypeError, match="cannot hold a bytes"):
        to_json([b"x"])
    with pytest.raises(TypeError, match="cannot hold a type"):
        to_json(Row)


def test_a_row_stands_on_a_line() -> None:
    text = dump_json(
        {"rows": [{"a": [1, {"b": 2}]}, {"a": []}], "best": {"x": {"y": 1}, "z": None}, "none": [], "n": 1}
    )
    assert text.decode().splitlines() == [
        "{",
        ' "rows": [',
        '  {"a":[1,{"b":2}]},',
        '  {"a":[]}',
        " ],",
        ' "best": {',
        '  "x": {"y":1},',
        '  "z": null',
        " },",
        ' "none": [],',
        ' "n": 1',
        "}",
    ]


def test_a_number_that_json_cannot_hold_is_never_written() -> None:
    assert json.loads(dump_json({"x": [math.nan, math.inf, -math.inf, 1.5]})) == {"x": [None, None, None, 1.5]}


def test_a_result_has_the_text_of_its_plain_values() -> None:
    row = Row(dt.date(2026, 1, 31), ("a", "b"), math.inf, Row(dt.datetime(2026, 1, 31, 12), (), 0.1 + 0.2))
    shown = {"rows": (row, row), "none": (), "ids": frozenset({"b", "a"}), "level": Level.HIGH, "day": row.day}
    assert dump_json(shown) == dump_json(to_json(shown))
    assert dump_json({"rows": [row, 2**80]}) == dump_json(to_json({"rows": [row, 2**80]}))
    assert dump_json(get_members(row)) == dump_json(to_json(get_members(row)))
    with pytest.raises(TypeError, match="has no members"):
        get_members(3)


@pytest.mark.parametrize("value", [b"x", object(), Row])
def test_what_no_answer_holds_is_never_written(value: Any) -> None:
    with pytest.raises(TypeError, match="cannot hold"):
        dump_json({"x": [value]})
