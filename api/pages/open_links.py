"""A page without links that lead to what its reader may not open: what is not for them is not offered.

A link becomes its words; one that does something is left out, and with it the paragraph that would stand empty.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from typing import Final

__all__ = ["drop_closed_links"]

_STATED: Final = 'href="/'
_LINK: Final = re.compile(r'<a ([^>]*?)href="(/[^"]*)"([^>]*)>(.*?)</a>', re.DOTALL)
#: Pages where something is done or looked up: words that only lead there say nothing by themselves.
_DOING: Final = ("/new/", "/edit/", "/remove/", "/loads", "/history/")
_PARAGRAPH: Final = '<p class="'
#: What follows that where nothing is said.
_EMPTY: Final = re.compile(r'(?:acts(?: [\w-]+)*|forms|small)">[\s,.·]*</p>\n?')


def drop_closed_links(text: str, may_open: Callable[[str], bool]) -> str:
    """Return the HTML of a page without the links that may not be opened. O(text).

    Parameters
    ----------
    text : str
    may_open : callable
        An address with what is asked -> whether its reader may open it.

    Examples
    --------
    >>> page = '<a href="/new/roles">Add</a> <a class="act" href="/x">X</a> of <a href="/teams/a">A</a>'
    >>> drop_closed_links(page, lambda address: False)
    '  of A'
    """
    first, *pieces = text.split(_STATED)
    # any address of ours that stands there: what is no link is passed over where it would be dropped
    addresses = [piece.partition('"')[0] for piece in pieces]
    closed = {address for address in dict.fromkeys(addresses) if not may_open(unescape(f"/{address}"))}
    if not closed:
        return text
    kept: list[str] = []
    is_empty = False
    done, at = 0, len(first)
    for address, piece in zip(addresses, pieces, strict=True):
        link = _LINK.match(text, max(text.rfind("<a ", done, at), done)) if address in closed else None
        if link is not None and link[2] == f"/{address}":
            is_act = link[2].startswith(_DOING) or 'class="act' in link[1] + link[3]
            kept += text[done : link.start()], "" if is_act else link[4]
            is_empty, done = is_empty or is_act, link.end()
        at += len(_STATED) + len(piece)
    whole = "".join((*kept, text[done:]))
    return _drop_empty(whole) if is_empty else whole


def _drop_empty(text: str) -> str:
    """Return the HTML of a page without paragraphs that say nothing."""
    first, *others = text.split(_PARAGRAPH)
    empty = ((rest, _EMPTY.match(rest)) for rest in others)
    return first + "".join(_PARAGRAPH + rest if found is None else rest[found.end() :] for rest, found in empty)
