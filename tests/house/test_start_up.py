"""What a command imports: only what it asks. Names of modules, no times; `tests/benchmarks/start_up.py` measures."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph

ROOT = Path(__file__).resolve().parents[2]
SCENARIO = ROOT / "data" / "water_utility"
WEB = ("flask", "werkzeug", "marshmallow", "apispec", "waitress", "jinja2")
CHECKS = ("pyshacl", "rdflib")
SOLVERS = ("highspy", "scipy", "numpy", "networkx")
FILES = ("graphviz", "xlsxwriter", "python_calamine")
ALL = (*WEB, *CHECKS, *SOLVERS, *FILES, "pyoxigraph", "rich")
#: Runs the program in this process and says afterwards which of the modules are there.
_RUN = """
import contextlib, io, sys
from api.terminal.program import program
with contextlib.redirect_stdout(io.StringIO()) as printed:
    program(sys.argv[2:], prog_name="newel", standalone_mode=False)
assert printed.getvalue()
print(*(name for name in sys.argv[1].split(",") if name in sys.modules))
"""


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("start-up") / "store"
    graph = LiveGraph.open(folder, create=True)
    load_paths(graph, [SCENARIO])
    graph.close()
    return folder


def find_imported(*words: str) -> set[str]:
    """Return which of the heavy modules a call of the program imports."""
    call = [sys.executable, "-c", _RUN, ",".join(ALL), *words]
    return set(subprocess.run(call, capture_output=True, text=True, cwd=ROOT, check=True).stdout.split())


@pytest.mark.parametrize("words", [["--help"], ["--version"], ["backup", "--help"]])
def test_help_imports_nothing_heavy(words: list[str]) -> None:
    assert find_imported(*words) - {"pyoxigraph"} == set()


@pytest.mark.parametrize(
    "words",
    [
        ["find", "mirela"],
        ["gap", "p008", "treatment-operator"],
        ["coverage", "treatment"],
        ["headcount", "treatment", "--net-hours", "1600"],
        ["single-points-of-failure", "treatment"],
    ],
    ids=lambda words: str(words[0]),
)
def test_a_short_question_imports_no_solver_no_checks_and_no_web(store: Path, words: list[str]) -> None:
    assert find_imported(*words, "--store", str(store)) == {"pyoxigraph", "rich"}
    assert find_imported(*words, "--json", "--store", str(store)) == {"pyoxigraph"}


def test_a_question_that_is_solved_imports_the_solver_and_neither_checks_nor_web(store: Path) -> None:
    imported = find_imported("learning-path", "p063", "laboratory-analyst", "--store", str(store))
    assert imported >= {"highspy"}
    assert imported & {*WEB, *CHECKS, *FILES} == set()


def test_a_question_written_as_a_page_imports_templates_and_no_web(store: Path, tmp_path: Path) -> None:
    words = ["gap", "p008", "treatment-operator", "--to", str(tmp_path / "gap.html"), "--store", str(store)]
    assert find_imported(*words) & {*WEB, *CHECKS} == {"jinja2"}
