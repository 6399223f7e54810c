"""Rows: every fault has its address, every default its value."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import pytest

from loaders.report import Loaded
from loaders.tables.cells import CellError, format_cell, parse_cell
from loaders.tables.rows import read_rows
from ontology.model.tables import REFUSED_COLUMNS, TABLES


def read(table: str, *rows: list[Any]) -> Loaded:
    loaded = Loaded()
    read_rows(TABLES[table], f"{table}.csv", rows, loaded)
    return loaded


def reasons(loaded: Loaded) -> list[tuple[int, str, str]]:
    return [(f.row, f.column, f.reason) for f in loaded.findings]


def test_empty_cells_take_the_defaults_of_the_table() -> None:
    loaded = read("requirements", ["role", "competency", "level"], ["r", "c", "3"])
    assert loaded.records["requirements"] == [TABLES["requirements"].build(role="r", competency="c", level=3)]
    record = loaded.records["requirements"][0]
    assert (record.entry_level, record.unsupervised_level, record.weight, record.necessity) == (3, 3, 3.0, "essential")


def test_target_defaults_to_two_or_the_minimum() -> None:
    loaded = read("cover_needs", ["team", "competency", "level", "minimum"], ["t", "c", "1", ""], ["t", "d", "1", "4"])
    assert [(n.minimum, n.target) for n in loaded.records["cover_needs"]] == [(1, 2), (4, 4)]


def test_a_certificate_expires_hard_by_default_and_others_are_reviewed() -> None:
    loaded = read("competencies", ["id", "label", "scale", "kind"], ["a", "A", "s", "certificate"], ["b", "B", "s", ""])
    assert [c.expiry for c in loaded.records["competencies"]] == ["hard", "review"]


def test_every_fault_of_a_row_is_reported_with_its_column_and_value() -> None:
    loaded = read(
        "requirements",
        ["role", "competency", "level", "weight", "necessity"],
        ["r 1", "c", "x", "9", "nice"],
    )
    assert [(f.row, f.column, f.value) for f in loaded.findings] == [
        (2, "role", "r 1"),
        (2, "level", "x"),
        (2, "weight", "9"),
        (2, "necessity", "nice"),
    ]
    assert loaded.records["requirements"] == []


def test_missing_unknown_doubled_and_refused_columns_are_errors_of_the_header() -> None:
    loaded = read("people", ["id", "nickname", "birth_date", "team", "team"], ["p", "x", "y", "t", "t"])
    assert [(f.row, f.column) for f in loaded.findings] == [
        (1, "nickname"),
        (1, "birth_date"),
        (1, "team"),
        (1, "name"),
    ]
    assert REFUSED_COLUMNS["birth_date"] in loaded.findings[1].reason


@pytest.mark.parametrize("column", sorted(REFUSED_COLUMNS))
def test_columns_that_must_not_exist_are_refused_with_the_reason(column: str) -> None:
    loaded = read("people", ["id", "name", column], ["p", "n", "x"])
    assert f"refused: {REFUSED_COLUMNS[column]}" in loaded.findings[0].reason


def test_a_duplicate_names_the_first_row() -> None:
    loaded = read("teams", ["id", "label"], ["t", "T"], ["u", "U"], ["t", "T"])
    assert reasons(loaded) == [(4, "", "is a duplicate of row 2 (id must be unique)")]
    assert [t.id for t in loaded.records["teams"]] == ["t", "u"]


def test_assessments_of_one_day_differ_by_source_assessor_and_level() -> None:
    header = ["person", "competency", "level", "date", "source", "assessor"]
    loaded = read(
        "assessments",
        header,
        ["p", "c", "2", "2026-01-01", "manager", "x"],
        ["p", "c", "3", "2026-01-01", "manager", "x"],
        ["p", "c", "3", "2026-01-01", "assessor", "x"],
        ["p", "c", "3", "2026-01-01", "assessor", "y"],
        ["p", "c", "3", "2026-01-01", "assessor", "y"],
    )
    assert [f.row for f in loaded.findings] == [6]
    assert len(loaded.records["assessments"]) == 4


def test_a_row_longer_than_the_header_is_an_error_and_a_shorter_one_is_not() -> None:
    loaded = read("teams", ["id", "label", "part_of"], ["t", "T"], ["u", "U", "", "more"], ["", "", ""])
    assert reasons(loaded) == [(3, "", "the row has more cells than the header")]
    assert [t.id for t in loaded.records["teams"]] == ["t"]


def test_a_semicolon_file_is_told_to_use_commas() -> None:
    loaded = read("teams", ["id;label"], ["t;T"])
    assert "comma" in loaded.findings[0].reason


def test_several_values_are_separated_by_a_bar_and_sorted() -> None:
    loaded = read(
        "competencies",
        ["id", "label", "scale", "broader", "alt_labels", "exact_match"],
        ["a", "A", "s", "z|b", "x | w", "http://x.example/2|http://x.example/1"],
    )
    record = loaded.records["competencies"][0]
    assert record.broader == ("b", "z")
    assert record.alt_labels == ("w", "x")
    assert record.exact_match == ("http://x.example/1", "http://x.example/2")


@pytest.mark.parametrize("text", ["yes", "true", "1", "Yes", "TRUE"])
def test_yes_true_and_one_are_read_alike(text: str) -> None:
    assert parse_cell(TABLES["outcomes"].get_column("renews"), text) is True


@pytest.mark.parametrize("text", ["no", "false", "0", "No", "FALSE"])
def test_no_false_and_zero_are_read_alike(text: str) -> None:
    assert parse_cell(TABLES["outcomes"].get_column("renews"), text) is False


@pytest.mark.parametrize(
    ("table", "column", "text", "reason"),
    [
        ("absences", "from", "24.11.2026", "write it as"),
        ("absences", "from", "2026-02-30", "not a valid date"),
        ("absences", "from", "2026-11-24 08:00:00", "write it as"),
        ("courses", "hours", "7,5", "with a point"),
        ("courses", "hours", "nan", "not a number"),
        ("courses", "hours", "-1", "at least 0"),
        ("courses", "hours", "1e12", "too large"),
        ("courses", "seats", "2.5", "not a whole number"),
        ("courses", "strand", "other", "one of experience, social, formal"),
        ("outcomes", "renews", "maybe", "must be yes or no"),
        ("outcomes", "level", "0", "at least 1"),
        ("cover_needs", "criticality", "6", "at most 5"),
        ("competencies", "exact_match", "not an iri", "not an absolute IRI"),
        ("competencies", "broader", "a|b c", "not a valid id"),
        ("people", "id", "-p", "not a valid id"),
        ("people", "id", "p~1", "not a valid id"),
    ],
)
def test_a_bad_cell_says_what_would_be_right(table: str, column: str, text: str, reason: str) -> None:
    with pytest.raises(CellError, match=reason):
        parse_cell(TABLES[table].get_column(column), text)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (3.0, "3"),
        (7.5, "7.5"),
        (True, "yes"),
        (date(2026, 1, 2), "2026-01-02"),
        (datetime(2026, 1, 2), "2026-01-02"),
        (None, ""),
        ("x", "x"),
    ],
)
def test_spreadsheet_cells_read_as_their_csv_text(value: object, text: str) -> None:
    assert format_cell(value) == text
