"""How wide text is in print, and where it breaks. Imports style and text.

The widths are those of Helvetica and Helvetica Bold (Adobe Core 14 AFM files, in thousandths of the size); Arial and
Liberation Sans have the same. Letters outside ASCII count as their base letter, others by their script, rather too
wide than too narrow: the layout is computed where no program and no font need to be.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from typing import Final

from api.diagrams.text import TIE, clean, wrap_by

#: Height of a line of text in sizes: what dot takes.
LINE_HEIGHT: Final = 1.2
#: Hinting on a screen may widen text a little.
_SLACK: Final = 1.015

#: From the space (32) to the tilde (126).
_REGULAR: Final = (
    "278 278 355 556 556 889 667 191 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 278 278 "
    "584 584 584 556 1015 667 667 722 722 667 611 778 722 278 500 667 556 833 722 778 667 778 722 667 611 722 667 944 "
    "667 667 611 278 278 278 469 556 333 556 556 500 556 556 278 556 556 222 222 500 222 833 556 556 556 556 333 500 "
    "278 556 500 722 500 500 500 334 260 334 584"
)
_BOLD: Final = (
    "278 333 474 556 556 889 722 238 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 333 333 "
    "584 584 584 611 975 722 722 722 722 667 611 778 722 278 556 722 611 833 722 778 667 778 722 667 611 722 667 944 "
    "667 667 611 333 278 333 584 556 333 556 611 556 611 556 333 611 611 278 278 556 278 889 611 611 611 611 389 556 "
    "333 611 556 778 556 556 500 389 280 389 584"
)
_WIDTHS: Final = {
    is_bold: {chr(32 + i): int(width) for i, width in enumerate(table.split())}
    for is_bold, table in ((False, _REGULAR), (True, _BOLD))
}
_WIDE: Final = 1050
_OTHER: Final = 760


@lru_cache(maxsize=4096)
def _get_width(character: str, is_bold: bool) -> int:
    table = _WIDTHS[is_bold]
    if character in table:
        return table[character]
    if character == TIE:
        return table[" "]
    if unicodedata.combining(character):
        return 0
    if unicodedata.east_asian_width(character) in ("W", "F"):
        return _WIDE
    base = unicodedata.normalize("NFD", character)[0]
    return table.get(base, _OTHER)


def measure(text: str, size_pt: float, *, is_bold: bool = False) -> float:
    """Return the width of one line of text, in points.

    Examples
    --------
    >>> round(measure("10 h", 10), 1)
    19.8
    """
    return sum(_get_width(character, is_bold) for character in text) * size_pt * _SLACK / 1000


@lru_cache(maxsize=20_000)
def wrap_to_width(
    text: str, width_pt: float, size_pt: float, is_bold: bool = False, max_lines: int | None = None
) -> tuple[str, ...]:
    """Return the text in lines no wider than `width_pt`, cut with an ellipsis after `max_lines`.

    Examples
    --------
    >>> wrap_to_width("Start up a booster pump set", 60, 9)
    ('Start up a', 'booster pump', 'set')
    """
    return tuple(wrap_by(clean(text), width_pt, max_lines, lambda part: measure(part, size_pt, is_bold=is_bold)))
