"""An answer as a page: the sheet in HTML, a form to ask differently, and the same as JSON and workbook. Imports Flask.

The page at /X answers what /api/X answers, with the same parameters.
"""

from __future__ import annotations

from typing import Any
from urllib.parse import quote, urlencode

from flask import render_template

from api.desk.desk import Answer
from api.desk.parameters import list_parameters
from api.desk.plain_cells import format_cell, format_number
from api.desk.sheet import Cell, Column, Next, Quantity, Ref
from api.questions import load_question

__all__ = ["build_address", "render_sheet"]


def build_address(table: str, subject: str, question: str, asked: dict[str, str] | None = None) -> str:
    """Return the address of a question's page."""
    path = "/".join(quote(part, safe="") for part in (table, subject, question) if part)
    return f"/{path}" + (f"?{urlencode(asked)}" if asked else "")


def render_sheet(answer: Answer) -> str:
    """Return the page that holds an answer."""
    enquiry = answer.enquiry
    question, subject, texts = enquiry.question, enquiry.subject, enquiry.texts
    here = build_address(subject.kind.value, subject.id, question.name, texts)
    return render_template(
        "sheet.html",
        sheet=answer.build_sheet(),
        revision=enquiry.state.snapshot.revision,
        parameters=[
            {
                "name": parameter.name,
                "kind": parameter.kind,
                "about": parameter.about,
                "unit": parameter.unit,
                "is_required": parameter.is_required,
                "text": texts.get(parameter.name, parameter.default_text or ""),
                "minimum": parameter.minimum,
                "maximum": parameter.maximum,
            }
            for parameter in list_parameters(question.asks[subject.kind])
        ],
        path=build_address(subject.kind.value, subject.id, question.name),
        json_address=f"/api{here}",
        xlsx_address=f"/api{here}{'&' if texts else '?'}format=xlsx",
        picture_address=None if question.draw is None else _build_picture_address(answer),
        cell=format_cell,
        in_column=_format_in_column,
        link=_link,
        address_of=_address_of,
    )


def _build_picture_address(answer: Answer) -> str:
    enquiry = answer.enquiry
    subject = enquiry.subject
    path = build_address(subject.kind.value, subject.id, f"{enquiry.question.name}")
    texts = enquiry.texts
    return f"/api{path}/diagram" + (f"?{urlencode(texts)}" if texts else "")


def _format_in_column(cell: Cell, column: Column) -> str:
    """Return a cell below a heading that names the unit already."""
    if isinstance(cell, Quantity) and column.unit and cell.value is not None:
        return format_number(cell)
    return format_cell(cell)


def _link(ref: Ref) -> str:
    """Return where a record is shown."""
    return f"/api/{ref.table.replace('_', '-')}/{quote(ref.id, safe='')}"


def _address_of(ask: Next) -> str:
    """Return the page of what would be asked next."""
    kinds: Any = load_question(ask.question).asks
    return build_address(next(iter(kinds)).value, ask.subject, ask.question, dict(ask.asked))
