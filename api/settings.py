"""What can be set from outside: sizes and times. Imports nothing of ours."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Settings:
    """Limits of the service.

    Parameters
    ----------
    max_body_bytes : int
        Largest request body, in bytes; larger ones get 413.
    page_size_default, page_size_max : int
        Records on one page of a list.
    time_limit_default_s, time_limit_max_s : float
        Seconds a slow answer may compute: when nothing is asked, and at the most.
    answer_cache_bytes : int
        Answers kept for who asks the same again, in bytes of their text; 0 keeps none.
    threads : int
        Requests the server answers side by side.
    slow_computing_max, slow_waiting_max : int
        Slow answers that compute at once, and that may wait for their turn; further ones get 503. Together they are
        fewer than `threads`, so that a quick answer never waits for a slow one.

    Raises
    ------
    ValueError
        Slow answers could hold every thread.
    """

    max_body_bytes: int = 1_000_000
    page_size_default: int = 50
    page_size_max: int = 1000
    time_limit_default_s: float = 10.0
    time_limit_max_s: float = 60.0
    answer_cache_bytes: int = 8_000_000
    threads: int = 24
    slow_computing_max: int = 4
    slow_waiting_max: int = 12

    def __post_init__(self) -> None:
        """Keep threads free for quick answers."""
        if self.slow_computing_max < 1 or self.slow_computing_max + self.slow_waiting_max >= self.threads:
            raise ValueError("slow answers must leave at least one thread free")
