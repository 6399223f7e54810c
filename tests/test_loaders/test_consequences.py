"""What only follows from another finding is kept under it: with a misspelled column, as with a row that is left out."""

from __future__ import annotations

import csv
import shutil
from pathlib import Path

import pytest

from loaders.pipeline import LoadCheck, check_paths, load_paths
from loaders.report import LoadReport
from ontology.live.live_graph import LiveGraph

SCENARIO = Path(__file__).resolve().parents[2] / "data" / "water_utility"


@pytest.fixture
def tables(tmp_path: Path) -> Path:
    return shutil.copytree(SCENARIO, tmp_path / "tables")


def rename(path: Path, column: str, name: str) -> None:
    with path.open(newline="") as handle:
        header, *rows = csv.reader(handle)
    with path.open("w", newline="") as handle:
        csv.writer(handle).writerows([[name if cell == column else cell for cell in header], *rows])


def check(tables: Path) -> LoadCheck:
    return check_paths(LiveGraph.in_memory(), [tables])


def list_told(report: LoadReport) -> list[tuple[str, str, int]]:
    return [(f.severity, f.source, f.row) for f in report.findings]


#: (table, column, how many findings came with the one of the header when each of them was told by itself)
FLOODS = (
    ("people", "team", 44),
    ("competencies", "validity_months", 28),
    ("competencies", "appointment", 3),
    ("requirements", "entry_level", 110),
    ("entry_conditions", "level", 81),
    ("teams", "site", 1),
    ("shifts", "team", 14),
    ("assessments", "source", 3),
    ("obligations", "rule", 12),
    ("obligations", "of", 12),
    ("orientation_items", "of", 6),
    ("bookings", "state", 1),
)


@pytest.mark.parametrize(("table", "column", "before"), FLOODS)
def test_a_misspelled_column_is_told_in_the_header_and_nowhere_else(
    table: str, column: str, before: int, tables: Path
) -> None:
    rename(tables / f"{table}.csv", column, f"{column}_x")
    whole = check(tables).whole
    assert set(list_told(whole)) == {("error", f"{table}.csv", 1)}
    followers = [entry.finding for entry in whole.consequences if entry.cause == (f"{table}.csv", 1)]
    # what stood beside it before stands under it now: nothing is lost
    assert len(followers) >= before
    assert all(finding.row > 1 for finding in followers)


def test_rows_that_are_alike_only_in_a_misspelled_part_of_their_key_are_no_duplicates(tables: Path) -> None:
    rename(tables / "cover_needs.csv", "applies", "applys")
    whole = check(tables).whole
    assert {(f.row, f.column) for f in whole.findings} == {(1, "applys")}
    assert any("duplicate" in entry.finding.reason for entry in whole.consequences)


def test_a_cell_that_is_wrong_by_itself_is_told_beside_the_misspelled_column(tables: Path) -> None:
    path = tables / "people.csv"
    rename(path, "shift", "shft")
    path.write_text(path.read_text().replace(",networks,", ",nowhere,", 1))
    assert [f.column for f in check(tables).whole.findings] == ["shft", "team"]


def test_a_column_too_many_hides_no_rule_where_none_is_missing(tables: Path) -> None:
    path = tables / "cover_needs.csv"
    header, *rows = path.read_text().splitlines()
    place = header.split(",").index("target")
    cells = next(row.split(",") for row in rows if row.split(",")[place])
    wrong = ",".join("0" if position == place else cell for position, cell in enumerate(cells))
    lines = [f"{header},colour", *(f"{wrong if row == ','.join(cells) else row},red" for row in rows)]
    path.write_text("\n".join(lines) + "\n")
    assert [f.column for f in check(tables).whole.findings] == ["colour", "target"]


def test_what_rests_on_a_faulty_row_stands_under_that_row_and_goes_with_it(tables: Path) -> None:
    path = tables / "people.csv"
    lines = path.read_text().splitlines()
    person = lines[3].split(",")[0]
    lines[3] += ",more"
    path.write_text("\n".join(lines) + "\n")
    found = check(tables)
    assert list_told(found.whole) == [("error", "people.csv", 4)]
    assert found.rest is not None
    assert {entry.cause for entry in found.rest.consequences} == {("people.csv", 4)}
    assert found.rest.n_skipped > 1
    kept = {key[0] for key in found.rest.changes["assessments"].new}
    assert person not in kept


def test_a_table_that_is_refused_whole_takes_along_what_names_its_rows(tables: Path) -> None:
    rename(tables / "people.csv", "name", "nom")
    found = check(tables)
    assert {row for _, _, row in list_told(found.whole)} == {1}
    # pages.md measured 1,045 errors here, each told by itself
    assert len(found.whole.consequences) > 1000
    assert {entry.cause for entry in found.whole.consequences} == {("people.csv", 1)}
    assert found.rest is not None
    assert "people" not in found.rest.counts
    assert found.rest.counts["roles"] == 24


def test_a_trial_tells_what_is_new_what_changes_and_what_stays(tables: Path, tmp_path: Path) -> None:
    graph = LiveGraph.in_memory()
    first = check_paths(graph, [tables])
    assert (first.whole.is_refused, first.rest, first.whole.is_stored) == (False, None, False)
    assert all(not change.changed and not change.n_same for change in first.whole.changes.values())
    assert graph.get_snapshot().revision == 0

    load_paths(graph, [tables])
    path = tmp_path / "roles.csv"
    shutil.copy(tables / "roles.csv", path)
    header, role, other, *_ = path.read_text().splitlines()
    renamed = role.replace(role.split(",")[1], "Another name", 1)
    new = renamed.replace(renamed.split(",")[0], "quite-new", 1)
    path.write_text("\n".join([header, renamed, other, new]) + "\n")
    change = check_paths(graph, [path]).whole.changes["roles"]
    assert (change.new, change.changed) == ((("quite-new",),), ((role.split(",")[0],),))
    assert (change.n_same, change.n_kept) == (1, 22)
