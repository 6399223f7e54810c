"""A page written as HTML: as the server sends it, or as a file that needs nothing else. The one door to templates.

Some answers have a page designed by hand; every other one shows its sheet.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any, Final

from jinja2 import Template

from api.access.actor import LOCAL_OWNER, Actor
from api.desk.desk import Answer
from api.desk.names import amount, count, join_names
from api.pages.addresses import add_form, build_address, build_record_address
from api.pages.around import write_choice, write_files, write_head, write_trail
from api.pages.care import write_care
from api.pages.cells import write_cell, write_day, write_prose, write_short_day, write_state
from api.pages.coming_days import write_days
from api.pages.cover_table import write_boxes, write_needs, write_places
from api.pages.development_plan import describe_plan
from api.pages.fact_row import write_facts
from api.pages.figure import Figure
from api.pages.first_words import find_first_words
from api.pages.forms.inputs import write_input
from api.pages.head import OPEN, Head
from api.pages.languages import Choice
from api.pages.level_table import write_level_table
from api.pages.page import Page
from api.pages.sheet_page import describe_sheet
from api.pages.state_links import StateBar
from api.pages.strips import write_strips
from api.pages.tables import write_table
from api.pages.templates import Templates
from api.pages.training_timetable import describe_timetable

__all__ = ["describe_answer", "render", "render_file", "render_part"]

_ROOM: Final = Path(__file__).resolve().parent.parent
_SCRIPTS: Final = ("search.js", "region.js", "form.js")
_DESIGNED: Final[Mapping[str, Callable[[Answer, bool], Page]]] = {
    "development-plan": describe_plan,
    "training-timetable": describe_timetable,
}


def describe_answer(answer: Answer, is_file: bool = False, figure: Figure | None = None) -> Page:
    """Return the page of an answer, with its picture in it where one is given; in a file nothing can be asked on."""
    designed = None if answer.enquiry.is_in_figures else _DESIGNED.get(answer.enquiry.question.name)
    return designed(answer, is_file) if designed is not None else describe_sheet(answer, is_file, figure)


def render(
    page: Page,
    actor: Actor = LOCAL_OWNER,
    bar: StateBar | None = None,
    head: Head = OPEN,
    choice: Choice | None = None,
) -> str:
    """Return a page as the server sends it, with the head that the actor sees.

    The bar tells of another state, the choice in which languages names can be read.
    """
    around = {"bar": bar, "frame": head, "choice": choice}
    return _get_templates().get_template(page.template).render(_list_values(page, actor) | around)


def render_part(page: Page, actor: Actor, part: str) -> str | None:
    """Return one block of a page by its name; None where its template has none of this name."""
    template = _get_templates().get_template(page.template)
    if part not in template.blocks:
        return None
    return template.render(_list_values(page, actor) | {"layout": _get_layout_of_part(part)})


@cache
def _get_layout_of_part(part: str) -> Template:
    """Return a layout that holds one block alone: what a template imports is known to it as in the whole page."""
    return _get_templates().from_string(f"{{% block {part} %}}{{% endblock %}}")


def render_file(answer: Answer) -> str:
    """Return the page as one file: with its style inside, and without links to a server."""
    page = describe_answer(answer, True)
    styles = "\n".join((_ROOM / "static" / name).read_text("utf-8") for name in page.styles)
    values = {**page.values, "layout": "file.html", "styles": styles}
    return _get_templates().get_template(page.template).render(values)


def _list_values(page: Page, actor: Actor) -> dict[str, Any]:
    return {"searched": "", **page.values, "layout": "base.html", "page": page, "actor": actor}


@cache
def _get_templates() -> Templates:
    filters: dict[str, Callable[..., Any]] = {
        "cell": write_cell,
        "day": write_day,
        "short_day": write_short_day,
        "strips": write_strips,
        "prose": write_prose,
        "amount": amount,
        "first_words": find_first_words,
        "names": join_names,
    }
    known = {
        "address": build_address,
        "record_address": build_record_address,
        "with_form": add_form,
        "state": write_state,
        "write_boxes": write_boxes,
        "write_care": write_care,
        "write_choice": write_choice,
        "write_days": write_days,
        "write_facts": write_facts,
        "write_files": write_files,
        "write_head": write_head,
        "write_input": write_input,
        "write_level_table": write_level_table,
        "write_needs": write_needs,
        "write_places": write_places,
        "write_table": write_table,
        "write_trail": write_trail,
        "count": count,
        "scripts": tuple(name for name in _SCRIPTS if (_ROOM / "static" / name).is_file()),
    }
    return Templates(_ROOM / "templates", filters, known)
