"""Do the tests see it when a line of the analysis is wrong? Every fault of the table must make one of them fail.

    python tests/house/mutations.py [--jobs N] [FILE ...]

FILE is the name of a file of ontology/analysis without ending, with its room where two have that name (effect/results),
or the way to any other file from the root, without ending (loaders/slices); without one all are tried. The faults
stand in mutations.toml: a piece of text that the file holds exactly once, what takes its place, and the tests that
must tell. Each is put into a copy of the tree in a temporary folder, never into the tree itself; N copies at a time
(1), told in the order of the table all the same. Ends with 1 if one survives.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from collections import Counter
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from queue import SimpleQueue

ROOT = Path(__file__).resolve().parents[2]
ANALYSIS = Path("ontology/analysis")
TIME_LIMIT_S = 60.0
"""A fault that keeps the tests busy for longer counts as seen."""

PLUGIN = """from hypothesis import Phase, settings

# that an example fails is enough: no smaller one is looked for, and every run draws the same
settings.register_profile("faults", phases=[Phase.explicit, Phase.generate], derandomize=True, database=None)
settings.load_profile("faults")
"""


@dataclass(frozen=True)
class Fault:
    """One wrong line: `right` becomes `wrong` in a file of the analysis; `tests` are files below tests/."""

    path: Path
    right: str
    wrong: str
    tests: tuple[str, ...]


def find_files() -> dict[str, Path]:
    """Return the files of the analysis by name, below the root; one whose name another room has, too, by room/name."""
    paths = [path.relative_to(ROOT) for path in sorted((ROOT / ANALYSIS).rglob("*.py")) if path.stem != "__init__"]
    numbers = Counter(path.stem for path in paths)
    return {path.stem if numbers[path.stem] == 1 else f"{path.parent.name}/{path.stem}": path for path in paths}


def load_faults(names: Iterable[str] = ()) -> list[Fault]:
    """Return the faults of the files named, or all, in the order of the table.

    Raises
    ------
    KeyError, FileNotFoundError
        A name has no faults, or there is no such file.
    ValueError
        A text does not occur exactly once in its file, or nothing takes its place.
    """
    table = tomllib.loads((Path(__file__).parent / "mutations.toml").read_text("utf-8"))
    files = find_files()
    faults = []
    for name in names or table:
        entry, path = table[name], files.get(name, Path(f"{name}.py"))
        text = (ROOT / path).read_text("utf-8")
        for right, wrong, *tests in entry["faults"]:
            fault = Fault(path, right, wrong, tuple(tests or entry["tests"]))
            if text.count(right) != 1 or right == wrong:
                raise ValueError(f"{name}: {right!r} occurs {text.count(right)} times, or is not changed")
            faults.append(fault)
    return faults


def run_tests(folder: Path, tests: Iterable[str]) -> int | None:
    """Return how pytest ended in the folder; None where it took too long."""
    files = [f"tests/{test}" if test.startswith(("test_", "reference", "properties")) else test for test in tests]
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "-p", "faults_plugin", *files]
    # plugins that the tests of the analysis do without cost more time than most of these tests
    settings = os.environ | {"PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1", "NEWEL_EXAMPLES": "1"}
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


def try_fault(folder: Path, fault: Fault) -> int | None:
    """Return how the tests ended while the fault was in the copy."""
    path = folder / fault.path
    right = path.read_text("utf-8")
    path.write_text(right.replace(fault.right, fault.wrong), "utf-8")
    drop_bytecode(path)
    ended = run_tests(folder, fault.tests)
    path.write_text(right, "utf-8")
    drop_bytecode(path)
    return ended


def copy_tree(folder: Path) -> None:
    """Copy what the tests of the analysis need."""
    for name in ("ontology", "loaders", "api", "data", "tests"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__", ".*"))
    shutil.copy(ROOT / "pyproject.toml", folder)
    (folder / "faults_plugin.py").write_text(PLUGIN, "utf-8")


def describe(ended: int | None) -> str:
    """Return what the end of the tests says about a fault."""
    return {0: "SURVIVED", 1: "killed", None: "killed (time limit)"}.get(ended, f"BROKEN ({ended})")


def try_all(faults: list[Fault], folder: Path, jobs: int) -> int:
    """Print the verdict of every fault; return 1 if one survives, 2 if some tests fail without any."""
    folders: SimpleQueue[Path] = SimpleQueue()
    for number in range(jobs):
        copy_tree(folder / str(number))
        folders.put(folder / str(number))

    def run(fault: Fault | str) -> int | None:
        own = folders.get()
        try:
            return run_tests(own, [fault]) if isinstance(fault, str) else try_fault(own, fault)
        finally:
            folders.put(own)

    begin = time.monotonic()
    bad = slow = 0
    with ThreadPoolExecutor(jobs) as pool:
        tests = list(dict.fromkeys(test for fault in faults for test in fault.tests))
        wrong = [test for test, ended in zip(tests, pool.map(run, tests), strict=True) if ended != 0]
        if wrong:
            print(f"these tests fail, or take too long, without any fault: {', '.join(wrong)}")
            return 2
        for fault, ended in zip(faults, pool.map(run, faults), strict=True):
            verdict = describe(ended)
            bad += not verdict.startswith("killed")
            slow += ended is None
            line = f"{verdict:9} {fault.path.stem}: {' '.join(fault.right.split())} -> {' '.join(fault.wrong.split())}"
            print(line, flush=True)
    files = len({fault.path for fault in faults})
    killed = f"{len(faults) - bad} killed ({slow} by the time limit)"
    print(f"{files} files, {len(faults)} faults, {killed}, {bad} not, in {time.monotonic() - begin:.0f} s")
    return 1 if bad else 0


def main(arguments: list[str]) -> int:
    """Try the faults of the files named, or all."""
    parser = argparse.ArgumentParser(description="Break lines of the analysis and tell which fault no test notices.")
    parser.add_argument("--jobs", type=int, default=1, metavar="N", help="faults tried at a time (1)")
    parser.add_argument("files", nargs="*", metavar="FILE", help="a file of ontology/analysis, without room and ending")
    asked = parser.parse_args(arguments)
    try:
        faults = load_faults(asked.files)
    except KeyError as error:
        print(f"no faults, or no file: {error}")
        return 2
    with tempfile.TemporaryDirectory() as name:
        return try_all(faults, Path(name), max(1, asked.jobs))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
