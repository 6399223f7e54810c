"""How many examples a property draws: a third of the most in a usual run, all where NEWEL_EXAMPLES says so.

Every run draws others, so what one leaves out the next ones look at.
"""

from __future__ import annotations

import os
from typing import Final

__all__ = ["draws"]

#: The share of the most; `make thorough` asks for all of them.
_SHARE: Final = float(os.environ.get("NEWEL_EXAMPLES", "0.33"))
#: Properties that draw so few take long for each: they keep them all.
_FEW: Final = 8


def draws(most: int, least: int = _FEW) -> int:
    """Return how many examples to draw of the most that are worth their time."""
    return min(most, max(least, round(most * _SHARE)))
