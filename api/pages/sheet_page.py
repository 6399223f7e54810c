"""An answer as a page: the sheet in HTML, a form to ask differently, and the same as JSON and workbook.

The page at /X answers what /api/X answers, with the same parameters. In a file nothing can be asked on.
"""

from __future__ import annotations

from typing import Any

from api.desk.desk import Answer
from api.desk.parameters import list_parameters
from api.desk.plain_cells import format_cell, format_number
from api.desk.sheet import Cell, Column, Next, Quantity, Ref
from api.pages.addresses import build_address, build_record_address
from api.pages.page import Page
from api.questions import load_question

__all__ = ["describe_sheet"]


def describe_sheet(answer: Answer, is_file: bool) -> Page:
    """Return what stands on the page of an answer."""
    values = {
        "sheet": answer.build_sheet(),
        "revision": answer.enquiry.state.snapshot.revision,
        "cell": format_cell,
        "in_column": _format_in_column,
        "links": {} if is_file else _list_links(answer),
        "parameters": [] if is_file else _list_fields(answer),
        "link": _link,
        "address_of": _address_of,
    }
    return Page("sheet.html", values, ("newel.css",))


def _list_links(answer: Answer) -> dict[str, str]:
    """Return the addresses of the same question: of its page without parameters, and of its other forms."""
    enquiry = answer.enquiry
    question, subject, texts = enquiry.question, enquiry.subject, enquiry.texts
    here = build_address(subject.kind.value, subject.id, question.segment, texts)
    links = {
        "page": build_address(subject.kind.value, subject.id, question.segment),
        "json": f"/api{here}",
        "xlsx": f"/api{here}{'&' if texts else '?'}format=xlsx",
    }
    if "ics" in question.files:
        links["ics"] = f"/api{here}{'&' if texts else '?'}format=ics"
    if question.draw is not None:
        links["picture"] = "/api" + build_address(subject.kind.value, subject.id, f"{question.segment}/diagram", texts)
    return links


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
    question = load_question(ask.question)
    return build_address(next(iter(question.asks)).value, ask.subject, question.segment, ask.asked)
