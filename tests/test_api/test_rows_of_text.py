"""Rows of an answer stand on a line each, whatever their texts hold and whatever rows they hold themselves."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from api.json_text import dump_json

TEXTS = st.sampled_from(["", "plain", "},{", '"},{"', "}\n{", "ä\u2028", "\\"])


@dataclass(frozen=True, slots=True)
class FlatRow:
    """A row that holds no other."""

    name: str
    count: int
    tags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Shelf:
    """A row that holds rows."""

    name: str
    rows: tuple[FlatRow, ...]


FLAT = st.builds(FlatRow, TEXTS, st.integers(0, 9), st.lists(TEXTS, max_size=2).map(tuple))
SHELF = st.builds(Shelf, TEXTS, st.lists(FLAT, max_size=3).map(tuple))
PLAIN = FLAT.map(asdict)
ROWS = st.one_of(st.lists(FLAT), st.lists(SHELF), st.lists(PLAIN), st.lists(st.one_of(FLAT, SHELF, PLAIN, TEXTS)))


def to_plain(row: Any) -> Any:
    return asdict(row) if isinstance(row, FlatRow | Shelf) else row


@given(ROWS)
def test_every_row_has_its_line_and_reads_back(rows: list[Any]) -> None:
    plain = json.loads(json.dumps([to_plain(row) for row in rows]))
    text = dump_json({"rows": rows, "last": 1}).decode()
    assert json.loads(text) == {"rows": plain, "last": 1}
    lines = text.split("\n")
    if not rows:
        assert lines == ["{", ' "rows": [],', ' "last": 1', "}", ""]
        return
    assert lines[:2] == ["{", ' "rows": [']
    assert [json.loads(line.removesuffix(",")) for line in lines[2 : 2 + len(rows)]] == plain
    assert all(line.startswith("  ") for line in lines[2 : 2 + len(rows)])
    assert lines[2 + len(rows) :] == [" ],", ' "last": 1', "}", ""]


@given(st.lists(SHELF, min_size=2), st.lists(FLAT, min_size=2))
def test_text_does_not_depend_on_what_was_written_before(shelves: list[Shelf], rows: list[FlatRow]) -> None:
    before = dump_json({"rows": shelves}), dump_json({"rows": rows})
    assert (dump_json({"rows": shelves}), dump_json({"rows": rows})) == before
