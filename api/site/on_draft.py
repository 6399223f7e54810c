"""Drafts as they are offered where one changes something: the open ones, and one more in one step."""

from __future__ import annotations

from dataclasses import replace
from typing import Final
from urllib.parse import quote, urlencode

from api.desk.drafts import may_draft
from api.http.actors import get_actor
from api.http.context import get_desk, get_request
from api.pages.page import Link, Page
from ontology.model.tables import PERSONAL_TABLES
from ontology.store.drafts import Draft

__all__ = ["add_drafts", "link_drafts", "list_open_drafts"]

#: Pages with a form that a draft can take in place of everybody's state.
_FORMS: Final = frozenset({"record_form.html", "record_removal.html", "requirement_sheet.html"})
_PERSONAL: Final = frozenset(name.replace("_", "-") for name in PERSONAL_TABLES)


def list_open_drafts() -> list[Draft]:
    """Return the open drafts; none to who may not see drafts."""
    if not may_draft(get_actor()):
        return []
    return [draft for draft in get_desk().graph.drafts.list_all() if draft.state == "open"]


def link_drafts(path: str) -> tuple[Link, ...]:
    """Return the open drafts that who asks may see, each leading to a page as it is on it."""
    return tuple(Link(one.title, f"{path}?{urlencode({'draft': one.id})}") for one in list_open_drafts())


def add_drafts(page: Page) -> Page:
    """Return the page of a form with the drafts it can be sent to instead, where it is one of the present state."""
    parts = get_request().path.split("/")
    is_form = page.template in _FORMS and len(parts) > 2 and parts[2] not in _PERSONAL
    if not is_form or get_desk().get_state().asked.texts or not may_draft(get_actor()):
        return page
    here = quote(get_request().path, safe="/~")
    offered = (*link_drafts(here), Link("Start a draft", f"/new/drafts?{urlencode({'to': here})}"))
    return replace(page, values={**page.values, "on_draft": offered})
