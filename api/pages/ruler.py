"""A ruler of levels: numbered squares, black held, a blue line under those asked, missing ones boxed; and its words."""

from __future__ import annotations

from functools import lru_cache

from markupsafe import Markup

__all__ = ["write_ruler"]


@lru_cache(maxsize=4096)
def write_ruler(rank: int | None, asked: int | None, steps: int) -> Markup:
    """Return the ruler of a scale of so many levels.

    `rank` is the level that counts, None where it was never assessed; `asked` None where nothing is.
    There are few different ones, and a page holds dozens.

    Examples
    --------
    >>> str(write_ruler(None, 1, 2)).partition("</span><small>")[2]
    'not assessed, 1 asked</small></span>'
    """
    held, wanted = rank or 0, asked or 0
    squares = []
    for n in range(1, steps + 1):
        kind = "has" if n <= held else "lacks" if n <= wanted else ""
        line = " asked" if n <= wanted else ""
        squares.append(f'<i class="{kind}{line}">{n}</i>')
    words = ("not assessed" if rank is None else f"level {rank}") + (f", {asked} asked" if asked is not None else "")
    drawn = "".join(squares)
    # made of numbers and of our own words alone
    return Markup(
        f'<span class="ruler"><span class="squares" aria-hidden="true">{drawn}</span><small>{words}</small></span>'
    )
