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
    """

    max_body_bytes: int = 1_000_000
    page_size_default: int = 50
    page_size_max: int = 1000
    time_limit_default_s: float = 10.0
    time_limit_max_s: float = 60.0
