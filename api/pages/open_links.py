"""A page without links that lead to what its reader may not open: what is not for them is not offered.

A link becomes its words; one that does something is left out, and with it the paragraph that would stand empty.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from typing import Final

__all__ = ["drop_closed_links"]

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
    known: dict[str, bool] = {}
    dropped = False

    def write(match: re.Match[str]) -> str:
        nonlocal dropped
        before, address, after, words = match.groups()
        is_open = known.get(address)
        if is_open is None:
            is_open = known[address] = may_open(unescape(address))
        if is_open:
            return match.group()
        dropped = True
        return "" if address.startswith(_DOING) or 'class="act' in before + after else words

    written = _LINK.sub(write, text)
    return _EMPTY.sub("", written) if dropped else written
