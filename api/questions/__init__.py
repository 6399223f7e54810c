"""Every question that can be asked, one file each, found by looking: a new file here is a new question everywhere.

Names and titles are read without importing anything a question computes with, so that a short command stays short.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from api.titles import find_modules, read_title, read_title_of

if TYPE_CHECKING:
    from api.desk.question import Question


@cache
def _find_modules() -> Mapping[str, Path]:
    """Return question name -> its file, by name."""
    return find_modules(Path(__file__).parent, "*/*.py")


@cache
def find_titles() -> Mapping[str, str]:
    """Return question name -> title, by name; no question is imported."""
    return {name: read_title_of(path) for name, path in _find_modules().items()}


def get_room(name: str) -> str:
    """Return the room a question stands in: person, team, company."""
    return _find_modules()[name].parent.name


@cache
def load_question(name: str) -> Question:
    """Return a question by its name; KeyError where there is none."""
    path = _find_modules()[name]
    module = import_module(f"{__name__}.{path.parent.name}.{path.stem}")
    question: Question = module.QUESTION
    return replace(question, name=name, title=read_title(module.__doc__))


@cache
def list_questions() -> tuple[Question, ...]:
    """Return all questions by name."""
    return tuple(map(load_question, _find_modules()))
