"""Every question that can be asked, one file each, found by looking: a new file here is a new question everywhere.

Names and titles are read without importing anything a question computes with, so that a short command stays short.
"""

from __future__ import annotations

import ast
from collections.abc import Mapping
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import cast

from api.desk.question import Question, read_title

__all__ = ["find_titles", "list_questions", "load_question"]

#: Files of a folder that hold what its questions share begin so.
_SHARED = "_"


@cache
def _find_modules() -> Mapping[str, Path]:
    """Return question name -> its file, by name."""
    here = Path(__file__).parent
    files = [path for path in here.glob("*/*.py") if not path.name.startswith(_SHARED)]
    return {path.stem.replace("_", "-"): path for path in sorted(files, key=lambda path: path.stem)}


@cache
def find_titles() -> Mapping[str, str]:
    """Return question name -> title, by name; no question is imported."""
    return {
        name: read_title(ast.get_docstring(ast.parse(path.read_text("utf-8"))))
        for name, path in _find_modules().items()
    }


@cache
def load_question(name: str) -> Question:
    """Return a question by its name; KeyError where there is none."""
    path = _find_modules()[name]
    module = import_module(f"{__name__}.{path.parent.name}.{path.stem}")
    return cast(Question, module.QUESTION)


@cache
def list_questions() -> tuple[Question, ...]:
    """Return all questions by name."""
    return tuple(map(load_question, _find_modules()))
