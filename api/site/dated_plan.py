"""The page of a person's plan with dates."""

from __future__ import annotations

from typing import Final

from flask import Blueprint, Response

from api.desk.question import PERSON
from api.http.actors import get_actor
from api.pages.dated_plan import describe_dated_plan
from api.questions import load_question
from api.site.drawing import draw_answer
from api.site.question_pages import ask_for_page
from api.site.sending import find_unchanged, send_page

__all__ = ["build_blueprint"]

PAGES: Final = (("people", "schedule"),)


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("dated-plan", __name__)
    blueprint.add_url_rule("/people/<id>/schedule", "plan", show_plan)
    return blueprint


def show_plan(id: str) -> Response:
    """Show when to take which course."""
    unchanged = find_unchanged()
    if unchanged is not None:
        return unchanged
    answer = ask_for_page(load_question("schedule"), PERSON, id)
    if isinstance(answer, Response):
        return answer
    figure = draw_answer(answer, "A bar for each course, from its first day to its last; the table says the same.")
    page = describe_dated_plan(answer, figure, is_self=get_actor().person == id)
    return send_page(page, is_tagged=answer.is_final)
