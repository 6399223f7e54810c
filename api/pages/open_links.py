"""A page without links that lead to what its reader may not open: what is not for them is not offered.

A link becomes its words; one that does something is left out, and with it the paragraph that would stand empty.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from typing import Final

__all__ = ["drop_closed_links"]

_ADDRESS: Final = re.compile(r'<a [^>]*?href="(/[^"]*)"')
_LINK: Final = re.compile(r'<a ([^>]*?)href="(/[^"]*)"([^>]*)>(.*?)</a>', re.DOTALL)
#: Pages where something is done or looked up: words that only lead there say nothing by themselves.
_DOING: Final = ("/new/", "/edit/", "/remove/", "/loads", "/history/")
_EMPTY: Final = re.compile(r'<p class="(?:acts(?: [\w-]+)*|forms|small)">[\s,.·]*</p>\n?')


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
    closed = {address for address in dict.fromkeys(_ADDRESS.findall(text)) if not may_open(unescape(address))}
    for address in sorted(closed):
        text = _drop(text, address)
    return _EMPTY.sub("", text) if closed else text


def _drop(text: str, address: str) -> str:
    """Return the HTML of a page without the links to one address: most pages have hundreds, and few are closed."""
    stated = f'href="{address}"'
    at = text.find(stated)
    while at >= 0:
        link = _LINK.match(text, max(text.rfind("<a ", 0, at), 0))
        if link is None or link[2] != address:
            at = text.find(stated, at + 1)
            continue
        is_act = address.startswith(_DOING) or 'class="act' in link[1] + link[3]
        text = text[: link.start()] + ("" if is_act else link[4]) + text[link.end() :]
        at = text.find(stated, link.start())
    return text
