"""What stands around every page: the head that says who looks, the way to the page, the languages it can be read in.

Written by hand and not by a template: it is most of what is written on a short page, and nearly always the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Final

from markupsafe import Markup

from api.access.actor import Actor
from api.pages.cells import build_prose
from api.pages.head import Head
from api.pages.languages import Choice, LanguageLink
from api.pages.page import Link, Way
from api.pages.templates import put_out

__all__ = ["write_choice", "write_files", "write_head", "write_trail"]

_MARK: Final = '<img src="/static/stair.svg" alt="" width="30" height="30"> Newel'
_SEARCH: Final = (
    '<form class="search" action="/search" method="get" role="search"><label class="unseen" for="search-words">Search'
    '</label><input id="search-words" name="q" type="search"{} autocomplete="off" '
    'placeholder="Competency, role, name" required><button>Search</button></form>'
)
_SEARCH_EMPTY: Final = _SEARCH.format("")


@lru_cache(maxsize=64)
def write_files(styles: tuple[str, ...], scripts: tuple[str, ...]) -> Markup:
    """Return the files of a page that a browser fetches with it: styles and scripts of `static/`."""
    return Markup(
        "".join(f'<link rel="stylesheet" href="/static/{put_out(style)}">\n' for style in styles)
        + '<link rel="icon" href="/static/stair.svg" type="image/svg+xml">\n'
        + "".join(f'<script type="module" src="/static/{put_out(script)}"></script>\n' for script in scripts)
    )


def write_head(head: Head, way: Way, actor: Actor, searched: str = "") -> Markup:
    """Return the head of a page: home, the ways in of which `way` is the present one, the search, who looks."""
    if head.is_strangers:
        return Markup(f'<span class="home">{_MARK}</span>\n')
    ways = "".join(
        [
            f'<a href="{begin}" aria-current="true">{words}</a>' if one == way else f'<a href="{begin}">{words}</a>'
            for one, (words, begin) in head.ways.items()
        ]
    )
    search = _SEARCH.format(f' value="{put_out(searched)}"') if searched else _SEARCH_EMPTY
    if head.has_accounts:
        who = f'<a href="/account">{put_out(head.name)}</a> <a href="/sign-out">Sign out</a>'
    else:
        who = f'<a href="/me">{put_out(actor.name) if actor.person else "Look as someone"}</a>'
    return Markup(
        f'<a class="home" href="/">{_MARK}</a>\n<nav class="ways" aria-label="Ways in">{ways}</nav>\n'
        f'{search}\n<p class="who"><a href="/my-data">My data</a> {who}</p>'
    )


def write_trail(trail: Sequence[Link]) -> Markup:
    """Return what stands above a page, the outermost first; nothing where nothing does."""
    if not trail:
        return Markup()
    steps = ' <span aria-hidden="true">›</span> '.join(
        [f'<a href="{put_out(step.address)}">{build_prose(step.words)}</a>' for step in trail]
    )
    return Markup(f'<nav class="trail" aria-label="Where this page stands">{steps}</nav>\n')


def write_choice(choice: Choice | None) -> Markup:
    """Return in which languages names can be read; nothing where that is one alone."""
    if choice is None:
        return Markup()
    return Markup(
        '<nav class="languages" aria-label="Language of names"><p>Read names in: '
        f"{', '.join(map(_build_language, choice.links))}. <small>Names and descriptions of competencies, roles and "
        "courses; the pages themselves are in English.</small></p></nav>\n"
    )


def _build_language(one: LanguageLink) -> str:
    tag, words = put_out(one.tag), put_out(one.words)
    if one.is_read:
        return f'<b lang="{tag}">{words}</b>'
    return f'<a href="{put_out(one.address)}" hreflang="{tag}" lang="{tag}">{words}</a>'
