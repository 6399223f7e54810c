r"""User text in DOT: cleaned, wrapped, escaped.

Three traps of the DOT language are met here and nowhere else: a label that looks like ``<...>`` is read as markup,
a backslash begins an escape, and an ampersand begins an entity even in a plain quoted string
(Graphviz documentation: "Node Shapes", HTML-like labels; "escString").
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from html import escape
from typing import Final
from urllib.parse import quote

import graphviz

from api.desk.plain_cells import say_days
from ontology.plurals import format_count as format_count

#: No-break space: keeps a number with its word.
TIE: Final = "\u00a0"

_LONGEST_COMMENT: Final = 4000

#: Separators, control characters, surrogates, unassigned code points.
_NOT_SHOWN: Final = ("Zs", "Zl", "Zp", "Cc", "Cs", "Cn")


def clean(text: str) -> str:
    """Return the text on one line, without control characters and other things XML cannot hold.

    No-break spaces stay; days are written out, as pages do.

    Examples
    --------
    >>> clean("  pump\\tand\\nvalve "), clean("until 2026-12-07")
    ('pump and valve', 'until 7 December 2026')
    """
    allowed = (" " if c != TIE and unicodedata.category(c) in _NOT_SHOWN else c for c in say_days(text))
    return " ".join(filter(None, "".join(allowed).split(" ")))


def get_width(text: str) -> int:
    """Return the columns a text takes: wide East Asian characters two, combining marks none.

    Examples
    --------
    >>> get_width("Pumpe"), get_width("水道")
    (5, 4)
    """
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in ("W", "F") else 1 for c in text
    )


def wrap(text: str, columns: int) -> list[str]:
    """Return the text in lines of at most `columns`, words whole where they fit; at least one line. O(n) time.

    Examples
    --------
    >>> wrap("Start up a booster pump set", 12)
    ['Start up a', 'booster pump', 'set']
    """
    return _wrap(clean(text), columns, get_width)


def _wrap(text: str, limit: int, measure: Callable[[str], int]) -> list[str]:
    lines: list[str] = [""]
    for word in text.split(" "):
        for part in [word] if measure(word) <= limit else _split_word(word, limit, measure):
            joined = f"{lines[-1]} {part}" if lines[-1] else part
            if measure(joined) <= limit:
                lines[-1] = joined
            else:
                lines.append(part)
    return lines


def _split_word(word: str, limit: int, measure: Callable[[str], int]) -> list[str]:
    parts = [""]
    for character in word:
        if parts[-1] and measure(parts[-1] + character) > limit:
            parts.append("")
        parts[-1] += character
    return parts


def is_right_to_left(text: str) -> bool:
    """Whether the first letter with a direction runs from right to left (as UAX #9, rule P2, decides).

    Examples
    --------
    >>> is_right_to_left("مضخة 2"), is_right_to_left("Pump")
    (True, False)
    """
    for character in text:
        direction = unicodedata.bidirectional(character)
        if direction in ("R", "AL"):
            return True
        if direction == "L":
            return False
    return False


def to_markup(text: str) -> str:
    r"""Return the text for use inside an HTML-like label: one line, every special character an entity.

    The backslash twice: dot puts the names of nodes and graphs for ``\\N`` and ``\\G`` even there.

    Examples
    --------
    >>> to_markup('<b> a & b "c"')
    '&lt;b&gt; a &amp; b &quot;c&quot;'
    >>> to_markup("\\N")
    '&#92;&#92;N'
    """
    return escape(clean(text), quote=True).replace("\\", "&#92;&#92;")


def to_tooltip(text: str) -> str:
    r"""Return the text for a tooltip outside markup: markup signs, backslashes and entities literal.

    dot reads the escapes of a tooltip twice, so a backslash is written four times. The answer goes into graphviz
    calls only, which add the quotes.

    Examples
    --------
    >>> print(to_tooltip("a & b\\n"))
    a &amp; b\\\\n
    """
    escaped: str = graphviz.escape(clean(text).replace("&", "&amp;").replace("\\", "\\\\"))
    return escaped


def get_name(label: str, record_id: str) -> str:
    """Return what a record is called: its label, or where that is blank its id.

    Examples
    --------
    >>> get_name(" ", "p1"), get_name("Ann", "p1")
    ('p1', 'Ann')
    """
    return clean(label) or clean(record_id) or "?"


def get_node_name(kind: str, record_id: str, *more: str) -> str:
    """Return the DOT name of a record's node; the colon, which begins a port, is percent-encoded.

    Examples
    --------
    >>> get_node_name("role", "a:b")
    'role/a%3Ab'
    """
    return "/".join((kind, *(quote(part, safe="-._") for part in (record_id, *more))))


def get_link(collection: str, record_id: str) -> str:
    """Return the address of a record's page.

    Examples
    --------
    >>> get_link("roles", "duty operator")
    '/roles/duty%20operator'
    """
    return f"/{collection}/{quote(record_id, safe='-._')}"


def format_number(value: float) -> str:
    """Return a quantity with at most one decimal, whole numbers without it.

    Examples
    --------
    >>> format_number(16.0), format_number(7.25), format_number(1234.5)
    ('16', '7.2', '1,234.5')
    """
    return f"{value:,.1f}".removesuffix(".0")


def format_cost(cost: float) -> str:
    """Return a cost with its unit.

    Examples
    --------
    >>> format_cost(1780)
    '1,780 cost units'
    """
    return f"{format_number(cost)} cost {'unit' if cost == 1 else 'units'}"


def build_comments(title: str, description: str, *more: str) -> str:
    """Return the lines that a picture begins with: what it shows in words, and how it is drawn.

    A long description goes on in further lines: dot gives up silently on a comment of more than 16 kilobytes.
    """
    parts = _wrap(clean(description), _LONGEST_COMMENT, len)
    lines = [f"title: {clean(title)}", *(f"description: {part}" for part in parts), *filter(None, more)]
    return "".join(f"// {line}\n" for line in lines)


def get_comments(dot_text: str) -> list[str]:
    """Return the comments that a DOT text begins with, without their slashes.

    Examples
    --------
    >>> get_comments("// title: A\\n// page: B\\ndigraph { a }\\n// no")
    ['title: A', 'page: B']
    """
    comments = []
    start = 0
    while dot_text.startswith("// ", start):
        end = dot_text.find("\n", start)
        end = len(dot_text) if end < 0 else end
        comments.append(dot_text[start + 3 : end])
        start = end + 1
    return comments
