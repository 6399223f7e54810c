"""Sheets of plain rows as a workbook, read back with openpyxl."""

from __future__ import annotations

import datetime as dt
import io
from pathlib import Path

import openpyxl
import pytest

from loaders.tables.sheets_of_rows import Sheet, build_book, export_book
from ontology.errors import FileFormatError

DAY = dt.date(2026, 12, 1)


def read(content: bytes) -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(content))


def test_cells_keep_their_kind() -> None:
    sheet = read(build_book([Sheet("S", ("text", "day", "number", "nothing"), [("a\nb", DAY, 2.5, None)])]))["S"]
    assert [cell.value for cell in sheet[1]] == ["text", "day", "number", "nothing"]
    text, day, number, nothing = sheet[2]
    assert (text.value, number.value, nothing.value) == ("a\nb", 2.5, None)
    assert day.value == dt.datetime(2026, 12, 1)
    assert day.number_format == "yyyy-mm-dd"


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "https://x.example", "12", "{=1}"])
def test_no_text_becomes_a_formula_a_link_or_a_number(text: str) -> None:
    cell = read(build_book([Sheet("S", ("a",), [(text,)])]))["S"]["A2"]
    assert (cell.value, cell.data_type, cell.hyperlink) == (text, "s", None)


def test_a_day_before_spreadsheets_count_is_text() -> None:
    assert read(build_book([Sheet("S", ("a",), [(dt.date(1899, 12, 31),)])]))["S"]["A2"].value == "1899-12-31"


def test_the_head_stays_and_is_printed_on_every_page() -> None:
    sheet = read(build_book([Sheet("S", ("a",), [])]))["S"]
    assert sheet.freeze_panes == "A2"
    assert sheet.print_title_rows == "$1:$1"
    assert (sheet.page_setup.paperSize, sheet.page_setup.orientation) == ("9", "landscape") or (
        int(sheet.page_setup.paperSize),
        sheet.page_setup.orientation,
    ) == (9, "landscape")


def test_a_text_that_no_cell_holds_is_refused() -> None:
    with pytest.raises(FileFormatError, match="more than a cell holds"):
        build_book([Sheet("S", ("a",), [("x" * 40_000,)])])


def test_the_same_rows_give_the_same_file(tmp_path: Path) -> None:
    sheets = [Sheet("S", ("a",), [("x",), (DAY,)])]
    assert build_book(sheets) == build_book(sheets) == export_book(sheets, tmp_path / "b.xlsx").read_bytes()
