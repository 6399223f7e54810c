"""The pages of the frameworks of others: all of them, and letting one go at the second press."""

from __future__ import annotations

from http import HTTPStatus

from flask import Blueprint, Response, redirect
from werkzeug.wrappers import Response as PlainResponse

from api.desk.drafts import may_draft
from api.desk.states import NOW
from api.http.actors import get_actor
from api.http.context import get_desk
from api.pages.outside import describe_outside, describe_removal
from api.site.sending import send_page

__all__ = ["build_blueprint"]


def build_blueprint() -> Blueprint:
    """Return the blueprint of the pages."""
    blueprint = Blueprint("pages-of-outside", __name__)
    blueprint.add_url_rule("/outside", "list", show_all)
    blueprint.add_url_rule("/outside/<id>/removal", "ask", ask_removal)
    blueprint.add_url_rule("/outside/<id>/removal", "remove", remove, methods=("POST",))
    return blueprint


def show_all() -> Response:
    """Show them, by id."""
    desk = get_desk()
    found = [desk.graph.outside.get(one) for one in desk.graph.outside.list_ids()]
    revision = desk.get_state(NOW).snapshot.revision
    # who changes the framework lets one go
    return send_page(describe_outside(found, revision, may_let_go=may_draft(get_actor())))


def ask_removal(id: str) -> Response:
    """Ask whether one is to go."""
    desk = get_desk()
    snapshot = desk.get_state(NOW).snapshot
    one = desk.graph.outside.get(id)
    n_mapped = sum(mapping.framework == id for mapping in snapshot.get_table("mappings").values())
    return send_page(describe_removal(one, n_mapped, snapshot.revision))


def remove(id: str) -> PlainResponse:
    """Let it go."""
    get_desk().graph.outside.remove(id)
    return redirect("/outside", HTTPStatus.SEE_OTHER)
