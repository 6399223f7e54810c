"""O*NET loader on files with faults: each is named with its address, and the rest is loaded."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import xlsxwriter
from onet_rows import (
    HEADERS,
    RATING_HEADER,
    build_sheets,
    get_errors,
    get_requirement,
    load,
    pair,
    rating,
    write_folder,
)

from loaders.open_data.onet import load_onet
from ontology.errors import FileFormatError


def test_missing_half_of_a_pair_is_a_remark(tmp_path: Path) -> None:
    sheets = build_sheets()
    sheets["Skills"] = [rating("91-0001.00", "9.A.1", "LV", 4), rating("91-0002.00", "9.A.1", "IM", 4)]
    loaded = load(tmp_path, sheets)
    assert get_requirement(loaded, "91-0001.00", "9.A.1").weight == 3.0
    assert not [r for r in loaded.records["requirements"] if r.role == "91-0002.00"]
    assert [(f.severity, f.row) for f in loaded.findings if f.source == "Skills.xlsx"] == [("remark", 2), ("remark", 3)]


@pytest.mark.parametrize(
    ("row", "column"),
    [
        (rating("91-9999.00", "9.A.1", "LV", 3), "O*NET-SOC Code"),
        (rating("91-0001.00", "9.A.7", "LV", 3), "Element ID"),
        (rating("91-0001.00", "9.A.1", "XX", 3), "Scale ID"),
        (rating("91-0001.00", "9.A.1", "LV", 7.01), "Data Value"),
        (rating("91-0001.00", "9.A.1", "LV", -0.1), "Data Value"),
        (rating("91-0001.00", "9.A.1", "IM", 0.99), "Data Value"),
        (rating("91-0001.00", "9.A.1", "IM", "high"), "Data Value"),
        (rating("91-0001.00", "9.A.1", "LV", ""), "Data Value"),
        (rating("91-0001.00", "9.A.1", "LV", "nan"), "Data Value"),
    ],
)
def test_faulty_rating_row_is_an_error_with_its_address_and_the_rest_is_loaded(
    tmp_path: Path, row: list[Any], column: str
) -> None:
    sheets = build_sheets()
    sheets["Skills"] = [*pair("91-0002.00", "9.A.1", 2, 2.5), row]
    loaded = load(tmp_path, sheets)
    ((source, number, found_column, value),) = get_errors(loaded)
    assert (source, number, found_column) == ("Skills.xlsx", 4, column)
    assert value == str(row[RATING_HEADER.index(column)])
    assert get_requirement(loaded, "91-0002.00", "9.A.1").level == 3
    assert not [r for r in loaded.records["requirements"] if (r.role, r.competency) == ("91-0001.00", "9.A.1")]


def test_duplicate_rating_is_an_error_and_the_first_stands(tmp_path: Path) -> None:
    sheets = build_sheets()
    sheets["Skills"] = [*pair("91-0002.00", "9.A.1", 2, 3), rating("91-0002.00", "9.A.1", "LV", 5)]
    loaded = load(tmp_path, sheets)
    assert get_errors(loaded) == [("Skills.xlsx", 4, "Scale ID", "LV")]
    assert get_requirement(loaded, "91-0002.00", "9.A.1").level == 3


def test_duplicate_occupation_element_and_zone_are_errors(tmp_path: Path) -> None:
    sheets = build_sheets()
    sheets["Occupation Data"].append(["91-0001.00", "Again", ""])
    sheets["Content Model Reference"].append(["9.A.1", "Again", ""])
    sheets["Job Zones"].append(["91-0001.00", "", 3, "", ""])
    loaded = load(tmp_path, sheets)
    assert get_errors(loaded) == [
        ("Occupation Data.xlsx", 5, "O*NET-SOC Code", "91-0001.00"),
        ("Job Zones.xlsx", 4, "O*NET-SOC Code", "91-0001.00"),
        ("Content Model Reference.xlsx", 9, "Element ID", "9.A.1"),
    ]
    assert loaded.records["roles"][0].label == "Kite Makers"


def test_faults_outside_the_ratings_are_errors_with_their_address(tmp_path: Path) -> None:
    sheets = build_sheets()
    sheets["Occupation Data"] += [["not an id", "X", ""], ["91-0005.00", "", ""]]
    sheets["Job Zones"] += [["91-0099.00", "", 2, "", ""], ["91-0003.00", "", "two", "", ""]]
    sheets["Content Model Reference"] += [["9 C", "X", ""], ["9.D", "", ""]]
    sheets["Level Scale Anchors"] += [
        ["9.Z", "", "LV", "", 2, "x"],
        ["9.A.1", "", "IM", "", 2, "x"],
        ["9.A.1", "", "LV", "", 9, "x"],
    ]
    assert get_errors(load(tmp_path, sheets)) == [
        ("Occupation Data.xlsx", 5, "O*NET-SOC Code", "not an id"),
        ("Occupation Data.xlsx", 6, "Title", ""),
        ("Job Zones.xlsx", 4, "O*NET-SOC Code", "91-0099.00"),
        ("Job Zones.xlsx", 5, "Job Zone", "two"),
        ("Content Model Reference.xlsx", 9, "Element ID", "9 C"),
        ("Content Model Reference.xlsx", 10, "Element Name", ""),
        ("Level Scale Anchors.xlsx", 6, "Element ID", "9.Z"),
        ("Level Scale Anchors.xlsx", 7, "Scale ID", "IM"),
        ("Level Scale Anchors.xlsx", 8, "Anchor Value", "9.0"),
    ]


def test_element_whose_parent_is_not_there_is_an_error_and_kept_without(tmp_path: Path) -> None:
    sheets = build_sheets()
    sheets["Content Model Reference"] = [r for r in sheets["Content Model Reference"] if r[0] != "9.A"]
    loaded = load(tmp_path, sheets)
    assert get_errors(loaded) == [("Content Model Reference.xlsx", 4, "Element ID", "9.A.1")]
    assert {c.id: c.broader for c in loaded.records["competencies"]}["9.A.1"] == ()


def test_row_numbers_count_empty_rows(tmp_path: Path) -> None:
    sheets = build_sheets()
    sheets["Skills"] = [[], [], *pair("91-0001.00", "9.A.1", 2, 8)]
    assert get_errors(load(tmp_path, sheets)) == [("Skills.xlsx", 5, "Data Value", "8.0")]


def test_missing_files_are_all_named(tmp_path: Path) -> None:
    sheets = build_sheets()
    del sheets["Skills"], sheets["Job Zones"]
    with pytest.raises(FileFormatError, match=r"Job Zones\.xlsx, Skills\.xlsx not found"):
        load(tmp_path, sheets)


@pytest.mark.parametrize("name", HEADERS)
def test_missing_column_is_named_with_its_file(tmp_path: Path, name: str) -> None:
    headers = {key: list(header) for key, header in HEADERS.items()}
    position = headers[name].index({"Job Zone Reference": "Name"}.get(name, headers[name][0]))
    wanted = headers[name][position]
    headers[name][position] = "Other"
    with pytest.raises(FileFormatError) as caught:
        load_onet(write_folder(tmp_path, build_sheets(), headers))
    assert f"{name}.xlsx" in caught.value.detail
    assert repr(wanted) in caught.value.detail


@pytest.mark.parametrize("damage", ["empty", "cut", "no workbook"])
def test_damaged_file_is_named(tmp_path: Path, damage: str) -> None:
    write_folder(tmp_path, build_sheets(), HEADERS)
    path = tmp_path / "Knowledge.xlsx"
    whole = path.read_bytes()
    path.write_bytes({"empty": b"", "cut": whole[: len(whole) // 2], "no workbook": b"hello, world"}[damage])
    with pytest.raises(FileFormatError, match=r"Knowledge\.xlsx"):
        load_onet(tmp_path)


def test_empty_sheet_lacks_its_columns(tmp_path: Path) -> None:
    write_folder(tmp_path, build_sheets(), HEADERS | {"Skills": []})
    with xlsxwriter.Workbook(tmp_path / "Skills.xlsx") as book:
        book.add_worksheet()
    with pytest.raises(FileFormatError, match=r"Skills\.xlsx.*'O\*NET-SOC Code'"):
        load_onet(tmp_path)
