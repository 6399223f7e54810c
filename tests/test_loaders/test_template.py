"""The template: filled in it loads as it stands, empty it loads as nothing, and it says what each column is."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from working_companies import build_working_company

from api.terminal.program import program
from loaders.tables.spreadsheet import Spreadsheet
from loaders.tables.template import export_template
from loaders.tables.workbook import load_workbook
from ontology.errors import ConflictError, InputError
from ontology.model.tables import REFUSED_COLUMNS, TABLES
from ontology.snapshot.snapshot import Snapshot


@pytest.fixture
def template(tmp_path: Path) -> Path:
    return export_template(tmp_path / "template.xlsx")


def fill_in(path: Path, snapshot: Snapshot) -> None:
    """Type records into the template as people do: dates as dates, numbers as numbers, yes and no as words."""
    book = openpyxl.load_workbook(path)
    for table in TABLES.values():
        for row, record in enumerate(snapshot.get_table(table.name).values(), start=2):
            for place, column in enumerate(table.columns, start=1):
                value: Any = getattr(record, column.attribute)
                if value is None or value in ((), ""):
                    continue
                if isinstance(value, tuple):
                    value = "|".join(value)
                elif isinstance(value, bool):
                    value = "yes" if value else "no"
                cell = book[table.name].cell(row, place, value)
                if isinstance(value, str):
                    cell.data_type = "s"
    book.save(path)


def test_an_empty_template_loads_as_nothing(template: Path) -> None:
    loaded = load_workbook(template)
    assert loaded.findings == []
    assert loaded.count() == {}


@pytest.mark.parametrize("seed", range(3))
def test_a_filled_in_template_loads_as_what_was_typed(seed: int, template: Path) -> None:
    snapshot = Snapshot(build_working_company(seed, size=8))
    fill_in(template, snapshot)
    loaded = load_workbook(template)
    assert loaded.findings == []
    assert Snapshot(loaded.records) == snapshot


def test_every_table_has_a_sheet_with_its_columns_in_order_and_a_frozen_header(template: Path) -> None:
    book = openpyxl.load_workbook(template)
    assert book.sheetnames == ["explanation", *TABLES]
    for table in TABLES.values():
        sheet = book[table.name]
        assert sheet.freeze_panes == "A2"
        header = [cell.value for cell in sheet[1]]
        assert header == [f"{c.name} (required)" if c.is_required else c.name for c in table.columns]
        for cell, column in zip(sheet[1], table.columns, strict=True):
            assert cell.comment is not None
            assert column.about in cell.comment.text
            assert ("Required." in cell.comment.text) is column.is_required


def get_rules(book: Any, table: str) -> dict[str, Any]:
    """Return column name -> the rule on its cells."""
    rules = {}
    for rule in book[table].data_validations.dataValidation:
        (area,) = rule.sqref.ranges
        assert (area.min_row, area.max_row) == (2, 1_048_576)
        rules[TABLES[table].columns[area.min_col - 1].name] = rule
    return rules


def test_fixed_values_have_drop_downs_and_numbers_and_dates_are_checked(template: Path) -> None:
    book = openpyxl.load_workbook(template)
    for table in TABLES.values():
        rules = get_rules(book, table.name)
        for column in table.columns:
            rule = rules.get(column.name)
            if column.kind in ("text", "texts", "iri", "iris", "id", "refs"):
                assert rule is None
                continue
            if column.kind == "ref" and column.refers_to == table.name:
                assert rule is None
                continue
            assert rule is not None, (table.name, column.name)
            if column.kind == "choice":
                assert rule.formula1 == f'"{",".join(column.choices)}"'
            elif column.kind == "flag":
                assert rule.formula1 == '"yes,no"'
            elif column.kind == "ref":
                assert rule.formula1.startswith(f"{column.refers_to}!$A$2:")
                assert not rule.showErrorMessage
            elif column.kind == "date":
                assert (rule.type, rule.operator or "between") == ("date", "between")
            else:
                assert rule.type == {"integer": "whole", "number": "decimal"}[column.kind]
                if column.minimum is not None:
                    assert float(rule.formula1) == column.minimum
                if column.maximum is not None:
                    assert float(rule.formula2) == column.maximum


def test_ids_stay_text_and_dates_are_shown_as_iso(template: Path) -> None:
    book = openpyxl.load_workbook(template)
    columns = book["absences"].column_dimensions
    assert [column.name for column in TABLES["absences"].columns] == ["person", "from", "to"]
    assert [columns[letter].number_format for letter in "ABC"] == ["@", "yyyy-mm-dd", "yyyy-mm-dd"]


AN_ID = "letters, digits, point, hyphen, underscore; no blanks; begins with a letter or digit"
#: Columns of every kind: what a column must have, its default, what it means, what may stand in it.
EXPLAINED = {
    ("scales", "scale"): ("required", "", "The scale this level belongs to.", "the name of a scale, like an id"),
    ("competencies", "id"): ("required", "", "Short text without spaces, unique in its table.", AN_ID),
    ("competencies", "broader"): (
        "",
        "none",
        "Wider competencies it belongs to.",
        "ids of competencies; several are separated by |",
    ),
    ("competencies", "kind"): ("", "skill", "What it is.", "knowledge or skill or behaviour or certificate"),
    ("competencies", "expiry"): (
        "",
        "hard for a certificate, otherwise review",
        "After its validity: hard = no level any more; review = the level stays, marked review due.",
        "hard or review",
    ),
    ("competencies", "alt_labels"): (
        "",
        "none",
        "Other names.",
        "text; several are separated by | (a bar inside a text: \\|)",
    ),
    ("competencies", "exact_match"): (
        "",
        "none",
        "The same concept elsewhere (IRIs).",
        "addresses (IRIs); several are separated by |",
    ),
    ("requirements", "role"): ("required", "", "The role that asks.", "an id of roles"),
    ("requirements", "entry_level"): (
        "",
        "the full level",
        "The level needed on the first day; 0 = none.",
        "a whole number, at least 0",
    ),
    ("requirements", "weight"): (
        "",
        "3",
        "Importance, 1 to 5.",
        "a number, decimals with a point, at least 1, at most 5",
    ),
    ("courses", "hours"): (
        "required",
        "",
        "Hours of the learner.",
        "a number, decimals with a point, at least 0",
    ),
    ("outcomes", "renews"): ("", "no", "Whether it only renews what is held or was lost lately.", "yes or no"),
    ("absences", "from"): ("required", "", "First day away.", "a date as 2026-11-24"),
    ("cover_needs", "target"): (
        "",
        "the minimum, but at least 2",
        "People qualified.",
        "a whole number, at least 1",
    ),
    ("any", "birthday"): ("", "", "age plays no part in what a person can do", "none"),
}


def test_the_explanation_tells_every_column_what_it_means_its_default_and_what_may_stand_in_it(template: Path) -> None:
    with Spreadsheet(template) as book:
        rows = [list(row) for row in book.iterate_rows("explanation")]
    start = next(n for n, row in enumerate(rows) if row[:2] == ["table", "column"])
    assert rows[start] == ["table", "column", "required", "default", "meaning", "allowed values"]
    told = {(row[0], row[1]): tuple(row[2:]) for row in rows[start + 1 :] if len(row) > 4 and row[1]}
    assert {key: told[key] for key in EXPLAINED} == EXPLAINED
    columns = [(table.name, column.name) for table in TABLES.values() for column in table.columns]
    assert set(told) == {*columns, *(("any", name) for name in REFUSED_COLUMNS)}
    for key in columns:
        required, default, meaning, allowed = told[key]
        # a column must be filled in, or says what an empty cell means
        assert (required, bool(default)) in (("required", False), ("", True)), key
        assert meaning.endswith((".", ")")), key
        assert allowed, key
    tables = {row[0]: row[4] for row in rows[start + 1 :] if len(row) > 4 and row[0] and row[4] and not row[1]}
    assert tables["absences"] == "Who is away from when to when. Dates only, never a reason."
    assert list(tables) == list(TABLES)


def test_an_empty_cell_means_what_the_explanation_says() -> None:
    competency, licence = (
        TABLES["competencies"].build(id="a", label="A", scale="s", **more) for more in ({}, {"kind": "certificate"})
    )
    assert (competency.kind, competency.expiry, licence.expiry) == ("skill", "review", "hard")
    requirement = TABLES["requirements"].build(role="r", competency="a", level=4)
    assert (requirement.entry_level, requirement.unsupervised_level, requirement.weight) == (4, 4, 3)
    assert requirement.necessity == "essential"
    assert TABLES["outcomes"].build(course="k", competency="a", level=1).renews is False
    needs = [TABLES["cover_needs"].build(team="t", competency="a", level=1, minimum=minimum) for minimum in (1, 5)]
    assert [need.target for need in needs] == [2, 5]
    assert TABLES["roles"].build(id="r", label="R").months_to_full == 12


def test_a_header_tells_the_same_in_its_comment(template: Path) -> None:
    book = openpyxl.load_workbook(template)
    assert book["assessments"]["A1"].comment.text == "Whose level.\nRequired.\nAllowed: an id of people."
    assert book["requirements"]["F1"].value == "weight"
    assert book["requirements"]["F1"].comment.text == (
        "Importance, 1 to 5.\nLeft empty: 3.\nAllowed: a number, decimals with a point, at least 1, at most 5."
    )


def test_a_wrong_cell_typed_into_the_template_is_addressed(template: Path) -> None:
    book = openpyxl.load_workbook(template)
    book["absences"].append(["p", datetime(2026, 11, 24, 8), date(2026, 11, 25)])
    book.save(template)
    (finding,) = load_workbook(template).findings
    assert (finding.source, finding.row, finding.column) == ("template.xlsx, sheet absences", 2, "from")


def test_a_template_never_takes_the_place_of_another_file(template: Path, tmp_path: Path) -> None:
    with pytest.raises(ConflictError, match="there already"):
        export_template(template)
    with pytest.raises(InputError, match=r"\.xlsx"):
        export_template(tmp_path / "template.csv")


def test_the_program_writes_a_template_and_loads_it(tmp_path: Path) -> None:
    run = CliRunner().invoke
    path = str(tmp_path / "new" / "t.xlsx")
    assert "fill it in" in run(program, ["template", path]).stdout
    assert run(program, ["template", path]).exit_code == 1
    assert run(program, ["template", str(tmp_path / "t.ods")]).exit_code == 2
    loaded = run(program, ["load", path, "--store", str(tmp_path / "store")])
    assert (loaded.exit_code, loaded.stdout.startswith("Stored nothing.")) == (0, True)
