"""The pages of all teams and of one."""

from __future__ import annotations

import datetime as dt
from urllib.parse import urlencode

from flask import Blueprint, Response, redirect
from werkzeug.wrappers import Response as PlainResponse

from api.access.figures import find_small_teams
from api.desk.desk import Answer, Desk, State
from api.desk.draft_states import find_faults
from api.desk.extents import find_extent
from api.desk.parameters import TODAY
from api.desk.question import TEAM, Subject
from api.http.actors import get_actor
from api.http.arguments import read_asked
from api.http.context import get_desk
from api.pages.addresses import build_address
from api.pages.teams import build_team_view, build_teams_view, describe_team, describe_teams
from api.questions import load_question
from api.questions._asks import AskOnDay
from api.site.noticed import add_below
from api.site.question_pages import read_filled
from api.site.records import show_list, show_record
from api.site.sending import find_unchanged, send_page

__all__ = ["RECORDS", "build_blueprint"]

RECORDS = ("teams",)


def build_blueprint() -> Blueprint:
    """Return the blueprint of the pages."""
    blueprint = Blueprint("team-pages", __name__)
    blueprint.add_url_rule("/teams", "list", show_teams)
    blueprint.add_url_rule("/teams/<id>", "show", show_team)
    return blueprint


def _read_day(state: State) -> dt.date:
    on = read_asked(AskOnDay, read_filled(AskOnDay)).on
    return state.today if on == TODAY else on


def _ask_cover(desk: Desk, state: State, team: str, on: dt.date) -> Answer:
    question = load_question("coverage")
    return desk.ask(get_actor(), state, question, Subject(TEAM, team), question.asks[TEAM](on=on))


def show_teams() -> PlainResponse:
    """Show how each team stands of which that may be asked; where there is only one, its cover."""
    unchanged = find_unchanged()
    if unchanged is not None:
        return unchanged
    desk = get_desk()
    state = desk.get_state()
    on = _read_day(state)
    question, actor = load_question("coverage"), get_actor()
    teams = tuple(team for team in state.snapshot.teams if desk.may_ask(actor, state, question, Subject(TEAM, team)))
    if state.snapshot.teams and not teams:
        return show_list("teams")
    if len(teams) == 1:
        asked = {} if on == state.today else {"on": str(on)}
        return redirect(build_address("teams", teams[0], "coverage", asked), 303)
    covers = [_ask_cover(desk, state, team, on) for team in teams]
    return send_page(describe_teams(build_teams_view(covers, state, str(on))), is_tagged=True)


def show_team(id: str) -> Response:
    """Show one team: its crews, what it must be able to do, its places."""
    unchanged = find_unchanged()
    if unchanged is not None:
        return unchanged
    desk = get_desk()
    state = desk.get_state()
    subject = Subject(TEAM, id)
    desk.require_subject(state, subject)
    extent = find_extent(get_actor(), state, load_question("coverage"), subject)
    if extent != "rows" or find_faults(desk.graph, state):
        acts = []
        if extent == "figures":
            acts.append(("See names for a purpose", f"/account/purpose?{urlencode({'team': id})}"))
            if id not in find_small_teams(state.get_whole(), state.today, desk.settings.small_group):
                acts.insert(0, ("Cover in figures", build_address("teams", id, "coverage")))
        return show_record("teams", id, *acts)
    page = describe_team(build_team_view(_ask_cover(desk, state, id, _read_day(state))))
    return send_page(add_below(page, "teams", id), is_tagged=True)
