"""The search: /search, and the suggestions below its field."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from flask import Blueprint, Response
from werkzeug.datastructures import MultiDict

from api.desk.parameters import Asks, param
from api.http.arguments import read_asked
from api.http.context import get_desk, get_request
from api.pages.search import KINDS, build_suggestions, build_view, describe_search, describe_suggestions
from api.site.sending import PART, send_page

__all__ = ["build_blueprint"]

_SUGGESTIONS: Final = "suggestions"
_Kind = Literal["all", "competencies", "roles", "courses", "teams", "people"]


@dataclass(frozen=True, kw_only=True)
class AskSearch(Asks):
    """Where is it?"""

    q: str = param("Words of the name, each whole or begun.", default="")
    kind: _Kind = param("Of which kind.", default="all", name="in")
    page: int = param("Page, from 1.", default=1, minimum=1)


def build_blueprint() -> Blueprint:
    """Return the blueprint of the search."""
    blueprint = Blueprint("search", __name__)
    blueprint.add_url_rule("/search", "search", show_search)
    return blueprint


def show_search() -> Response:
    """Show what is called so; only the first few links where the field's script asks."""
    filled = MultiDict([(name, text) for name, text in get_request().args.items(multi=True) if text])
    asked = read_asked(AskSearch, filled)
    snapshot, tables = get_desk().get_state().snapshot, tuple(KINDS)
    if get_request().headers.get(PART) == _SUGGESTIONS:
        return send_page(describe_suggestions(asked.q, build_suggestions(snapshot, asked.q, tables)))
    only = "" if asked.kind == "all" else asked.kind
    return send_page(describe_search(build_view(snapshot, asked.q.strip(), tables, only, asked.page)))
