"""Whatever is wrong with a file: one clear error with its address, exit status 1, and a store that is as it was."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from wrong_files import FILE_CASES, LINKED_CASES, TABLE_CASES, Case

from api.terminal.program import program
from loaders import limits
from loaders.report import count_kinds
from ontology.errors import Finding
from ontology.live.live_graph import LiveGraph
from ontology.rdf.namespaces import DATA_GRAPHS, Quad

BASE = {
    "scales": "scale,rank,label\ns,1,One\ns,2,Two\n",
    "competencies": "id,label,scale\nc,C,s\nz,Z,s\n",
    "roles": "id,label\nr,R\n",
    "requirements": "role,competency,level\nr,c,2\n",
    "people": "id,name\np,Person One\n",
}


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wrong-input")
    (folder / "base").mkdir()
    for name, content in BASE.items():
        (folder / "base" / f"{name}.csv").write_text(content, encoding="utf-8")
    assert run(folder / "base", store=folder / "store").exit_code == 0
    return folder / "store"


def run(path: Path, *words: str, store: Path) -> Result:
    return CliRunner().invoke(program, ["load", str(path), *words, "--store", str(store)], prog_name="newel")


def read_state(store: Path) -> tuple[int, set[Quad]]:
    graph = LiveGraph.open(store)
    try:
        return graph.store.revision, {quad for name in DATA_GRAPHS for quad in graph.store.read_graph(name)}
    finally:
        graph.close()


def require_refused(case: Case, folder: Path, store: Path) -> Result:
    before = read_state(store)
    result = run(case.make(folder), store=store)
    assert result.exit_code == case.code, result.output
    assert result.exception is None or isinstance(result.exception, SystemExit)
    assert "Traceback" not in result.output
    assert not any(ord(character) < 32 and character != "\n" for character in result.output)
    assert read_state(store) == before
    return result


@pytest.mark.parametrize("case", TABLE_CASES + LINKED_CASES, ids=lambda case: case.name)
def test_a_fault_inside_a_file_is_one_error_with_its_address(case: Case, tmp_path: Path, store: Path) -> None:
    result = require_refused(case, tmp_path, store)
    errors = [line for line in result.stdout.splitlines() if line.startswith("error: ")]
    assert len(errors) == 1, result.stdout
    assert errors[0].startswith(f"error: {case.address}")
    assert case.words in errors[0]
    assert result.stderr == "newel: 1 error found; nothing was stored.\n"


@pytest.mark.parametrize("case", FILE_CASES, ids=lambda case: case.name)
def test_a_file_that_cannot_be_read_at_all_is_one_sentence(case: Case, tmp_path: Path, store: Path) -> None:
    result = require_refused(case, tmp_path, store)
    assert result.stdout == ""
    assert case.words in result.stderr
    assert result.stderr.startswith("newel: ")
    assert result.stderr.count("\n") == 1


@pytest.mark.parametrize("kind", ["workbook", "csv", "linked-data", "onet", "esco"])
def test_a_folder_or_file_given_as_another_kind_is_refused(kind: str, tmp_path: Path, store: Path) -> None:
    (tmp_path / "a.txt").write_text("x")
    for path in (tmp_path, tmp_path / "a.txt"):
        result = run(path, "--as", kind, store=store)
        assert result.exit_code == 1, result.output
        assert result.exception is None or isinstance(result.exception, SystemExit)


@pytest.mark.skipif(os.geteuid() == 0, reason="whoever runs this may read every file")
@pytest.mark.parametrize("name", ["teams.csv", "a.xlsx", "a.ttl"])
def test_a_file_that_may_not_be_read_is_one_sentence(name: str, tmp_path: Path, store: Path) -> None:
    (tmp_path / name).write_text("x")
    (tmp_path / name).chmod(0)
    result = run(tmp_path / name, store=store)
    assert (result.exit_code, "Permission denied" in result.stderr) == (1, True)


def test_a_file_that_is_too_large_is_one_sentence(tmp_path: Path, store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "MAX_FILE_BYTES", 5)
    case = Case("", lambda folder: folder / "teams.csv", "", "teams.csv has 13 bytes; a file may have at most 5.")
    (tmp_path / "teams.csv").write_text("id,label\nt,T\n")
    assert case.words in require_refused(case, tmp_path, store).stderr


def test_a_header_alone_is_an_empty_table(tmp_path: Path, store: Path) -> None:
    before = read_state(store)
    (tmp_path / "teams.csv").write_text("id,label\n")
    result = run(tmp_path / "teams.csv", store=store)
    assert (result.exit_code, result.stdout.startswith("Stored nothing.")) == (0, True)
    assert read_state(store) == before


def test_ten_thousand_faults_are_all_printed_and_counted_by_kind(tmp_path: Path, store: Path) -> None:
    rows = ["person,competency,level,date"]
    rows += [f"p,c,{1 + n % 3},{'2026-01-01' if n % 2 else 'soon'}" for n in range(10_000)]
    (tmp_path / "assessments.csv").write_text("\n".join(rows))
    started = time.monotonic()
    result = run(tmp_path / "assessments.csv", store=store)
    assert time.monotonic() - started < 60
    lines = result.stdout.splitlines()
    errors = [line for line in lines if line.startswith("error: ")]
    assert "do not say who assessed" in lines[0]
    assert len(errors) >= 9_998
    assert f"{len(errors):,} findings, by kind:" in lines
    counted = dict(line.strip().split(" × ") for line in lines if " × " in line)
    assert counted.pop("5,000", "") == "error: assessments.csv, date: not a valid date; write it as …"
    assert result.stderr == f"newel: {len(errors):,} errors found; nothing was stored.\n"
    assert read_state(store)[0] == 1


def test_kinds_of_fault_leave_out_names_ids_and_numbers() -> None:
    findings = [
        Finding("error", "a.csv", 2, "role", "x", "requirement x~c names 'x', but roles has no row", ("r", "x~c")),
        Finding("error", "a.csv", 9, "role", "y", "requirement y~c names 'y', but roles has no row", ("r", "y~c")),
        Finding("remark", "a.csv", 3, "", "", "level 7 is above level 3"),
    ]
    assert count_kinds(findings) == [
        ("error: a.csv, role: requirement … names …, but roles has no row", 2),
        ("remark: a.csv: level … is above level …", 1),
    ]
