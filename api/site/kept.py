"""What somebody has kept: the page, keeping one more, removing one."""

from __future__ import annotations

from typing import Final

from flask import Blueprint, Response, current_app

from api.access.database import Database, find_database
from api.access.kept import KeptWays
from api.http.actors import get_actor
from api.http.context import get_desk, get_graph, get_request
from api.pages.kept import build_view, describe_kept
from api.site.sending import send_page
from api.site.stand import go

__all__ = ["build_blueprint", "get_kept"]

_EXTENSION: Final = "newel-kept"


def build_blueprint() -> Blueprint:
    """Return the blueprint of these pages."""
    blueprint = Blueprint("kept", __name__)
    blueprint.add_url_rule("/me/kept", "kept", show_kept)
    blueprint.add_url_rule("/me/kept", "keep", keep, methods=["POST"])
    blueprint.add_url_rule("/me/kept/remove", "remove", remove, methods=["POST"])
    return blueprint


def get_kept() -> KeptWays:
    """Return what people keep; the database is made when it is first asked for."""
    kept: KeptWays | None = current_app.extensions.get(_EXTENSION)
    if kept is None:
        kept = KeptWays(Database(find_database(get_graph().store.path)))
        # another thread may have been first: all use the same
        kept = current_app.extensions.setdefault(_EXTENSION, kept)
    return kept


def show_kept() -> Response:
    """Show what is kept; who looks as nobody chooses first."""
    person = get_actor().person
    if not person:
        return go("/me")
    view = build_view(get_kept().list(person), get_desk().get_state().snapshot.revision)
    return send_page(describe_kept(view, person))


def keep() -> Response:
    """Keep a way or plan of whom one looks as."""
    person, form, state = get_actor().person, get_request().form, get_desk().get_state()
    if not person:
        return go("/me")
    address, words = form.get("address", ""), form.get("words", "")
    if form.get("way"):
        # the way's key, then its words
        key, _, words = form["way"].partition(" ")
        address = f"{address}&show={key}"
    get_kept().keep(person, address, words, state.today, state.snapshot.revision)
    return go("/me/kept")


def remove() -> Response:
    """Keep something no longer."""
    person, number = get_actor().person, get_request().form.get("number", "")
    if person and number.isascii() and number.isdecimal():
        get_kept().remove(person, int(number[:18]))
    return go("/me/kept")
