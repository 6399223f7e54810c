"""The page of a person's ways to a role, side by side."""

from __future__ import annotations

from typing import Final

from flask import Blueprint, Response

from api.desk.question import PERSON
from api.http.actors import get_actor
from api.http.context import get_request
from api.pages.ways import build_view, describe_ways
from api.questions import load_question
from api.site.drawing import draw_answer
from api.site.question_pages import ask_for_page
from api.site.sending import find_unchanged, send_page

__all__ = ["build_blueprint"]

PAGES: Final = (("people", "routes"),)


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("ways", __name__)
    blueprint.add_url_rule("/people/<id>/routes", "ways", show_ways)
    return blueprint


def show_ways(id: str) -> Response:
    """Show the ways of a person to a role."""
    unchanged = find_unchanged()
    if unchanged is not None:
        return unchanged
    answer = ask_for_page(load_question("routes"), PERSON, id, but=("show",))
    if isinstance(answer, Response):
        return answer
    view = build_view(answer, get_request().args.get("show", ""))
    figure = draw_answer(answer, "The ways as ladders: a rung for each role, the courses before each move.")
    page = describe_ways(answer, view, figure, is_self=get_actor().person == id)
    return send_page(page, is_tagged=answer.is_final)
