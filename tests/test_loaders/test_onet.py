"""O*NET loader on files with the official headers and invented rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter

from loaders.open_data.onet import load_onet
from loaders.open_data.onet_sheets import is_onet
from loaders.report import Loaded
from ontology.errors import FileFormatError
from ontology.model.records import Competency, Requirement, Role

RATING_HEADER = [
    "O*NET-SOC Code",
    "Title",
    "Element ID",
    "Element Name",
    "Scale ID",
    "Scale Name",
    "Data Value",
    "N",
    "Standard Error",
    "Lower CI Bound",
    "Upper CI Bound",
    "Recommend Suppress",
    "Not Relevant",
    "Date",
    "Domain Source",
]
#: The official header rows (O*NET data dictionary, Excel edition).
HEADERS: dict[str, list[str]] = {
    "Occupation Data": ["O*NET-SOC Code", "Title", "Description"],
    "Job Zone Reference": ["Job Zone", "Name", "Experience", "Education", "Job Training", "Examples", "SVP Range"],
    "Job Zones": ["O*NET-SOC Code", "Title", "Job Zone", "Date", "Domain Source"],
    "Content Model Reference": ["Element ID", "Element Name", "Description"],
    "Level Scale Anchors": [
        "Element ID",
        "Element Name",
        "Scale ID",
        "Scale Name",
        "Anchor Value",
        "Anchor Description",
    ],
    "Skills": RATING_HEADER,
    "Knowledge": RATING_HEADER,
}

Sheets = dict[str, list[list[Any]]]


def rating(soc: str, element: str, scale: str, value: Any, suppress: str = "N", not_relevant: str = "") -> list[Any]:
    return [soc, "", element, "", scale, "", value, 8, "", "", "", suppress, not_relevant, "01/2026", "Analyst"]


def pair(soc: str, element: str, importance: Any, level: Any, **marks: str) -> list[list[Any]]:
    return [rating(soc, element, "IM", importance), rating(soc, element, "LV", level, **marks)]


def build_sheets() -> Sheets:
    """Two kite makers and one occupation without ratings; one skill, two pieces of knowledge."""
    return {
        "Occupation Data": [
            ["91-0001.00", "Kite Makers", "Make kites."],
            ["91-0002.00", "Kite Testers", "Fly kites."],
            ["91-0003.00", "Kite Dreamers", "Dream of kites."],
        ],
        "Job Zone Reference": [[2, "Zone two: some preparation", "", "", "", "", ""]],
        "Job Zones": [["91-0001.00", "", 2, "", ""], ["91-0002.00", "", 4, "", ""]],
        "Content Model Reference": [
            ["1", "Something Else", ""],
            ["9", "All of It", "The top."],
            ["9.A", "Handiwork", ""],
            ["9.A.1", "Knots", "Tying knots."],
            ["9.B", "Lore", ""],
            ["9.B.1", "Winds", ""],
            ["9.B.10", "Clouds", ""],
        ],
        "Level Scale Anchors": [
            ["9.A.1", "", "LV", "", 2, "Tie a bow"],
            ["9.A.1", "", "LV", "", 5, "Splice a rope"],
            ["9.A.1", "", "LV", "", 5, "Mend a net"],
            ["1", "", "LV", "", 3, "Unused"],
        ],
        "Skills": pair("91-0001.00", "9.A.1", 4.12, 4.62) + pair("91-0002.00", "9.A.1", 2, 2.5),
        "Knowledge": pair("91-0001.00", "9.B.1", 3.5, 0.5) + pair("91-0001.00", "9.B.10", 5, 6.96),
    }


def write_folder(folder: Path, sheets: Mapping[str, Sequence[Sequence[Any]]], headers: Mapping[str, Any]) -> Path:
    for name, rows in sheets.items():
        with xlsxwriter.Workbook(folder / f"{name}.xlsx") as book:
            sheet = book.add_worksheet(name)
            for number, row in enumerate([headers[name], *rows]):
                sheet.write_row(number, 0, row)
    return folder


def load(folder: Path, sheets: Sheets) -> Loaded:
    return load_onet(write_folder(folder, sheets, HEADERS))


def get_requirement(loaded: Loaded, role: str, competency: str) -> Requirement:
    (found,) = [r for r in loaded.records["requirements"] if (r.role, r.competency) == (role, competency)]
    return found


def get_errors(loaded: Loaded) -> list[tuple[str, int, str, str]]:
    return [(f.source, f.row, f.column, f.value) for f in loaded.findings if f.severity == "error"]


def test_occupations_become_roles_with_their_job_zone_as_family(tmp_path: Path) -> None:
    loaded = load(tmp_path, build_sheets())
    assert loaded.records["roles"] == [
        Role("91-0001.00", "Kite Makers", "Zone two: some preparation", "Make kites.", 12),
        Role("91-0002.00", "Kite Testers", "Job Zone 4", "Fly kites.", 12),
        Role("91-0003.00", "Kite Dreamers", "", "Dream of kites.", 12),
    ]
    assert not get_errors(loaded)


def test_rated_elements_and_those_above_become_competencies(tmp_path: Path) -> None:
    competencies: list[Competency] = load(tmp_path, build_sheets()).records["competencies"]
    assert [(c.id, c.label, c.broader, c.kind, c.scale) for c in competencies] == [
        ("9", "All of It", (), "skill", "onet-level"),
        ("9.A", "Handiwork", ("9",), "skill", "onet-level"),
        ("9.A.1", "Knots", ("9.A",), "skill", "onet-9.A.1"),
        ("9.B", "Lore", ("9",), "knowledge", "onet-level"),
        ("9.B.1", "Winds", ("9.B",), "knowledge", "onet-9.B.1"),
        ("9.B.10", "Clouds", ("9.B",), "knowledge", "onet-9.B.10"),
    ]
    assert competencies[2].definition == "Tying knots."


def test_every_scale_has_seven_ranks_and_the_official_anchors(tmp_path: Path) -> None:
    scales = load(tmp_path, build_sheets()).records["scales"]
    ranks: dict[str, list[int]] = {}
    for level in scales:
        ranks.setdefault(level.scale, []).append(level.rank)
    assert sorted(ranks) == ["onet-9.A.1", "onet-9.B.1", "onet-9.B.10", "onet-level"]
    assert all(numbers == [1, 2, 3, 4, 5, 6, 7] for numbers in ranks.values())
    anchored = {(level.scale, level.rank): level.description for level in scales if level.description}
    assert anchored == {("onet-9.A.1", 2): "Tie a bow", ("onet-9.A.1", 5): "Splice a rope; Mend a net"}


def test_importance_is_the_weight_and_the_decimal_level_is_kept(tmp_path: Path) -> None:
    found = get_requirement(load(tmp_path, build_sheets()), "91-0001.00", "9.A.1")
    assert found == Requirement("91-0001.00", "9.A.1", 5, 5, 5, 4.12, "essential", None, 4.62, "")


@pytest.mark.parametrize(
    ("level", "rank"),
    [(0, None), (0.49, None), (0.5, 1), (1.49, 1), (1.5, 2), (2.5, 3), (3.49, 3), (6.5, 7), (6.96, 7), (7, 7)],
)
def test_levels_are_rounded_half_up_and_below_half_nothing_is_required(
    tmp_path: Path, level: float, rank: int | None
) -> None:
    sheets = build_sheets()
    sheets["Skills"] = pair("91-0002.00", "9.A.1", 3, level)
    requirements = [r for r in load(tmp_path, sheets).records["requirements"] if r.role == "91-0002.00"]
    assert [(r.level, r.measured_level) for r in requirements] == ([] if rank is None else [(rank, level)])


def test_not_relevant_is_no_requirement_however_high_the_level(tmp_path: Path) -> None:
    sheets = build_sheets()
    sheets["Skills"] = pair("91-0001.00", "9.A.1", 3, 5, not_relevant="Y") + pair("91-0002.00", "9.A.1", 3, 5)
    roles = {r.role for r in load(tmp_path, sheets).records["requirements"] if r.competency == "9.A.1"}
    assert roles == {"91-0002.00"}


def test_suppressed_estimates_are_marked_in_the_remark(tmp_path: Path) -> None:
    sheets = build_sheets()
    sheets["Skills"] = pair("91-0001.00", "9.A.1", 3, 5, suppress="Y")
    sheets["Knowledge"] = [
        rating("91-0001.00", "9.B.1", "IM", 3, suppress="Y"),
        rating("91-0001.00", "9.B.1", "LV", 3),
        rating("91-0001.00", "9.B.10", "IM", 3, suppress="Y"),
        rating("91-0001.00", "9.B.10", "LV", 3, suppress="Y"),
    ]
    loaded = load(tmp_path, sheets)
    remarks = [get_requirement(loaded, "91-0001.00", i).remark for i in ("9.A.1", "9.B.1", "9.B.10")]
    assert [("level" in remark, "importance" in remark) for remark in remarks] == [
        (True, False),
        (False, True),
        (True, True),
    ]


def test_occupations_without_ratings_are_counted_and_named(tmp_path: Path) -> None:
    loaded = load(tmp_path, build_sheets())
    remarks = [f for f in loaded.findings if f.source == "Occupation Data.xlsx"]
    assert [(f.severity, f.row, f.value) for f in remarks] == [("remark", 0, ""), ("remark", 4, "91-0003.00")]
    assert remarks[0].reason.startswith("1 of 3 occupations have no ratings")


def test_occupation_with_nothing_but_low_levels_is_a_role_without_requirements(tmp_path: Path) -> None:
    sheets = build_sheets()
    sheets["Skills"] = pair("91-0002.00", "9.A.1", 1, 0.2)
    found = [f for f in load(tmp_path, sheets).findings if f.value == "91-0002.00"]
    assert [(f.severity, f.row) for f in found] == [("remark", 3)]
    assert "0.5" in found[0].reason


def test_missing_job_zones_are_counted(tmp_path: Path) -> None:
    (found,) = [f for f in load(tmp_path, build_sheets()).findings if f.source == "Job Zones.xlsx"]
    assert (found.severity, found.reason[:26]) == ("remark", "1 occupations have no job ")


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


def test_number_stored_as_text_is_read(tmp_path: Path) -> None:
    sheets = build_sheets()
    sheets["Skills"] = pair("91-0002.00", "9.A.1", "2.25", " 3.5 ")
    found = get_requirement(load(tmp_path, sheets), "91-0002.00", "9.A.1")
    assert (found.weight, found.measured_level, found.level) == (2.25, 3.5, 4)


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


def test_progress_ends_with_all_rows_of_each_ratings_file(tmp_path: Path) -> None:
    calls: list[tuple[str, int, int]] = []
    load_onet(write_folder(tmp_path, build_sheets(), HEADERS), lambda *call: calls.append(call))
    assert calls == [("Skills.xlsx", 4, 4), ("Knowledge.xlsx", 4, 4)]


def test_label_names_release_and_licence(tmp_path: Path) -> None:
    (tmp_path / "Read Me.txt").write_text("O*NET 99.1 Database\nmore\n", encoding="utf-8")
    label = load(tmp_path, build_sheets()).label
    assert label.startswith("O*NET 99.1 Database by the U.S. Department of Labor")
    assert "CC BY 4.0" in label


def test_folder_is_recognised_by_official_names(tmp_path: Path) -> None:
    assert not is_onet(tmp_path)
    write_folder(tmp_path, build_sheets(), HEADERS)
    assert is_onet(tmp_path)
    assert not is_onet(tmp_path / "Skills.xlsx")
    assert not is_onet(tmp_path / "nowhere")
