"""Which lines of api/ serve what was there before a question was described once, and which serve what came since.

    python tests/house/lines_of_old_answers.py [--list]

All that commit 0b35e88 could do (api/ without pages: 17,400 lines with comments and empty ones) is asked of this tree:
its answers with each parameter, form and error, its records, files, pictures and commands (`old_answers`). A function
that runs counts, whole; so does all of its module that is no function. A module in which nothing runs is new.
The factory of the application and imports build new and old alike: what only runs there makes no module old. `--list`
names the functions and modules that are taken for new, for whoever doubts it.
"""

from __future__ import annotations

import ast
import sys
import threading
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType
from typing import Any, Final

ROOT: Final = Path(__file__).resolve().parents[2]
for _room in (ROOT, ROOT / "tests" / "support"):
    sys.path.insert(0, str(_room))

from size_of_answers import find_code_lines, list_without_pages  # noqa: E402 - the paths first

_BEFORE: Final = 17_400
_BEFORE_CODE: Final = 10_671
_API: Final = f"{ROOT / 'api'}/"
_FACTORY: Final = "create_app"


@dataclass
class Watch:
    """Which functions of api/ ran: module -> first lines, while modules and the application were built and later."""

    building: dict[str, set[int]] = field(default_factory=lambda: defaultdict(set))
    asking: dict[str, set[int]] = field(default_factory=lambda: defaultdict(set))
    is_building: bool = False

    def see(self, frame: FrameType, event: str, argument: Any) -> None:
        """Note a function that is entered; the factory of the application builds what is old and new alike."""
        code = frame.f_code
        if not code.co_filename.startswith(_API) or code.co_name == "<module>":
            return
        if code.co_name == _FACTORY:
            self.is_building = event != "return"
        if event == "call":
            is_imported = frame.f_back is not None and frame.f_back.f_code.co_name == "<module>"
            ran = self.building if self.is_building or is_imported else self.asking
            ran[code.co_filename].add(code.co_firstlineno)

    def begin(self) -> None:
        """Watch this thread and those to come."""
        threading.setprofile(self.see)
        sys.setprofile(self.see)

    def end(self) -> None:
        """Watch no more."""
        sys.setprofile(None)
        threading.setprofile(None)


@dataclass(frozen=True)
class Counted:
    """Lines of one module: those of before, those that are new, and the names of the functions among these."""

    path: Path
    old: frozenset[int]
    new: frozenset[int]
    code: frozenset[int]
    unused: tuple[str, ...]


def count(path: Path, ran: set[int], *, is_old: bool) -> Counted:
    """Return the lines of a module by whom they serve."""
    text = path.read_text("utf-8")
    tree = ast.parse(text)
    every = frozenset(range(1, len(text.splitlines()) + 1))
    code = frozenset(find_code_lines(tree, text))
    if not is_old:
        return Counted(path, frozenset(), every, code, ("(all of it)",))
    new: set[int] = set()
    unused = []
    for name, lines in _iterate_functions(tree):
        if ran.isdisjoint(lines):
            new |= lines
            unused.append(name)
    return Counted(path, every - new, frozenset(new), code, tuple(unused))


def _iterate_functions(tree: ast.Module) -> Iterator[tuple[str, set[int]]]:
    """Yield the functions and methods of a module, each with its lines; one inside another is part of it."""
    for node in tree.body:
        methods = [node] if not isinstance(node, ast.ClassDef) else node.body
        for one in methods:
            if isinstance(one, ast.FunctionDef):
                first = min([one.lineno, *(decorator.lineno for decorator in one.decorator_list)])
                name = one.name if one is node else f"{getattr(node, 'name', '')}.{one.name}"
                yield name, set(range(first, (one.end_lineno or first) + 1))


def find_imported(path: Path) -> set[Path]:
    """Return the modules of api/ that a module takes names from."""
    found = set()
    for node in ast.parse(path.read_text("utf-8")).body:
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("api"):
            base = ROOT / (node.module or "").replace(".", "/")
            found |= {base.with_suffix(".py"), *(base / f"{alias.name}.py" for alias in node.names)}
    return found


def is_only_data(path: Path) -> bool:
    """Whether a module defines no function, so that it can run nothing itself."""
    return not any(True for _ in _iterate_functions(ast.parse(path.read_text("utf-8"))))


def count_all(watch: Watch) -> list[Counted]:
    """Return the lines of every module."""
    modules = list_without_pages(ROOT)
    old = {path for path in modules if watch.asking.get(str(path))}
    while True:
        # words, sizes and records alone: of before where something of before is made of them
        taken = {more for path in old for more in find_imported(path)}
        found = {path for path in modules if path not in old and path in taken and is_only_data(path)}
        if not found:
            break
        old |= found
    return [count(p, watch.asking[str(p)] | watch.building[str(p)], is_old=p in old) for p in modules]


def main(words: list[str]) -> None:
    """Ask, count and print."""
    watch = Watch()
    watch.begin()
    import old_answers

    old_answers.ask_everything()
    watch.end()
    rooms: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0, 0])
    for one in count_all(watch):
        parts = one.path.relative_to(ROOT / "api").parts
        row = (len(one.old), len(one.old & one.code), len(one.new), len(one.new & one.code))
        for room in (parts[0] if len(parts) > 1 else "(api)", "all"):
            rooms[room] = [a + b for a, b in zip(rooms[room], row, strict=True)]
        if "--list" in words and one.unused:
            print(f"{one.path.relative_to(ROOT)}: {', '.join(one.unused)}")
    print(f"{'lines of api/ without pages':<30} {'of before':>10} {'code':>8} {'new':>8} {'code':>8}")
    for room, row in sorted(rooms.items(), key=lambda item: item[0] == "all"):
        print(f"{room:<30} {row[0]:>10,} {row[1]:>8,} {row[2]:>8,} {row[3]:>8,}")
    print(f"{'at 0b35e88':<30} {_BEFORE:>10,} {_BEFORE_CODE:>8,}")


if __name__ == "__main__":
    main(sys.argv[1:])
