"""The page that says what the words mean."""

from __future__ import annotations

from flask import Blueprint, Response

from api.pages.words import describe_words
from api.site.sending import find_unchanged, send_page

__all__ = ["build_blueprint"]


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("words", __name__)
    blueprint.add_url_rule("/words", "show", show_words)
    return blueprint


def show_words() -> Response:
    """Show every word with its meaning."""
    return find_unchanged(is_private=False) or send_page(describe_words(), is_tagged=True)
