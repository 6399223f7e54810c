"""An answer as a page: the sheet in HTML, a form to ask differently, and the same as JSON and workbook. Imports Flask.

The page at /X answers what /api/X answers, with the same parameters. Two answers have a page designed by hand.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from flask import render_template

from api.desk.desk import Answer
from api.desk.parameters import list_parameters
from api.desk.plain_cells import format_cell, format_number
from api.desk.sheet import Cell, Column, Next, Quantity, Ref
from api.pages.addresses import build_address, build_record_address
from api.pages.development_plan import render_plan_page
from api.pages.training_timetable import render_timetable_page
from api.questions import load_question

__all__ = ["render_page"]

_DESIGNED: Final[Mapping[str, Callable[[Answer], str]]] = {
    "development-plan": render_plan_page,
    "training-timetable": render_timetable_page,
}


def render_page(answer: Answer) -> str:
    """Return the page that holds an answer."""
    enquiry = answer.enquiry
    question, subject, texts = enquiry.question, enquiry.subject, enquiry.texts
    designed = _DESIGNED.get(question.name)
    if designed is not None:
        return designed(answer)
    here = build_address(subject.kind.value, subject.id, question.name, texts)
    picture = build_address(subject.kind.value, subject.id, f"{question.name}/diagram", texts)
    return render_template(
        "sheet.html",
        sheet=answer.build_sheet(),
        revision=enquiry.state.snapshot.revision,
        parameters=_list_fields(answer),
        path=build_address(subject.kind.value, subject.id, question.name),
        json_address=f"/api{here}",
        xlsx_address=f"/api{here}{'&' if texts else '?'}format=xlsx",
        picture_address=None if question.draw is None else f"/api{picture}",
        cell=format_cell,
        in_column=_format_in_column,
        link=_link,
        address_of=_address_of,
    )


def _list_fields(answer: Answer) -> list[dict[str, Any]]:
    """Return the fields of the form that asks differently."""
    enquiry = answer.enquiry
    texts = enquiry.texts
    return [
        {
            "name": parameter.name,
            "kind": parameter.kind,
            "about": parameter.about,
            "unit": parameter.unit,
            "is_required": parameter.is_required,
            "text": texts.get(parameter.name, parameter.default_text or ""),
        }
        for parameter in list_parameters(enquiry.question.asks[enquiry.subject.kind])
    ]


def _format_in_column(cell: Cell, column: Column) -> str:
    """Return a cell below a heading that names the unit already."""
    if isinstance(cell, Quantity) and column.unit and cell.value is not None:
        return format_number(cell)
    return format_cell(cell)


def _link(ref: Ref) -> str:
    return build_record_address(ref.table, ref.id)


def _address_of(ask: Next) -> str:
    """Return the page of what would be asked next."""
    kinds: Any = load_question(ask.question).asks
    return build_address(next(iter(kinds)).value, ask.subject, ask.question, ask.asked)
