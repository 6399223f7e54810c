"""How much time is left: the only clock of the analyses, and it never tells the date.

May import nothing of ours.
"""

from __future__ import annotations

import time

__all__ = ["Deadline"]


class Deadline:
    """A point in time after which a search should stop; without a limit it never comes.

    Parameters
    ----------
    limit_s : float or None
        Seconds from now; None means no limit.
    """

    def __init__(self, limit_s: float | None) -> None:
        self._end = None if limit_s is None else time.monotonic() + limit_s

    def get_remaining_s(self) -> float | None:
        """Return the seconds left, never below 0; None without a limit."""
        return None if self._end is None else max(0.0, self._end - time.monotonic())

    def get_share(self, share: float) -> Deadline:
        """Return the deadline after this share of the time left; none where there is none."""
        left = self.get_remaining_s()
        return Deadline(None if left is None else share * left)

    def is_over(self) -> bool:
        """Tell whether the time is up."""
        return self._end is not None and time.monotonic() >= self._end
