"""How often Python looks for objects that hold each other: seldom, for whoever keeps a framework in memory."""

from __future__ import annotations

import gc
from typing import Final

#: Objects made before the youngest are looked through, and how many such rounds make one of the older ones. By default
#: every 700: a third of the processor time of the tests went into looking through Snapshots, which hold no cycles.
_THRESHOLDS: Final = (20_000, 20, 10)


def collect_seldom() -> None:
    """Look for cycles of objects seldom; most objects go by their count, without this."""
    gc.set_threshold(*_THRESHOLDS)
