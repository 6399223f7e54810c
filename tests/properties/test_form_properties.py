"""What a form shows of a value, and what comes back, is the same value."""

from __future__ import annotations

import datetime as dt
from typing import Any

from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from api.pages.forms.conflict import compare_versions
from api.pages.forms.form import format_text, read_body
from ontology.model.columns import ID_PATTERN, Column

_TEXT = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=30)
_LINES = st.lists(_TEXT.map(str.strip).filter(bool).filter(lambda text: len(text.splitlines()) == 1), max_size=4)
#: Kind of column -> its values as JSON holds them.
VALUES: dict[str, st.SearchStrategy[Any]] = {
    "id": st.from_regex(ID_PATTERN, fullmatch=True),
    "text": _TEXT,
    "texts": _LINES.map(lambda lines: list(dict.fromkeys(lines))),
    "integer": st.integers(-(10**9), 10**9),
    "number": st.floats(-1e9, 1e9).filter(lambda value: "e" not in repr(value)),
    "flag": st.booleans(),
    "date": st.dates(dt.date(1900, 1, 1)).map(str),
    "choice": st.sampled_from(("rock", "sand")),
}
CASES = st.sampled_from(sorted(VALUES)).flatmap(lambda kind: st.tuples(st.just(kind), VALUES[kind]))


def build(kind: Any) -> Column:
    return Column("x", kind, "", "", default="" if kind == "text" else None, choices=("rock", "sand"))


# on a new machine the tables of characters are made first, which takes a second
patient = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])


@patient
@given(CASES)
@example(("number", 0.0001843707318401875))
@example(("number", 0.00012345678901234567))
def test_a_value_that_is_shown_is_read_again(case: tuple[str, Any]) -> None:
    kind, value = case
    column = build(kind)
    body = read_body((column,), {"x": format_text(column, value)})
    assert (body.members, body.wrong) == ({"x": value}, {})


@patient
@given(CASES, st.sampled_from(("\n", "\r\n")))
def test_a_field_nobody_touched_keeps_its_value_however_lines_are_sent(case: tuple[str, Any], line: str) -> None:
    kind, value = case
    column = build(kind)
    sent = format_text(column, value).replace("\r\n", "\n").replace("\n", line)
    assert read_body((column,), {"x": sent}, {"x": value}).members == {"x": value}


@patient
@given(st.dictionaries(st.sampled_from("abc"), _TEXT), st.dictionaries(st.sampled_from("abc"), _TEXT))
def test_of_two_equal_versions_nothing_is_marked(read: dict[str, str], typed: dict[str, str]) -> None:
    labels = {name: name.upper() for name in "abc"}
    assert not any(row.is_changed for row in compare_versions(labels, read, read, typed))
    assert not any(row.is_yours for row in compare_versions(labels, read, typed, typed))
