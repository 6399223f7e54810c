"""The reader of workbooks: the same cells as two independent readers see, and what only it must tell."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import python_calamine
import xlsxwriter
from small_company import NO_REFERENCE, REFERENCE
from workbook_parts import SHEET, TEXTS, build_sheet, build_texts, replace_parts, write_sheet

from loaders.cells import FaultyCell
from loaders.spreadsheet import Spreadsheet
from loaders.spreadsheet_dates import convert_serial, is_date_format
from ontology.errors import FileFormatError

SCENARIO = Path(__file__).resolve().parents[2] / "data" / "water_utility.xlsx"
ONET = REFERENCE / "onet"


def read(path: Path, name: str | None = None) -> list[list[Any]]:
    with Spreadsheet(path) as book:
        return [list(row) for row in book.iterate_rows(name or book.names[0])]


def read_with_calamine(path: Path) -> dict[str, list[list[Any]]]:
    book = python_calamine.CalamineWorkbook.from_path(path)
    return {name: book.get_sheet_by_name(name).to_python(skip_empty_area=False) for name in book.sheet_names}


def require_same_as_calamine(path: Path) -> None:
    theirs = read_with_calamine(path)
    with Spreadsheet(path) as book:
        assert book.names == list(theirs)
        for name, rows in theirs.items():
            width = len(rows[0]) if rows else 0
            ours = [[*("" if cell is None else cell for cell in row)] for row in book.iterate_rows(name)]
            assert [row + [""] * (width - len(row)) for row in ours] == rows


def test_the_scenario_reads_as_calamine_reads_it() -> None:
    require_same_as_calamine(SCENARIO)


@pytest.mark.skipif(not ONET.is_dir(), reason=NO_REFERENCE)
@pytest.mark.parametrize(
    "name", ["Content Model Reference", "Job Zone Reference", "Job Zones", "Level Scale Anchors", "Occupation Data"]
)
def test_official_workbooks_read_as_calamine_reads_them(name: str) -> None:
    """Source: O*NET 29.2 Database, Excel files, U.S. Department of Labor (CC BY 4.0), written by Excel."""
    require_same_as_calamine(ONET / f"{name}.xlsx")


def test_what_openpyxl_writes_reads_as_it_was_written(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    rows: list[list[Any]] = [
        ["text", 1, 2.5, True, datetime(2026, 11, 24), datetime(2026, 11, 24, 8, 30), None, "last"],
        [],
        [None, "  blanks  ", "مرحبا 😀", "a\nb", "<&>", "_x0041_"],
    ]
    for row in rows:
        sheet.append(row)
    sheet["A5"] = datetime(1900, 1, 1)
    book.save(tmp_path / "a.xlsx")
    found = read(tmp_path / "a.xlsx")
    assert found[0] == rows[0]
    assert found[2][:5] == rows[2][:5]
    assert found[4] == [datetime(1900, 1, 1)]


def test_dates_of_both_systems_are_days(tmp_path: Path) -> None:
    """ECMA-376 Part 1, 18.17.4.1: serial 1 is 1 January 1900, or serial 0 is 1 January 1904."""
    with xlsxwriter.Workbook(str(tmp_path / "a.xlsx"), {"date_1904": True}) as book:
        book.add_worksheet("s").write_datetime(0, 0, datetime(2026, 11, 24), book.add_format({"num_format": 14}))
    assert read(tmp_path / "a.xlsx") == [[datetime(2026, 11, 24)]]
    assert convert_serial(0, is_1904=True) == datetime(1904, 1, 1)
    assert convert_serial(59) == datetime(1900, 2, 28)
    assert convert_serial(61) == datetime(1900, 3, 1)
    assert isinstance(convert_serial(1e12), FaultyCell)
    assert isinstance(convert_serial(float("nan")), FaultyCell)


@pytest.mark.parametrize(
    ("code", "is_date"),
    [
        ("yyyy-mm-dd", True),
        ("[$-409]d-mmm-yy;@", True),
        ("[h]:mm", True),
        ("General", False),
        ("0.00E+00", False),
        ("[Red]0.00", False),
        ('0 "days"', False),
        (r"0\d", False),
        ("@", False),
    ],
)
def test_a_custom_format_shows_dates_by_its_letters(code: str, is_date: bool) -> None:
    """ECMA-376 Part 1, 18.8.31."""
    assert is_date_format("164", code) is is_date


def test_runs_of_a_text_are_joined_and_phonetic_readings_left_out(tmp_path: Path) -> None:
    path = write_sheet(tmp_path / "a.xlsx", [["x", "y"]])
    rich = "<r><t>a</t></r><r><rPr><b/></rPr><t xml:space='preserve'> b</t></r><rPh sb='0' eb='1'><t>no</t></rPh>"
    row = '<row r="1"><c r="A1" t="s"><v>0</v></c><c t="inlineStr"><is><r><t>c</t></r><t>d</t></is></c></row>'
    texts = build_texts("").replace(b"<si><t></t></si>", f"<si>{rich}</si>".encode())
    replace_parts(path, {TEXTS: texts, SHEET: build_sheet(row)})
    assert read(path) == [["a b", "cd"]]


def test_rows_and_cells_without_an_address_follow_each_other(tmp_path: Path) -> None:
    path = write_sheet(tmp_path / "a.xlsx", [["x"]])
    rows = (
        '<row><c><v>1</v></c><c/><c><v>3</v></c></row><row r="4"><c r="B4"><v>4</v></c></row><row><c><v>5</v></c></row>'
    )
    replace_parts(path, {SHEET: build_sheet(rows)})
    assert read(path) == [[1.0, None, 3.0], [], [], [None, 4.0], [5.0]]


def test_a_formula_counts_as_its_value_an_error_or_none_as_a_fault(tmp_path: Path) -> None:
    path = write_sheet(tmp_path / "a.xlsx", [["x"]])
    cells = (
        '<c r="A1"><f>1+1</f><v>2</v></c><c r="B1" t="str"><f>"a"</f><v>a</v></c><c r="C1" t="e"><f>B9</f>'
        '<v>#REF!</v></c><c r="D1"><f>B9</f></c><c r="E1" t="str"><f>B9</f></c><c r="F1" t="b"><v>1</v></c>'
        '<c r="G1" t="d"><v>2026-11-24</v></c><c r="H1" t="s"><v>99</v></c><c r="I1"><v>x</v></c>'
    )
    replace_parts(path, {SHEET: build_sheet(f'<row r="1">{cells}</row>')})
    (row,) = read(path)
    assert row[:2] == [2.0, "a"]
    assert [type(cell) for cell in row[2:4]] == [FaultyCell, FaultyCell]
    assert row[4:7] == [None, True, datetime(2026, 11, 24)]
    assert [type(cell) for cell in row[7:]] == [FaultyCell, FaultyCell]


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ('<row r="2"/><row r="1"/>', "comes after row 2"),
        ('<row r="x"/>', "comes after row 0"),
        ('<row r="1"><c r="B1"><v>1</v></c><c r="A1"><v>1</v></c></row>', "left to right"),
        ("<row>", "bad XML"),
    ],
)
def test_a_sheet_that_contradicts_itself_is_damaged(rows: str, words: str, tmp_path: Path) -> None:
    path = replace_parts(write_sheet(tmp_path / "a.xlsx", [["x"]]), {SHEET: build_sheet(rows)})
    with pytest.raises(FileFormatError, match=words):
        read(path)


def test_an_encoding_that_does_not_exist_is_bad_xml(tmp_path: Path) -> None:
    sheet = build_sheet("").replace(b'"1.0"', b'"1.0" encoding="KTF-8"')
    path = replace_parts(write_sheet(tmp_path / "a.xlsx", [["x"]]), {SHEET: sheet})
    with pytest.raises(FileFormatError, match=r"bad XML .*KTF-8"):
        read(path)


def test_a_sheet_that_is_left_half_read_lets_go_of_its_file(tmp_path: Path) -> None:
    path = write_sheet(tmp_path / "a.xlsx", [[n] for n in range(9_000)])
    with Spreadsheet(path) as book:
        rows = book.iterate_rows("teams")
        assert next(rows) == [0.0]
    with pytest.raises(FileFormatError, match="closed"):
        list(rows)
