"""The first page: what is broken, what is due and what comes, for each way of who looks."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Any

from flask import Blueprint, Response
from werkzeug.exceptions import HTTPException

from api.access.actor import Actor, Role
from api.desk.desk import Answer, State
from api.desk.parameters import TODAY
from api.desk.question import COMPANY, PERSON, TEAM, Subject
from api.http.access_context import get_access
from api.http.actors import get_actor
from api.http.arguments import read_asked
from api.http.context import get_desk, get_request
from api.pages.today import build_view, describe_today
from api.pages.today_accounts import build_accounts_section
from api.pages.today_framework import LOOKED_AHEAD, build_framework_section
from api.pages.today_lists import ROWS_SHOWN, TodaySection
from api.pages.today_person import DAYS_AHEAD, build_person_section
from api.pages.today_team import build_team_section
from api.questions import load_question
from api.questions._asks import AskOnDay
from api.site.computing import ask_or_compute
from api.site.on_draft import list_open_drafts
from api.site.sending import find_unchanged, send_page
from ontology.analysis.profiles.belonging import get_person_on
from ontology.errors import UnavailableError
from ontology.model.tables import TABLES
from ontology.store.drafts import Draft

__all__ = ["build_blueprint"]

#: Rows of all tables that are checked for a first page; what breaks a rule in more has its own page.
_MOST_CHECKED = 20_000
#: Of so many needs of the company at the most it is looked who could lend, so that the page stays quick.
_NEEDS_TOLD = 4 * ROWS_SHOWN
#: Of so many of the teams that one leads their cover stands on the first page.
_TEAMS_SHOWN = 3


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("today", __name__)
    blueprint.add_url_rule("/", "show", show_today)
    return blueprint


def show_today() -> Response:
    """Show the first page: of who is chosen, or the ways in for who is new."""
    drafts = list_open_drafts()
    stamp = "\n".join(f"{draft.id} {draft.number}" for draft in drafts)
    unchanged = find_unchanged(more=stamp)
    if unchanged is not None:
        return unchanged
    actor, state = get_actor(), get_desk().get_state()
    asked = read_asked(AskOnDay, get_request().args).on
    on = state.today if asked == TODAY else asked
    is_signed_in = not actor.is_owner
    sections = tuple(_iterate_sections(actor, state, on, drafts)) if actor.person or is_signed_in else ()
    sees_all = not sections and not is_signed_in
    asked_of_all = {"on": on, "limit": _NEEDS_TOLD}
    company = _ask_if_quick(actor, state, "company-cover", Subject(COMPANY), **asked_of_all) if sees_all else None
    view = build_view(state, on, sections=sections, company=company, sees_all=sees_all)
    # of accounts the state of the data says nothing
    is_tagged = not view.is_waiting and Role.ADMINISTRATOR not in actor.roles
    return send_page(describe_today(view), is_tagged=is_tagged, more=stamp)


def _ask(actor: Actor, state: State, name: str, subject: Subject, **asked: Any) -> Answer:
    question = load_question(name)
    return ask_or_compute(get_desk().receive(actor, state, question, subject, question.asks[subject.kind](**asked)))


def _ask_if_quick(actor: Actor, state: State, name: str, subject: Subject, **asked: Any) -> Answer | None:
    """Return an answer that is known within the time a page waits; None while it is worked out."""
    try:
        return _ask(actor, state, name, subject, **asked)
    except (HTTPException, UnavailableError):
        return None


def _iterate_sections(actor: Actor, state: State, on: dt.date, drafts: Sequence[Draft]) -> Iterator[TodaySection]:
    """Yield the sections of the teams that one leads, then the own one, then the framework's: those one may see."""
    snapshot, desk = state.snapshot, get_desk()
    for team_id in _list_teams(actor, state, on):
        team = Subject(TEAM, team_id)
        names = ("coverage", "filled-places", "single-points-of-failure")
        cover, filled, points = (_ask(actor, state, name, team, on=on) for name in names)
        yield build_team_section(cover, filled, points, _ask_if_quick(actor, state, "coverage-timeline", team, on=on))
    if actor.person in snapshot.people:
        own = Subject(PERSON, actor.person)
        agenda = _ask(actor, state, "person-agenda", own, on=on, days=DAYS_AHEAD)
        yield build_person_section(_ask(actor, state, "levels", own, on=on), agenda)
    access = get_access()
    if access is not None and Role.ADMINISTRATOR in actor.roles:
        yield build_accounts_section(access.accounts.list(), access.invitations.list(), state.today)
    if desk.may_ask(actor, state, load_question("to-mend"), Subject(COMPANY)):
        yield _build_framework_section(actor, state, on, drafts)


def _list_teams(actor: Actor, state: State, on: dt.date) -> list[str]:
    """Return the teams whose cover one looks at first: those one leads; who owns all, that of whom they look as."""
    snapshot = state.snapshot
    teams = [get_person_on(snapshot, actor.person, on).team] if actor.is_owner else sorted(actor.leads)
    asked = [team for team in teams if snapshot.get_cover_needs(team) or snapshot.get_places(team)]
    return asked[:_TEAMS_SHOWN]


def _build_framework_section(actor: Actor, state: State, on: dt.date, drafts: Sequence[Draft]) -> TodaySection:
    to_mend = _ask_if_quick(actor, state, "to-mend", Subject(COMPANY), on=on)
    then = on + min(LOOKED_AHEAD, dt.date.max - on)
    teams = [Subject(TEAM, team) for team in state.snapshot.teams if state.snapshot.get_cover_needs(team)]
    coverage = load_question("coverage")
    teams = [team for team in teams if get_desk().may_ask(actor, state, coverage, team)]
    covers = [tuple(_ask(actor, state, "coverage", team, on=day) for day in (on, then)) for team in teams]
    of_dues = load_question("company-obligations")
    sees_dues = get_desk().may_ask(actor, state, of_dues, Subject(COMPANY))
    dues = _ask(actor, state, of_dues.name, Subject(COMPANY), on=on) if sees_dues else None
    is_small = sum(len(state.snapshot.get_table(name)) for name in TABLES) <= _MOST_CHECKED
    findings = _ask(actor, state, "findings", Subject(COMPANY), on=on, limit=ROWS_SHOWN + 1) if is_small else None
    told = [(now, later) for now, later in covers]
    return build_framework_section(state.snapshot, told, dues, to_mend, findings, drafts)
