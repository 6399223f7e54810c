"""Where a page may lead to that was told by an address: a path of this server, and never anywhere else.

OWASP ASVS 5.0.0, V3.7.2. Browsers read a backslash as a slash and pass over tabs and line breaks (WHATWG URL, basic URL
parser), so what holds one of them is no path of ours.
"""

from __future__ import annotations

from typing import Final

_LONGEST: Final = 2000


def find_own_path(text: str) -> str:
    """Return an address where it is a path of ours, with what is asked in it; "/" where it is anything else.

    Examples
    --------
    >>> [find_own_path(text) for text in ("/teams/w?on=2026-11-24", "//example.org", "https://example.org", "x")]
    ['/teams/w?on=2026-11-24', '/', '/', '/']
    """
    is_plain = len(text) <= _LONGEST and text.isascii() and text.isprintable() and "\\" not in text and " " not in text
    return text if is_plain and text.startswith("/") and not text.startswith("//") else "/"
