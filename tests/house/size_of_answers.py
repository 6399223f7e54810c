"""What an answer costs to tell: lines of the api, files and lines of one answer, places of one fact, start-up.

    python tests/house/size_of_answers.py [TREE]

"before" is what the same counts gave before what can be asked was described once. TREE is another checkout to count.
"""

from __future__ import annotations

import ast
import os
import re
import resource
import subprocess
import sys
from pathlib import Path
from typing import Final

ROOT: Final = Path(__file__).resolve().parents[2]
#: The answer whose telling is counted, and a parameter of it.
ANSWER: Final = "headcount"
PARAMETER: Final = "net[_-]hours"
#: The most hours of study before a move, where nothing else is asked: the only thing that is 200.0.
DEFAULT: Final = 200.0
RUNS: Final = 5


def main(root: Path = ROOT) -> None:
    """Print the table."""
    rows = (
        ("lines of api/ without pages", "17,400", f"{count_lines(root):,}"),
        ("of these lines of pictures", "6,900", f"{count_pictures(root):,}"),
        ("files of api/ that name an answer (headcount)", "9-10", str(len(find_files(root, ANSWER)))),
        ("lines of code in api/ that are that answer's own", "about 156", str(count_own_lines(root, ANSWER))),
        ("files of api/ that name a parameter (net_hours)", "7", str(len(find_files(root, PARAMETER)))),
        ("files that state a default (preparation limit)", "7", str(len(find_default(root)))),
        ("newel --help, s more than click and rich alone", "about 1", f"{measure_start_s(root):.2f}"),
    )
    print(f"{'what':<50} {'before':>10} {'now':>8}")
    for what, before, now in rows:
        print(f"{what:<50} {before:>10} {now:>8}")


def list_modules(root: Path, *rooms: str) -> list[Path]:
    """Return the modules of some rooms."""
    return sorted(path for room in rooms for path in (root / room).rglob("*.py"))


def count_lines(root: Path) -> int:
    """Return the lines of api/ without the rooms of pages; `lines_of_old_answers` parts them in old and new."""
    return sum(len(path.read_text("utf-8").splitlines()) for path in list_without_pages(root))


def list_without_pages(root: Path) -> list[Path]:
    """Return the modules of api/ without the rooms of pages and the modules that serve them."""
    return [p for p in list_modules(root, "api") if not {"pages", "site"} & {*p.parts} and "_page" not in p.stem]


def count_pictures(root: Path) -> int:
    """Return the lines of the room of pictures, whatever it is called."""
    files = list_modules(root, "api/pictures", "api/diagrams")
    return sum(len(path.read_text("utf-8").splitlines()) for path in files)


def find_files(root: Path, name: str) -> list[Path]:
    """Return the modules of api/ that hold a name."""
    return [path for path in list_modules(root, "api") if re.search(name, path.read_text("utf-8"), re.IGNORECASE)]


def count_own_lines(root: Path, answer: str) -> int:
    """Return the lines of code of an answer's file, and elsewhere of the definitions whose own name holds it."""
    found = 0
    for path in find_files(root, answer):
        text = path.read_text("utf-8")
        tree = ast.parse(text)
        code = find_code_lines(tree, text)
        own = [node for node in tree.body if path.stem == answer or answer in _name(node).casefold()]
        found += len({line for node in own for line in _span(node)} & code)
    return found


def _name(node: ast.stmt) -> str:
    """Return what a definition defines; "" for what defines nothing."""
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        return node.name
    return ast.unparse(node.target) if isinstance(node, ast.AnnAssign) else ""


def _span(node: ast.stmt) -> range:
    decorators: list[ast.expr] = getattr(node, "decorator_list", [])
    return range(min([node.lineno, *(one.lineno for one in decorators)]), (node.end_lineno or node.lineno) + 1)


def find_code_lines(tree: ast.Module, text: str) -> set[int]:
    """Return the numbers of the lines that are code: no imports, docstrings, comments or empty lines."""
    left_out: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import | ast.ImportFrom):
            left_out |= set(_span(node))
        elif isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and ast.get_docstring(node) is not None:
            left_out |= set(_span(node.body[0]))
    lines = enumerate(text.splitlines(), start=1)
    return {number for number, line in lines if line.strip() and not line.lstrip().startswith("#")} - left_out


def find_default(root: Path) -> list[Path]:
    """Return the modules in which the default stands as a number."""
    return [
        path
        for path in list_modules(root, "api", "loaders", "ontology")
        if any(
            isinstance(node, ast.Constant) and isinstance(node.value, float) and node.value == DEFAULT
            for node in ast.walk(ast.parse(path.read_text("utf-8")))
        )
    ]


def measure_start_s(root: Path) -> float:
    """Return how much more processor time, in seconds, the program's help takes than its libraries for terminals."""
    bare = _measure_cpu_s(root, ["-c", "import click, rich"])
    return _measure_cpu_s(root, ["-m", "api", "--help"]) - bare


def _measure_cpu_s(root: Path, words: list[str]) -> float:
    """Return the least processor time, in seconds, of some runs of Python in a tree."""
    least = float("inf")
    for _ in range(RUNS):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        environment = os.environ | {"PYTHONPATH": str(root)}
        subprocess.run([sys.executable, *words], cwd=root, env=environment, stdout=subprocess.DEVNULL, check=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        least = min(least, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return least


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
