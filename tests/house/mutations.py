"""Do the tests see it when a line of the analysis is wrong? Every fault of the table must make one of them fail.

    python tests/house/mutations.py [FILE ...]

FILE is the name of a file of ontology/analysis without its ending; without one all are tried. The faults stand in
mutations.toml: a piece of text that the file holds exactly once, what takes its place, and the tests that must tell.
Each is put into a copy of the tree in a temporary folder, never into the tree itself. Ends with 1 if one survives.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ANALYSIS = Path("ontology/analysis")
TIME_LIMIT_S = 60.0
"""A fault that keeps the tests busy for longer counts as seen."""


@dataclass(frozen=True)
class Fault:
    """One wrong line: `right` becomes `wrong` in a file of the analysis; `tests` are files below tests/."""

    name: str
    right: str
    wrong: str
    tests: tuple[str, ...]

    @property
    def path(self) -> Path:
        """The file, below the root."""
        return ANALYSIS / f"{self.name}.py"


def load_faults(names: Iterable[str] = ()) -> list[Fault]:
    """Return the faults of the files named, or all, in the order of the table.

    Raises
    ------
    KeyError
        A name has no faults.
    ValueError
        A text does not occur exactly once in its file, or nothing takes its place.
    """
    table = tomllib.loads((Path(__file__).parent / "mutations.toml").read_text("utf-8"))
    faults = []
    for name in names or table:
        entry = table[name]
        text = (ROOT / ANALYSIS / f"{name}.py").read_text("utf-8")
        for right, wrong, *tests in entry["faults"]:
            fault = Fault(name, right, wrong, tuple(tests or entry["tests"]))
            if text.count(right) != 1 or right == wrong:
                raise ValueError(f"{name}: {right!r} occurs {text.count(right)} times, or is not changed")
            faults.append(fault)
    return faults


def run_tests(folder: Path, tests: Iterable[str]) -> int | None:
    """Return how pytest ended in the folder; None where it took too long."""
    files = [f"tests/{test}" if test.startswith(("test_", "reference", "properties")) else test for test in tests]
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *files]
    # plugins that the tests of the analysis do without cost more time than most of these tests
    settings = os.environ | {"PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
    try:
        return subprocess.run(
            command, cwd=folder, env=settings, capture_output=True, timeout=TIME_LIMIT_S, check=False
        ).returncode
    except subprocess.TimeoutExpired:
        return None


def drop_bytecode(path: Path) -> None:
    """Remove what was compiled of a file: a change within one second and of the same length would not be seen."""
    for compiled in (path.parent / "__pycache__").glob(f"{path.stem}.*.pyc"):
        compiled.unlink()


def try_faults(folder: Path, faults: Iterable[Fault]) -> Iterator[tuple[Fault, int | None]]:
    """Yield each fault with how the tests ended while it was in the copy."""
    for fault in faults:
        path = folder / fault.path
        right = path.read_text("utf-8")
        path.write_text(right.replace(fault.right, fault.wrong), "utf-8")
        drop_bytecode(path)
        ended = run_tests(folder, fault.tests)
        path.write_text(right, "utf-8")
        drop_bytecode(path)
        yield fault, ended


def copy_tree(folder: Path) -> None:
    """Copy what the tests of the analysis need."""
    for name in ("ontology", "loaders", "api", "data", "tests"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__", ".*"))
    shutil.copy(ROOT / "pyproject.toml", folder)


def main(names: list[str]) -> int:
    """Try the faults of the files named, or all; return 1 if one survives, 2 if the tests fail without any."""
    try:
        faults = load_faults(names)
    except KeyError as error:
        print(f"no faults for: {error}")
        return 2
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        copy_tree(folder)
        if run_tests(folder, dict.fromkeys(test for fault in faults for test in fault.tests)) != 0:
            print("the tests fail, or take too long, without any fault")
            return 2
        bad = 0
        begin = time.monotonic()
        for fault, ended in try_faults(folder, faults):
            verdict = {0: "SURVIVED", 1: "killed", None: "killed (time limit)"}.get(ended, f"BROKEN ({ended})")
            bad += not verdict.startswith("killed")
            line = f"{verdict:9} {fault.name}: {' '.join(fault.right.split())} -> {' '.join(fault.wrong.split())}"
            print(line, flush=True)
    files = len({fault.name for fault in faults})
    seconds = time.monotonic() - begin
    print(f"{files} files, {len(faults)} faults, {len(faults) - bad} killed, {bad} not, in {seconds:.0f} s")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
