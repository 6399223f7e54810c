"""A page without links that lead to what its reader may not open: what is not for them is not offered.

A link becomes its words; one that does something is left out, and with it the paragraph that would stand empty.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
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
    # any address of ours that stands there: what is no link is passed over where it would be dropped
    addresses = dict.fromkeys(piece.partition('"')[0] for piece in text.split(_STATED)[1:])
    closed = [address for address in addresses if not may_open(unescape(f"/{address}"))]
    if not closed:
        return text
    kept: list[str] = []
    done = 0
    for begin, end, words in sorted(link for address in closed for link in _find_links(text, f"/{address}")):
        kept += text[done:begin], words
        done = end
    return _drop_empty("".join((*kept, text[done:])))


def _drop_empty(text: str) -> str:
    """Return the HTML of a page without paragraphs that say nothing."""
    first, *others = text.split(_PARAGRAPH)
    empty = ((rest, _EMPTY.match(rest)) for rest in others)
    return first + "".join(_PARAGRAPH + rest if found is None else rest[found.end() :] for rest, found in empty)


def _find_links(text: str, address: str) -> Iterator[tuple[int, int, str]]:
    """Yield where each link to an address begins and ends, and what is left of it: pages have hundreds of others."""
    stated = f'href="{address}"'
    at = text.find(stated)
    while at >= 0:
        link = _LINK.match(text, max(text.rfind("<a ", 0, at), 0))
        if link is not None and link[2] == address:
            is_act = address.startswith(_DOING) or 'class="act' in link[1] + link[3]
            yield link.start(), link.end(), "" if is_act else link[4]
        at = text.find(stated, at + 1)
