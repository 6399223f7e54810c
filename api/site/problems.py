"""The page that says what kinds of problems an answer can name."""

from __future__ import annotations

from flask import Blueprint, Response

from api.errors import ERROR_TABLE
from api.pages.page import Page
from api.site.sending import send_page

__all__ = ["build_blueprint"]


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("problems", __name__)
    blueprint.add_url_rule("/problems", "show", show_problems)
    return blueprint


def show_problems() -> Response:
    """Show every kind of problem an answer can name."""
    kinds = sorted({(kind.status, kind.name, kind.title) for kind in ERROR_TABLE.values()})
    return send_page(Page("problems.html", {"kinds": kinds}, is_private=False))
