"""The page of people: by name, team and role, and of one team by what they can do."""

from __future__ import annotations

from dataclasses import dataclass

from flask import Blueprint
from werkzeug.wrappers import Response as PlainResponse

from api.desk.parameters import param
from api.desk.question import COMPANY, Subject
from api.http.actors import get_actor
from api.http.arguments import read_asked
from api.http.context import get_desk
from api.pages.people import build_view, describe_people
from api.questions import load_question
from api.questions.company.who_can import AskWhoCan
from api.site.question_pages import read_filled
from api.site.records import show_list
from api.site.sending import find_unchanged, send_page

__all__ = ["build_blueprint"]

_ONE_TEAM = "Choose a team as well: what people can do is looked up in one team at a time, never across teams."


@dataclass(frozen=True, kw_only=True)
class AskPeople(AskWhoCan):
    """Which page of them."""

    page: int = param("Which page.", default=1, minimum=1, maximum=100_000)


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("people-pages", __name__)
    blueprint.add_url_rule("/people", "list", show_people)
    return blueprint


def show_people() -> PlainResponse:
    """Show who fits what is asked."""
    unchanged = find_unchanged()
    if unchanged is not None:
        return unchanged
    desk = get_desk()
    state = desk.get_state()
    if not desk.may_ask(get_actor(), state, load_question("who-can"), Subject(COMPANY)):
        return show_list("people")
    asked = read_asked(AskPeople, read_filled(AskPeople))
    is_across = asked.competency is not None and asked.team is None
    is_asked = asked.competency is not None and not is_across
    question = AskWhoCan(
        on=asked.on,
        q=asked.q,
        team=asked.team,
        role=asked.role,
        competency=asked.competency if is_asked else None,
        level=asked.level if is_asked else None,
    )
    answer = desk.ask(get_actor(), state, load_question("who-can"), Subject(COMPANY), question)
    view = build_view(answer, page=asked.page, hint=_ONE_TEAM if is_across else "")
    return send_page(describe_people(view), is_tagged=True)
