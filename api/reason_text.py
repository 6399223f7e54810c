"""Why someone changes something, in their own words: what can be kept of it."""

from __future__ import annotations

from typing import Final

from loaders.tables.cells import CellError, require_fit

LONGEST_REASON: Final = 500


def check_reason(text: str, *, may_be_empty: bool = False) -> str:
    """Return what is wrong with a reason, "" where nothing is.

    Examples
    --------
    >>> check_reason("New plant"), check_reason("")
    ('', 'must be filled in')
    """
    try:
        require_fit(text)
    except CellError as error:
        return str(error)
    if len(text) > LONGEST_REASON:
        return f"must be at most {LONGEST_REASON} characters long"
    return "" if text or may_be_empty else "must be filled in"
