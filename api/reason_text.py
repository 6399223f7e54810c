"""Why someone changes something, in their own words: what can be kept of it."""

from __future__ import annotations

from typing import Final

from loaders.tables.cells import CellError, require_fit
from ontology.errors import InputError

LONGEST_REASON: Final = 500


def require_reason(text: str, *, may_be_empty: bool = False) -> str:
    """Return a reason that can be kept; InputError, which names it, for any other."""
    wrong = check_reason(text, may_be_empty=may_be_empty)
    if wrong:
        raise InputError(f"The reason {wrong}.", parameter="reason", value=text, reason=wrong)
    return text


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
