"""Pictures inside pages: of an answer, of a record. What is not private is kept, so dot runs once for it. Flask."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from api.desk.desk import Answer
from api.desk.question import Subject
from api.http.actors import get_actor
from api.http.context import get_desk
from api.http.pictures import get_record_picture
from api.pages.addresses import build_address
from api.pages.figure import Figure, build_figure
from api.pages.sheet_page import get_picture_address
from api.pictures.render import render

__all__ = ["draw_answer", "draw_record"]

_FORM: Final = "svg in a page"


def draw_answer(answer: Answer, words: str = "") -> Figure | None:
    """Return the picture of an answer; None where its question has none."""
    enquiry = answer.enquiry
    question, desk = enquiry.question, get_desk()
    draw = question.draw
    if draw is None or enquiry.is_in_figures:
        return None

    def make() -> bytes:
        dot = draw(enquiry.state.snapshot, enquiry.subject, enquiry.asked, answer.result, layout="screen", page=1)
        return render(str(dot), "svg")

    is_kept = answer.is_final and not question.is_private
    make_once: Callable[[], bytes] = lambda: desk.keep(desk.get_tag(enquiry, _FORM), make)  # noqa: E731
    return build_figure(get_picture_address(enquiry), words, make_once if is_kept else make)


def draw_record(subject: Subject, words: str = "") -> Figure:
    """Return the picture of a role or a competency."""
    desk = get_desk()
    state = desk.get_state()
    draw = get_record_picture(subject.kind)
    tag = desk.tag_record(state, subject, "", get_actor(), _FORM)

    def make() -> bytes:
        return render(draw(state.snapshot, subject.id, layout="screen", page=1), "svg")

    address = "/api" + build_address(subject.kind.value, subject.id, "diagram")
    return build_figure(address, words, lambda: desk.keep(tag, make))
