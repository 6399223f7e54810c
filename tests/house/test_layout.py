"""The house keeps its shape: rooms, file sizes, where the packages come from, what must never stand in a file."""

from __future__ import annotations

import importlib
import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("api", "ontology", "loaders")
#: One idea a file. A file that outgrows this has two.
MAX_LINES = 320


def list_files(*patterns: str) -> list[Path]:
    """Return the project's own files: those git tracks or would track."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "--", *patterns],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return [path for name in listed.stdout.splitlines() if (path := ROOT / name).is_file()]


@pytest.mark.parametrize("name", PACKAGES)
def test_the_package_comes_from_this_tree(name: str) -> None:
    module = importlib.import_module(name)
    assert module.__file__ is not None
    assert Path(module.__file__).resolve().parent == ROOT / name


def test_the_top_level_is_as_agreed() -> None:
    allowed = {"README.md", "DEVELOPERS.md", "CHANGELOG.md", "pyproject.toml", "Makefile"}
    folders = {"api", "ontology", "loaders", "tests", "data"}
    top = {path.relative_to(ROOT).parts[0] for path in list_files(".")}
    assert {name for name in top if not name.startswith(".")} == allowed | folders


def test_no_file_has_outgrown_one_idea() -> None:
    sizes = {p.relative_to(ROOT).as_posix(): len(p.read_text("utf-8").splitlines()) for p in list_files("*.py")}
    assert {name.partition("/")[0] for name in sizes} >= {*PACKAGES, "tests"}
    assert {name: n for name, n in sizes.items() if n > MAX_LINES} == {}


def test_every_module_says_what_it_is() -> None:
    silent = [
        path.relative_to(ROOT).as_posix()
        for path in list_files("api/*.py", "ontology/*.py", "loaders/*.py")
        if not path.read_text("utf-8").lstrip().startswith(('"""', 'r"""'))
    ]
    assert silent == []


def test_literal_iris_stand_only_in_the_namespaces() -> None:
    pattern = re.compile(r"https?://(?!127\.|localhost)[a-z0-9.-]+/", re.IGNORECASE)
    allowed = {"ontology/rdf/namespaces.py"}
    found = [
        f"{path.relative_to(ROOT).as_posix()}:{number}"
        for path in list_files("api/*.py", "ontology/*.py", "loaders/*.py")
        if path.relative_to(ROOT).as_posix() not in allowed
        for number, line in enumerate(path.read_text("utf-8").splitlines(), start=1)
        if pattern.search(line) and not line.lstrip().startswith(("#", ".. [", '"""')) and "doi.org" not in line
    ]
    assert found == []


def test_no_unfinished_work_is_left_in_a_file() -> None:
    words = re.compile(r"\b(TODO|FIXME|XXX|NotImplementedError)\b")
    found = [
        path.relative_to(ROOT).as_posix()
        for path in list_files("api/*.py", "ontology/*.py", "loaders/*.py")
        if words.search(path.read_text("utf-8"))
    ]
    assert found == []


def test_no_path_of_a_machine_stands_in_a_file() -> None:
    pattern = re.compile(r"/(?:work|home|root)/[a-z]")
    found = [
        path.relative_to(ROOT).as_posix()
        for path in list_files("*.py", "*.md", "*.toml", "Makefile", "*.sh", "*.ttl", "*.html")
        if path != Path(__file__).resolve() and pattern.search(path.read_text("utf-8"))
    ]
    assert found == []
