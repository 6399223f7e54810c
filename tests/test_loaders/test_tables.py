"""CSV folders and workbooks: what goes in, what comes out again, and what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest
import xlsxwriter
from working_companies import build_working_company

from loaders.tables.csv_folder import load_csv_folder
from loaders.tables.table_writers import export_csv, export_workbook
from loaders.tables.workbook import load_workbook
from ontology.errors import FileFormatError
from ontology.snapshot.snapshot import Snapshot

SCENARIO = Path(__file__).resolve().parents[2] / "data" / "water_utility"


@pytest.mark.parametrize("seed", range(5))
def test_csv_export_and_load_give_the_same_records(seed: int, tmp_path: Path) -> None:
    snapshot = Snapshot(build_working_company(seed))
    export_csv(snapshot, tmp_path / "out")
    loaded = load_csv_folder(tmp_path / "out")
    assert loaded.findings == []
    assert Snapshot(loaded.records) == snapshot


@pytest.mark.parametrize("seed", range(5))
def test_workbook_export_and_load_give_the_same_records(seed: int, tmp_path: Path) -> None:
    snapshot = Snapshot(build_working_company(seed))
    export_workbook(snapshot, tmp_path / "out.xlsx")
    loaded = load_workbook(tmp_path / "out.xlsx")
    assert loaded.findings == []
    assert Snapshot(loaded.records) == snapshot


def test_the_scenario_is_the_same_as_workbook_and_as_csv() -> None:
    from_csv = load_csv_folder(SCENARIO)
    from_workbook = load_workbook(SCENARIO.parent / "water_utility.xlsx")
    assert from_csv.findings == []
    assert from_workbook.findings == []
    assert Snapshot(from_csv.records) == Snapshot(from_workbook.records)


def test_the_scenario_is_as_large_as_it_says() -> None:
    counts = load_csv_folder(SCENARIO).count()
    snapshot = Snapshot(load_csv_folder(SCENARIO).records)
    kinds = [c.kind for c in snapshot.competencies.values() if c.broader]
    assert kinds.count("certificate") == 27
    assert len(kinds) - kinds.count("certificate") == 73
    assert len(snapshot.scales) == 3
    assert (counts["people"], counts["teams"], counts["roles"]) == (72, 7, 24)
    assert len({role.family for role in snapshot.roles.values()}) == 6
    assert counts["courses"] >= 80
    assert counts["assessments"] >= 800
    assert {course.strand for course in snapshot.courses.values()} == {"experience", "social", "formal"}


def test_a_file_that_is_not_utf8_is_an_error_with_its_place(tmp_path: Path) -> None:
    (tmp_path / "teams.csv").write_bytes("id,label\nt,Köln\n".encode("latin-1"))
    loaded = load_csv_folder(tmp_path)
    assert [(f.source, f.row) for f in loaded.findings] == [("teams.csv", 2)]
    assert "UTF-8" in loaded.findings[0].reason


def test_a_byte_order_mark_is_passed_over(tmp_path: Path) -> None:
    (tmp_path / "teams.csv").write_text("id,label\nt,T\n", encoding="utf-8-sig")
    assert load_csv_folder(tmp_path).count() == {"teams": 1}


def test_a_broken_quote_is_an_error_of_its_row(tmp_path: Path) -> None:
    (tmp_path / "teams.csv").write_text('id,label\nt,T\nu,"U\n', encoding="utf-8")
    loaded = load_csv_folder(tmp_path)
    assert [f.source for f in loaded.findings] == ["teams.csv"]
    assert loaded.findings[0].severity == "error"


def test_an_unknown_table_names_the_known_ones(tmp_path: Path) -> None:
    (tmp_path / "teams.csv").write_text("id,label\nt,T\n", encoding="utf-8")
    (tmp_path / "wages.csv").write_text("person,amount\n", encoding="utf-8")
    loaded = load_csv_folder(tmp_path)
    assert [f.value for f in loaded.findings] == ["wages"]
    assert "cover_needs" in loaded.findings[0].reason


def test_an_empty_folder_and_an_empty_file_are_errors(tmp_path: Path) -> None:
    with pytest.raises(FileFormatError, match="no CSV table"):
        load_csv_folder(tmp_path)
    (tmp_path / "teams.csv").write_text("", encoding="utf-8")
    assert "header" in load_csv_folder(tmp_path).findings[0].reason


def test_a_damaged_workbook_is_an_error(tmp_path: Path) -> None:
    (tmp_path / "a.xlsx").write_bytes(b"PK\x03\x04 not a workbook")
    with pytest.raises(FileFormatError, match="not a workbook"):
        load_workbook(tmp_path / "a.xlsx")


def test_sheets_are_addressed_by_name_and_explanations_are_passed_over(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(str(tmp_path / "a.xlsx")) as book:
        book.add_worksheet("Explanation").write(0, 0, "anything")
        sheet = book.add_worksheet("Cover needs")
        sheet.write_row(0, 0, ["team", "competency", "level"])
        sheet.write_row(1, 0, ["t", "c", 1.5])
        book.add_worksheet("Wages")
    loaded = load_workbook(tmp_path / "a.xlsx")
    assert [(f.source, f.row, f.column) for f in loaded.findings] == [
        ("a.xlsx, sheet Wages", 0, ""),
        ("a.xlsx, sheet Cover needs", 2, "level"),
    ]


def test_a_cell_that_looks_like_a_formula_stays_text_in_the_workbook(tmp_path: Path) -> None:
    import openpyxl

    from ontology.model.tables import TABLES

    snapshot = Snapshot({"teams": [TABLES["teams"].build(id="t", label='=HYPERLINK("http://x.example")')]})
    export_workbook(snapshot, tmp_path / "a.xlsx")
    cell = openpyxl.load_workbook(tmp_path / "a.xlsx")["teams"]["B2"]
    assert cell.data_type == "s"
