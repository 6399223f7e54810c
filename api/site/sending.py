"""A page as a response: its tag, what caches are told, and one part of it where a script asks for a part. Flask.

A page is told by its address, the state of the data, the day and who looks: the same tag, the same bytes. So a page
that has not changed is neither asked for nor written again.
"""

from __future__ import annotations

import hashlib
from functools import cache
from http import HTTPStatus
from pathlib import Path
from typing import Final
from urllib.parse import quote, urlencode

from flask import Response
from werkzeug.http import quote_etag

from api.access.actor import Actor
from api.desk.states import STATE_PARAMETERS, State
from api.desk.text_languages import find_text_languages
from api.http.actors import get_actor
from api.http.context import SAFE_METHODS, get_desk, get_request, read_state_asked
from api.http.etags import build_not_modified, has_tag, is_unchanged
from api.http.guard import build_opener
from api.http.page_text import write_page, write_part
from api.http.quick_response import QuickResponse
from api.http.signed_in import find_session
from api.pages.addresses import build_record_address
from api.pages.languages import Choice, build_choice, mark_texts
from api.pages.open_links import drop_closed_links
from api.pages.page import Page
from api.pages.state_links import StateBar, keep_language, keep_state
from api.site.on_draft import add_drafts
from api.site.share_offer import add_offer
from api.version import get_version
from ontology.snapshot.languages import list_languages

__all__ = ["PART", "find_unchanged", "send_page"]

#: The header by which a script asks for one block of a page.
PART: Final = "Newel-Part"
#: What caches are told of a page that is private, and of another.
_RULES: Final = {True: "private, no-store", False: "private, no-cache"}
_HTML: Final = ("Content-Type", "text/html; charset=utf-8")
_VARY: Final = ("Vary", f"Accept, Cookie, {PART}")
#: Where a request holds that header (PEP 3333): to ask its headers for it costs several times as much.
_PART_GIVEN: Final = f"HTTP_{PART.upper().replace('-', '_')}"
_ROOM: Final = Path(__file__).resolve().parent.parent


def find_unchanged(*, is_private: bool = True, more: str = "") -> Response | None:
    """Return 304 where the browser has this page as it would be written now; None where it is to be written.

    For pages that show nothing but what the store holds, and what `more` stands for: ask first, and hand `is_tagged`
    and `more` to `send_page`.
    """
    request = get_request()
    if not has_tag(request):
        return None
    tag = _build_tag(get_actor(), more)
    if not is_unchanged(request, tag):
        return None
    response = build_not_modified(tag, is_weak=True)
    response.headers["Cache-Control"] = _RULES[is_private]
    return response


def send_page(page: Page, *, status: int = 200, is_tagged: bool = False, more: str = "") -> Response:
    """Return the response that holds a page, or the part of it that a script asks for.

    Parameters
    ----------
    status : int
        422 for a form with wrong values, 202 while something computes, ...
    is_tagged : bool
        Whether it shows nothing but what the store holds, so that its tag tells whether it has changed.
    more : str
        What stands for all else that it shows.
    """
    part = _read_part()
    text = write_part(page, part) if part else None
    state = get_desk().get_state()
    if text is None:
        page = add_drafts(page)
        shown = add_offer(page) if status == HTTPStatus.OK else page
        text = write_page(shown, _build_bar(state), _build_choice(state))
    if state.told is not None:
        text = keep_state(text, state.asked.texts)
    language = read_state_asked(get_request()).language
    if language:
        text = keep_language(text, language)
    languages = find_text_languages(state)
    if languages is not None:
        text = mark_texts(text, languages)
    if not get_actor().is_owner:
        text = drop_closed_links(text, build_opener())
    headers = [_HTML, ("Cache-Control", _RULES[page.is_private]), _VARY]
    if is_tagged:
        headers.append(("ETag", quote_etag(_build_tag(get_actor(), more), weak=True)))
    return QuickResponse(text.encode(), tuple(headers), status)


def _read_part() -> str:
    """Return which block of a page a script asks for; "" for all of it."""
    part: str = get_request().environ.get(_PART_GIVEN, "")
    return part


def _build_bar(state: State) -> StateBar | None:
    """Return what stands above a page of another state than the present one; it leads to the same page of today."""
    if state.told is None:
        return None
    request = get_request()
    rest = [(name, text) for name, text in request.args.items(multi=True) if name not in STATE_PARAMETERS]
    present = quote(request.path) + (f"?{urlencode(rest)}" if rest else "")
    draft = state.told.draft
    return StateBar(state.bar, state.remarks, present, build_record_address("drafts", draft) if draft else "")


def _build_choice(state: State) -> Choice | None:
    """Return in which languages the page can be read; None where that is one alone, or what was sent is shown."""
    request = get_request()
    others = list_languages(state.snapshot)
    if state.reading is None or not others or request.method not in SAFE_METHODS:
        return None
    asked = request.args.items(multi=True)
    return build_choice(request.path, asked, state.reading.main, others, state.reading.language)


def _build_tag(actor: Actor, more: str) -> str:
    """Return what stands for a page: what is asked, by whom, of which state, written by which program."""
    request, state = get_request(), get_desk().get_state()
    session = find_session()  # its token stands in the forms of a page
    of_whom = "" if session is None else f"{session.number} {session.made_at!r}"
    asked = (request.full_path, _read_part(), actor.key, actor.person, of_whom)
    return hashlib.sha256("\n".join((*asked, state.key, more, _get_program())).encode()).hexdigest()[:32]


@cache
def _get_program() -> str:
    """Return what stands for the program: its version, and the templates and styles it was started with."""
    digest = hashlib.sha256(get_version().encode())
    for path in sorted((*(_ROOM / "templates").rglob("*.html"), *(_ROOM / "static").glob("*"))):
        digest.update(path.read_bytes())
    return digest.hexdigest()
