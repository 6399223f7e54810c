"""The reader of workbooks: what two independent programs write is read as written, and what its guard must tell."""

from __future__ import annotations

from contextlib import closing
from datetime import date, datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import xlsxwriter
from small_company import NO_REFERENCE, REFERENCE
from workbook_parts import SHEET, TEXTS, build_sheet, build_texts, replace_parts, write_sheet

from loaders import limits
from loaders.tables.cells import FaultyCell, format_cell
from loaders.tables.spreadsheet import Spreadsheet
from ontology.errors import FileFormatError, LimitError

SCENARIO = Path(__file__).resolve().parents[2] / "data" / "water_utility.xlsx"
ONET = REFERENCE / "onet"


def read(path: Path, name: str | None = None) -> list[list[Any]]:
    with Spreadsheet(path) as book:
        return [list(row) for row in book.iterate_rows(name or book.names[0])]


def read_with_openpyxl(path: Path, name: str) -> list[list[str]]:
    with closing(openpyxl.load_workbook(path, read_only=True)) as book:
        return [[format_cell(cell) for cell in row] for row in book[name].iter_rows(values_only=True)]


@pytest.mark.parametrize("name", ["people", "assessments", "courses", "requirements"])
def test_the_scenario_reads_as_an_independent_reader_reads_it(name: str) -> None:
    ours = [[format_cell(cell) for cell in row] for row in read(SCENARIO, name)]
    theirs = read_with_openpyxl(SCENARIO, name)
    width = max(map(len, theirs))
    assert [row + [""] * (width - len(row)) for row in ours] == [row + [""] * (width - len(row)) for row in theirs]


@pytest.mark.skipif(not ONET.is_dir(), reason=NO_REFERENCE)
@pytest.mark.parametrize(("name", "n_rows"), [("Job Zones", 923), ("Content Model Reference", 627)])
def test_official_workbooks_have_the_rows_their_publisher_says(name: str, n_rows: int) -> None:
    """Source: O*NET 29.2 Database, Excel files, U.S. Department of Labor (CC BY 4.0), written by Excel."""
    assert len(read(ONET / f"{name}.xlsx")) == n_rows + 1


def test_what_openpyxl_writes_reads_as_it_was_written(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["text", 1, 2.5, True, datetime(2026, 11, 24), datetime(2026, 11, 24, 8, 30), None, "last"])
    sheet.append([])
    sheet.append([None, "  blanks  ", "مرحبا 😀", "a\nb", "<&>"])
    book.save(tmp_path / "a.xlsx")
    found = read(tmp_path / "a.xlsx")
    assert [format_cell(cell) for cell in found[0]] == [
        "text", "1", "2.5", "yes", "2026-11-24", "2026-11-24 08:30:00", "", "last",
    ]  # fmt: skip
    assert [format_cell(cell) for cell in found[2][:5]] == ["", "  blanks  ", "مرحبا 😀", "a\nb", "<&>"]


def test_dates_of_both_systems_are_days(tmp_path: Path) -> None:
    """ECMA-376 Part 1, 18.17.4.1: serial 1 is 1 January 1900, or serial 0 is 1 January 1904."""
    for is_1904 in (False, True):
        path = tmp_path / f"{is_1904}.xlsx"
        with xlsxwriter.Workbook(str(path), {"date_1904": is_1904}) as book:
            book.add_worksheet("s").write_datetime(0, 0, datetime(2026, 11, 24), book.add_format({"num_format": 14}))
        assert read(path) == [[date(2026, 11, 24)]]


def test_runs_of_a_text_are_joined_and_phonetic_readings_left_out(tmp_path: Path) -> None:
    path = write_sheet(tmp_path / "a.xlsx", [["x", "y"]])
    rich = "<r><t>a</t></r><r><rPr><b/></rPr><t xml:space='preserve'> b</t></r><rPh sb='0' eb='1'><t>no</t></rPh>"
    texts = build_texts("").replace(b"<si><t></t></si>", f"<si>{rich}</si>".encode())
    replace_parts(path, {TEXTS: texts, SHEET: build_sheet('<row r="1"><c r="A1" t="s"><v>0</v></c></row>')})
    assert read(path) == [["a b"]]


def test_a_formula_counts_as_its_value_an_error_or_none_as_a_fault(tmp_path: Path) -> None:
    path = write_sheet(tmp_path / "a.xlsx", [["x"]])
    cells = (
        '<c r="A1"><f>1+1</f><v>2</v></c><c r="B1" t="str"><f>"a"</f><v>a</v></c><c r="C1" t="e"><f>B9</f>'
        '<v>#REF!</v></c><c r="D1"><f>B9</f></c><c r="E1" t="b"><v>1</v></c>'
    )
    replace_parts(path, {SHEET: build_sheet(f'<row r="1">{cells}</row>')})
    (row,) = read(path)
    assert row[:2] == [2.0, "a"]
    assert [type(cell) for cell in row[2:4]] == [FaultyCell, FaultyCell]
    assert "#REF!" in row[2].value
    assert "never computed" in row[3].reason
    assert row[4] is True


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ('<row r="2"/><row r="1"/>', "comes after row 2"),
        ('<row r="x"/>', "comes after row 0"),
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
    with pytest.raises(FileFormatError, match=r"KTF-8"):
        read(path)


def test_a_cell_at_the_far_corner_does_not_ask_for_a_grid(tmp_path: Path) -> None:
    cell = '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
    path = replace_parts(write_sheet(tmp_path / "a.xlsx", [["x"]]), {SHEET: build_sheet(cell)})
    with pytest.raises(LimitError, match="beyond column"):
        read(path)


def test_a_long_text_shared_by_many_cells_is_counted_once_for_each(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(limits, "MAX_UNPACKED_BYTES", 100_000)
    path = write_sheet(tmp_path / "a.xlsx", [["x" * 30_000]])
    assert len(read(path)[0][0]) == 30_000
    cells = "".join(f'<c r="{letter}1" t="s"><v>0</v></c>' for letter in "ABCDEF")
    replace_parts(path, {SHEET: build_sheet(f'<row r="1">{cells}</row>')})
    with pytest.raises(LimitError, match="cells hold more than"):
        read(path)
