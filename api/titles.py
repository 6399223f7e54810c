"""Titles: the first line of a docstring says what a question or a command is for; it is read without importing it."""

from __future__ import annotations

import ast
from pathlib import Path

#: Files that hold what several of a folder share begin so.
_SHARED = "_"


def read_title(docstring: str | None) -> str:
    """Return the first line of a docstring, without its full stop."""
    first = (docstring or "").strip().splitlines()[0]
    return first.removesuffix(".")


def read_title_of(path: Path) -> str:
    """Return the title of a module's file."""
    return read_title(ast.get_docstring(ast.parse(path.read_text("utf-8"))))


def find_modules(folder: Path, pattern: str) -> dict[str, Path]:
    """Return name -> file of the modules of a folder, by name: coverage_timeline.py is "coverage-timeline"."""
    files = [path for path in folder.glob(pattern) if not path.name.startswith(_SHARED)]
    return {path.stem.replace("_", "-"): path for path in sorted(files, key=lambda path: path.stem)}
