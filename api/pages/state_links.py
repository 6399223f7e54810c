"""Pages of another state than the present one: every link and every form that asks keeps asking on that state."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from html import escape
from typing import Final
from urllib.parse import urlencode

__all__ = ["PRESENT_REL", "StateBar", "keep_state"]

#: The relation of a link that leads to the present state and stays as it is (RFC 5829).
PRESENT_REL: Final = "latest-version"
_TAG: Final = re.compile(r"<(a|img|form|image|use)\b[^>]*>", re.IGNORECASE)
_ADDRESS: Final = re.compile(r"""(?<![\w-])((?:xlink:)?href|src)=(["'])(/(?!/)[^"'#]*)(#[^"']*)?\2""")
#: What is the same in every state, and what changes something: that is done to the present one.
_TIMELESS: Final = re.compile(
    r"/(?:(?:static|api/browse|edit|new|remove|loads|assess|computing)/.*|words|problems|api/openapi\.json|me|my-data)(?:\?.*)?"
)
_POST: Final = re.compile(r"""\bmethod=["']?post\b""", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class StateBar:
    """What stands above a page of another state: its words, what does not fit in it, and the present page's address."""

    words: str
    remarks: tuple[str, ...]
    present: str


def keep_state(html: str, asked: Mapping[str, str]) -> str:
    """Return a page whose links and asking forms name the state that is asked.

    Parameters
    ----------
    html : str
        As the templates write it: attributes in quotes, addresses of this site beginning with a slash.
    asked : Mapping of parameter to text
        Left out where an address says it already.

    Examples
    --------
    >>> keep_state('<a href="/roles/a?on=x#b">A</a>', {"as_of": "1.2"})
    '<a href="/roles/a?on=x&amp;as_of=1.2#b">A</a>'
    """
    added = escape(urlencode(asked))
    hidden = "".join(f'<input type="hidden" name="{name}" value="{escape(text)}">' for name, text in asked.items())

    def write_address(found: re.Match[str]) -> str:
        name, quote, address, place = found.groups()
        if _TIMELESS.fullmatch(address) or re.search(r"[?&;]as_of=", address):
            return found.group()
        return f"{name}={quote}{address}{'&amp;' if '?' in address else '?'}{added}{place or ''}{quote}"

    def write_tag(found: re.Match[str]) -> str:
        tag = found.group()
        if found.group(1).lower() == "form":
            return tag if _POST.search(tag) else tag + hidden
        return tag if f'rel="{PRESENT_REL}"' in tag else _ADDRESS.sub(write_address, tag)

    return _TAG.sub(write_tag, html)
