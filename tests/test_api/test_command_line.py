"""The program newel: what it prints, what it stores, and how it ends."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
import urllib.request
from importlib.metadata import version
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from api.questions import find_titles
from api.terminal.commands import find_commands
from api.terminal.program import program
from ontology.model.tables import NODE_TABLES
from ontology.store.folder import SERVED_NOTE

ROOT = Path(__file__).resolve().parents[2]
SCENARIO = ROOT / "data" / "water_utility"
DAY = ["--on", "2026-11-24"]


def run(*words: str, store: Path | None = None, code: int = 0) -> Result:
    """Run the program in this process and require its exit status."""
    environment = {"NEWEL_STORE": str(store)} if store else {}
    result = CliRunner().invoke(program, list(words), env=environment, prog_name="newel")
    assert result.exit_code == code, result.output
    return result


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("command-line") / "store"
    assert "Stored" in run("load", str(SCENARIO), store=folder).stdout
    return folder


def ask(store: Path, *words: str) -> dict[str, Any]:
    """Return the JSON answer of a command."""
    answer: dict[str, Any] = json.loads(run(*words, "--json", store=store).stdout)
    return answer


def test_every_answer_is_printed_as_a_table_and_as_json(store: Path) -> None:
    for words in (
        ["gap", "p063", "laboratory-analyst", *DAY],
        ["learning-path", "p063", "--role", "laboratory-analyst", *DAY],
        ["routes", "p008", "senior-treatment-operator", "--via", "treatment-operator", "--avoid", "sampler", *DAY],
        ["routes", "p008", "senior-treatment-operator", "--study-hours-per-week", "9", *DAY],
        ["reachable-roles", "p008", *DAY],
        ["framework-review", *DAY],
        ["similar", "treatment-operator"],
        ["coverage", "treatment", "--away", "p014,p013", *DAY],
        ["single-points-of-failure", "treatment", *DAY],
        ["staffing", "treatment", *DAY],
        ["cross-training", "laboratory", *DAY],
        ["training-timetable", "laboratory", "--fair", "--by", "2027-12-31", *DAY],
    ):
        printed = run(*words, store=store).stdout
        assert "Note:" in printed, words
        answer = ask(store, *words)
        assert answer["revision"] == 1, words
        assert answer["cautions"], words


def test_the_learning_path_says_that_it_is_proved(store: Path) -> None:
    printed = run("learning-path", "p063", "laboratory-analyst", *DAY, store=store).stdout
    assert "Proved: nothing better among what is entered." in " ".join(printed.split())
    assert "Study: 140 h" in printed


@pytest.mark.parametrize("name", ["out.xlsx", "out", "out.nq"])
def test_what_is_exported_loads_again_as_the_same_records(store: Path, name: str, tmp_path: Path) -> None:
    run("export", str(tmp_path / name), store=store)
    again = tmp_path / "again"
    run("load", str(tmp_path / name), store=again)
    run("export", str(tmp_path / "csv-1"), store=store)
    run("export", str(tmp_path / "csv-2"), store=again)
    first = {path.name: path.read_text() for path in (tmp_path / "csv-1").iterdir()}
    second = {path.name: path.read_text() for path in (tmp_path / "csv-2").iterdir()}
    assert first == second
    # texts in other languages stand beside those of their records, as columns like label@de
    assert first.keys() == {f"{name}.csv" for name in NODE_TABLES}
    assert "label@de" in first["roles.csv"]


def test_a_backup_is_a_store_and_restoring_brings_it_back(store: Path, tmp_path: Path) -> None:
    run("backup", str(tmp_path / "copy"), store=store)
    run("restore", str(tmp_path / "copy"), store=tmp_path / "other")
    assert ask(tmp_path / "other", "coverage", "treatment", *DAY) == ask(store, "coverage", "treatment", *DAY)
    run("backup", str(tmp_path / "copy"), store=store, code=1)


def test_faulty_input_ends_with_1_prints_every_finding_and_stores_nothing(tmp_path: Path) -> None:
    (tmp_path / "roles.csv").write_text("id,label\nr,R\nr,R\n!,X\n")
    result = run("load", str(tmp_path / "roles.csv"), store=tmp_path / "s", code=1)
    assert "roles.csv, row 3" in result.stdout
    assert "roles.csv, row 4, id" in result.stdout
    assert "nothing was stored" in result.stderr
    run("load", str(tmp_path / "roles.csv"), "--skip-faulty", store=tmp_path / "s")


def test_a_dry_run_makes_no_store(tmp_path: Path) -> None:
    assert "not stored" in run("load", str(SCENARIO), "--dry-run", store=tmp_path / "s").stdout
    assert not (tmp_path / "s").exists()


def test_check_finds_nothing_wrong_with_the_scenario(store: Path) -> None:
    assert run("check", "--full", store=store).stdout.strip().endswith("0 errors, 0 remarks.")


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["coverage", "nowhere"], 1),
        (["gap", "p063", "nowhere"], 1),
        (["gap", "p063"], 2),
        (["coverage", "treatment", "--on", "24.11.2026"], 2),
        (["learning-path", "p063", "laboratory-analyst", "--minimise", "luck"], 2),
        (["routes", "p063", "--to", "sampler"], 2),
        (["routes", "p008", "senior-treatment-operator", "--via", "senior-treatment-operator"], 2),
        (["routes", "p008", "senior-treatment-operator", "--avoid", "senior-treatment-operator"], 2),
        (["routes", "p008", "senior-treatment-operator", "--study-hours-per-week", "0"], 2),
        (["routes", "p008", "senior-treatment-operator", "--avoid", "nowhere"], 1),
        (["nonsense"], 2),
        (["gap", "p063", "laboratory-analyst", "too", *DAY], 2),
        (["gap", "--from", "sampler", "laboratory-analyst", "--role", "sampler", *DAY], 2),
        (["gap", "p063", "laboratory-analyst", *DAY, "--to", "/nowhere/at/all.html"], 2),
        (["headcount", "treatment"], 2),
        (["serve", "--open", "--host", "0.0.0.0"], 2),
        (["load", "/nowhere/at/all.csv"], 1),
    ],
)
def test_a_wrong_call_ends_with_its_status_and_a_sentence(store: Path, words: list[str], code: int) -> None:
    result = run(*words, store=store, code=code)
    assert result.stderr.strip()
    assert "Traceback" not in result.stderr


def test_without_a_store_an_answer_says_how_to_make_one(tmp_path: Path) -> None:
    assert "newel load" in run("coverage", "t", store=tmp_path / "none", code=1).stderr


def test_the_program_runs_as_a_process_of_its_own(store: Path) -> None:
    call = [sys.executable, "-m", "api", "coverage", "nowhere", "--store", str(store)]
    result = subprocess.run(call, capture_output=True, text=True, cwd=ROOT, check=False)
    assert result.returncode == 1
    assert result.stderr == "newel: There is no 'nowhere' in teams.\n"


def test_a_terminal_of_few_letters_shows_marks_for_the_others(store: Path) -> None:
    call = [sys.executable, "-m", "api", "gap", "p008", "treatment-operator", "--store", str(store)]
    environment = os.environ | {"PYTHONIOENCODING": "latin-1"}
    result = subprocess.run(call, capture_output=True, encoding="latin-1", cwd=ROOT, env=environment, check=True)
    assert result.stdout.startswith("Mirela Tanaka ? Treatment operator")


def test_serving_answers_keeps_the_store_from_writers_and_ends_on_sigterm(store: Path, tmp_path: Path) -> None:
    alone = ask(store, "coverage", "treatment", *DAY)
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "api", "serve", "--open", "--port", "0", "--store", str(store)],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        cwd=ROOT,
    )
    assert process.stdout is not None
    try:
        line = process.stdout.readline()
        assert "Serving on http://127.0.0.1:" in line
        address = line.split()[2]
        with urllib.request.urlopen(address + "api/teams/treatment/coverage?on=2026-11-24") as response:
            assert json.load(response)["team"] == "treatment"
        assert ask(store, "coverage", "treatment", *DAY) == alone
        assert "Stop the server that serves it, then load." in run("load", str(SCENARIO), store=store, code=3).stderr
        assert "newel backup" in run("export", str(tmp_path / "out"), store=store, code=3).stderr
        assert "newel backup" in run("check", store=store, code=3).stderr
        copy = tmp_path / "copy-of-a-store-in-use"
        assert "Wrote revision 1" in run("backup", str(copy), store=store).stdout
        assert ask(copy, "coverage", "treatment", *DAY)["team"] == "treatment"
        assert "exists already" in run("backup", str(copy), store=store, code=1).stderr
    finally:
        process.send_signal(signal.SIGTERM)
        started = time.monotonic()
        process.communicate(timeout=12)
    assert time.monotonic() - started < 10
    assert process.returncode == 0
    assert not (store / SERVED_NOTE).exists()


def test_options_that_only_look_like_those_of_others_are_asked(store: Path) -> None:
    words = ["rotation", "treatment", "--purpose", "learn", "--intervals", "2", *DAY]
    assert ask(store, *words, "--from", "2027-02-01")["start"] == "2027-02-01"
    assert ask(store, *words, "--learners", "Mirela Tanaka") == ask(store, *words, "--learners", "p008")


def test_the_list_of_commands_names_each_with_its_title() -> None:
    printed = " ".join(run("--help").stdout.split())
    for name, title in {**find_titles(), **find_commands()}.items():
        assert f" {name} {' '.join(title.split())}" in printed, name


@pytest.mark.parametrize("name", sorted({**find_titles(), **find_commands()}))
def test_every_command_has_help_that_begins_with_its_title(name: str) -> None:
    # a line may end after a hyphen
    printed = " ".join(run(name, "--help").stdout.split()).replace("- ", "-")
    assert {**find_titles(), **find_commands()}[name].replace("- ", "-") in printed
    assert printed.startswith(f"Usage: newel {name}")


def test_the_program_tells_its_version() -> None:
    assert run("--version").stdout == f"newel, version {version('newel')}\n"
