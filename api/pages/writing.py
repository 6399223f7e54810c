"""An answer written as HTML: a page that the server sends, or a file that needs nothing else. The door to templates.

Some answers have a page designed by hand; every other one shows its sheet.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Final

from jinja2 import Environment, FileSystemLoader

from api.desk.desk import Answer
from api.pages.development_plan import describe_plan
from api.pages.page import Page
from api.pages.sheet_page import describe_sheet
from api.pages.training_timetable import describe_timetable

__all__ = ["render_file", "render_page"]

_ROOM: Final = Path(__file__).resolve().parent.parent
_DESIGNED: Final[Mapping[str, Callable[[Answer, bool], Page]]] = {
    "development-plan": describe_plan,
    "training-timetable": describe_timetable,
}


def _describe(answer: Answer, is_file: bool) -> Page:
    return _DESIGNED.get(answer.enquiry.question.name, describe_sheet)(answer, is_file)


def render_page(answer: Answer) -> str:
    """Return the page that holds an answer, as the application serves it."""
    from flask import render_template  # a file is written without it

    page = _describe(answer, False)
    return render_template(page.template, layout="base.html", **page.values)


def render_file(answer: Answer) -> str:
    """Return the page as one file: with its style inside, and without links to a server."""
    page = _describe(answer, True)
    styles = "\n".join((_ROOM / "static" / name).read_text("utf-8") for name in page.styles)
    return _get_templates().get_template(page.template).render(layout="file.html", styles=styles, **page.values)


@cache
def _get_templates() -> Environment:
    return Environment(loader=FileSystemLoader(_ROOM / "templates"), autoescape=True)
