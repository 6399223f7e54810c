"""The first words of an answer, for the title of its page."""

from __future__ import annotations

import re
from typing import Final

__all__ = ["find_first_words"]

_END: Final = re.compile(r"[:;.](?=\s|$)")
_MOST: Final = 80


def find_first_words(lead: str) -> str:
    """Return the first clause of a sentence; of a long one as many whole words as a title bears.

    Examples
    --------
    >>> find_first_words("You meet everything your role asks at full level: 1 of 1 that blocks."), find_first_words("")
    ('You meet everything your role asks at full level', '')
    """
    clause = _END.split(lead, maxsplit=1)[0]
    return clause if len(clause) <= _MOST else clause[:_MOST].rpartition(" ")[0] + " …"
