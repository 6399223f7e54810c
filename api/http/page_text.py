"""The text of a page as it is sent: its head says who has signed in, its forms hold their tokens.

The one way from a page to its text on a server, so that no form can go out without its token.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Final

from api.access.actor import Actor, Role
from api.access.check import could
from api.access.rights import Kind, Verb
from api.http.access_context import get_access
from api.http.actors import get_actor
from api.http.context import get_desk
from api.http.form_tokens import add_tokens
from api.http.guard import build_opener
from api.pages.head import OPEN, Head
from api.pages.languages import Choice
from api.pages.page import WAYS, Link, Page, Way
from api.pages.state_links import StateBar
from api.pages.writing import render, render_part

_COVER: Final = Link(*WAYS["cover"])
#: What the way to the teams is called for who sees no more than their names.
_TEAMS: Final = ("Teams", "/teams")


def write_page(page: Page, bar: StateBar | None = None, choice: Choice | None = None) -> str:
    """Return a page as who looks sees it; the bar tells of another state, the choice of other languages."""
    head = _build_head()
    if head.ways.get("cover") is _TEAMS:
        page = replace(page, trail=tuple(Link(*_TEAMS) if crumb == _COVER else crumb for crumb in page.trail))
    return add_tokens(render(page, get_actor(), bar, head, choice))


def write_part(page: Page, part: str) -> str | None:
    """Return one block of a page by its name; None where it has none of this name."""
    text = render_part(page, get_actor(), part)
    return None if text is None else add_tokens(text)


def _build_head() -> Head:
    access = get_access()
    if access is None:
        return OPEN
    actor = get_actor()
    # they hang on what one may see alone
    ways = get_desk().choose_state().snapshot.keep("ways in", lambda: _choose_ways(actor, build_opener()))
    return Head(True, actor.name, ways)


def _choose_ways(actor: Actor, may_open: Callable[[str], bool]) -> Mapping[Way, tuple[str, str]]:
    # where one stands is asked of who is a person
    ways = {way: told for way, told in WAYS.items() if (actor.person or way != "stand") and may_open(told[1])}
    if "cover" in ways and not (Role.ARCHITECT in actor.roles or could(actor, Kind.TEAM_ANSWERS, Verb.SEE)):
        ways["cover"] = _TEAMS  # they see teams, and of no team its cover
    return ways
