"""One fault, one finding: what follows from a refused column or an unreadable table is folded, the rest is told."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from loaders.pipeline import load_paths
from loaders.report import LoadReport
from ontology.errors import Finding, FindingsError
from ontology.live.live_graph import LiveGraph

SCENARIO = Path(__file__).resolve().parents[2] / "data" / "water_utility"


@pytest.fixture
def tables(tmp_path: Path) -> Path:
    return shutil.copytree(SCENARIO, tmp_path / "tables")


def edit(path: Path, *, column: str = "", old: str = "", new: str = "") -> None:
    """Give every row another column (the cell says "secret"), and change a text of the first row that has it."""
    header, *rows = path.read_text().splitlines()
    if column:
        header, rows = f"{header},{column}", [f"{row},secret" for row in rows]
    path.write_text("\n".join([header, *rows]).replace(old, new, 1) + "\n")


def load(tables: Path, **options: bool) -> LoadReport:
    return load_paths(LiveGraph.in_memory(), [tables], **options)


def find_errors(tables: Path) -> list[Finding]:
    with pytest.raises(FindingsError) as caught:
        load(tables)
    return [finding for finding in caught.value.findings if finding.severity == "error"]


def test_a_refused_column_refuses_itself_and_the_other_faults_of_the_sheet_are_told(tables: Path) -> None:
    edit(tables / "people.csv", column="birth_date", old=",networks,", new=",nowhere,")
    assert [(f.column, f.value) for f in find_errors(tables)] == [("birth_date", ""), ("team", "nowhere")]
    assert all("secret" not in finding.format() for finding in find_errors(tables))


def test_the_sound_rest_is_stored_without_the_refused_column(tables: Path) -> None:
    edit(tables / "people.csv", column="birth_date")
    report = load(tables, skip_faulty=True)
    assert (report.counts["people"], report.n_skipped) == (72, 0)
    assert [f.column for f in report.findings if f.severity == "error"] == ["birth_date"]


def test_an_unknown_column_is_one_error_and_its_table_is_not_trusted(tables: Path) -> None:
    edit(tables / "people.csv", column="shft", old=",networks,", new=",nowhere,")
    assert [f.column for f in find_errors(tables)] == ["shft", "team"]
    report = load(tables, skip_faulty=True)
    assert "people" not in report.counts
    assert {f.column for f in report.findings if f.severity == "error"} == {"shft"}


@pytest.mark.parametrize("name", ["people", "shifts", "competencies", "scales", "requirements", "outcomes", "teams"])
@pytest.mark.parametrize("fault", ["header", "encoding"])
def test_a_table_that_cannot_be_read_is_one_error(tables: Path, name: str, fault: str) -> None:
    path = tables / f"{name}.csv"
    if fault == "header":
        path.write_text(path.read_text().split("\n", 1)[1])
    else:
        path.write_bytes(path.read_bytes() + b"\xff\n")
    errors = find_errors(tables)
    assert {finding.source for finding in errors} == {path.name}
    with pytest.raises(FindingsError) as caught:
        load(tables)
    remarks = [finding for finding in caught.value.findings if finding.severity == "remark"]
    assert not any("has no requirements" in f.reason or "has no outcomes" in f.reason for f in remarks)


def test_a_row_with_too_many_cells_is_one_error(tables: Path) -> None:
    path = tables / "people.csv"
    header, first, *rows = path.read_text().splitlines()
    path.write_text("\n".join([header, first + ",more", *rows]) + "\n")
    (error,) = find_errors(tables)
    assert (error.source, error.row, error.value) == ("people.csv", 2, "more")


def test_a_refused_property_of_linked_data_is_told_once_and_without_what_it_says(tmp_path: Path) -> None:
    path = tmp_path / "people.ttl"
    people = "".join(f'<urn:p{n}> a s:Person ; s:name "N" ; s:birthDate "1980-01-0{n}" .\n' for n in (1, 2, 3))
    path.write_text("@prefix s: <https://schema.org/> .\n" + people)
    refused = [finding for finding in find_errors(path) if "refused" in finding.reason]
    assert len(refused) == 1
    assert "1980" not in refused[0].format()


FRAMEWORK = "scale,rank,label\ns,1,One\n", "id,label,scale\nc,C,s\n"


@pytest.mark.parametrize(
    ("rule", "of", "folded"), [("role", "r", True), ("team", "r", False), ("role", "x", False), ("everyone", "", False)]
)
def test_what_a_rule_names_is_lost_with_its_row_and_told_where_it_never_was(
    rule: str, of: str, folded: bool, tmp_path: Path
) -> None:
    (tmp_path / "scales.csv").write_text(FRAMEWORK[0])
    (tmp_path / "competencies.csv").write_text(FRAMEWORK[1])
    (tmp_path / "roles.csv").write_text("id,label,months_to_full\nr,R,many\n")
    (tmp_path / "obligations.csv").write_text(f"id,label,competency,rule,of\no,O,c,{rule},{of}\n")
    errors = [(f.source, f.column) for f in find_errors(tmp_path)]
    lost = [] if folded or rule == "everyone" else [("obligations.csv", "of")]
    assert errors == [*lost, ("roles.csv", "months_to_full")]
    # the sound rest: the obligation goes where what it names is missing, whether that is told or not
    assert load(tmp_path, skip_faulty=True).counts.get("obligations", 0) == (rule == "everyone")
