"""The page of a team's cover."""

from __future__ import annotations

import dataclasses

from flask import Blueprint, Response

from api.desk.question import TEAM
from api.http.context import get_desk
from api.pages.coverage import build_view, describe_coverage
from api.pages.writing import describe_answer
from api.questions import load_question
from api.site.question_pages import ask_for_page
from api.site.sending import find_unchanged, send_page

__all__ = ["PAGES", "build_blueprint"]

PAGES = (("teams", "coverage"),)


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("team-cover", __name__)
    blueprint.add_url_rule("/teams/<id>/coverage", "show", show_coverage)
    return blueprint


def show_coverage(id: str) -> Response:
    """Show what a team can do on a day, and what would hold if some were away."""
    unchanged = find_unchanged()
    if unchanged is not None:
        return unchanged
    desk = get_desk()
    cover = ask_for_page(load_question("coverage"), TEAM, id)
    if isinstance(cover, Response):
        return cover
    if cover.enquiry.is_in_figures:
        return send_page(describe_answer(cover), is_tagged=True)
    enquiry = cover.enquiry
    actor, state, subject, asked = enquiry.actor, enquiry.state, enquiry.subject, enquiry.asked
    question = load_question("filled-places")
    filled = desk.ask(actor, state, question, subject, question.asks[TEAM](on=asked.on, away=asked.away))
    base = cover
    if asked.away:
        base = desk.ask(actor, state, enquiry.question, subject, dataclasses.replace(asked, away=frozenset()))
    return send_page(describe_coverage(build_view(cover, filled, base)), is_tagged=True)
