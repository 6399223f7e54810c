"""The forms of an answer besides JSON: the sheet as a page or a workbook, and what files a question has of its own."""

from __future__ import annotations

from api.desk.desk import Answer
from api.desk.sheet_workbook import build_sheet_workbook
from api.http.page_text import write_page
from api.pages.writing import describe_answer


def build_form(answer: Answer, form: str) -> bytes:
    """Return an answer in a form that its question can be had in."""
    enquiry = answer.enquiry
    own = enquiry.question.files.get(form)
    if own is not None:
        return own.build(answer)
    if form == "html":
        return write_page(describe_answer(answer)).encode()
    return build_sheet_workbook(answer.build_sheet())
