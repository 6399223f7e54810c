"""What is left open in a question, filled in, and what is asked kept within the settings."""

from __future__ import annotations

import dataclasses
import datetime as dt
from typing import Any

from api.desk.parameters import TODAY, USUAL_SIZE, USUAL_TIME, Asks
from api.errors import ParameterError, WrongParameter
from api.settings import Settings


def complete(asked: Asks, today: dt.date, settings: Settings) -> Asks:
    """Return what is asked with today, the usual time and page size, and the least size of a group filled in.

    Raises
    ------
    ParameterError
        A time limit or page size is above what the settings allow, or a group below it.
    """
    open_parts: dict[str, Any] = {}
    if getattr(asked, "on", None) == TODAY:
        open_parts["on"] = today
    size = getattr(asked, "page_size", None)
    if size == USUAL_SIZE:
        open_parts["page_size"] = settings.page_size_default
    elif size is not None and size > settings.page_size_max:
        raise ParameterError(WrongParameter("page_size", str(size), f"must be at most {settings.page_size_max}"))
    least = getattr(asked, "least_people", settings.small_group)
    if least is None:
        open_parts["least_people"] = settings.small_group
    elif least < settings.small_group:
        raise ParameterError(WrongParameter("least_people", str(least), f"must be at least {settings.small_group}"))
    limit = getattr(asked, "time_limit_s", None)
    if limit == USUAL_TIME:
        open_parts["time_limit_s"] = settings.time_limit_default_s
    elif limit is not None and limit > settings.time_limit_max_s:
        reason = f"must be at most {settings.time_limit_max_s:g} seconds"
        raise ParameterError(WrongParameter("time_limit", f"{limit:g}", reason))
    return dataclasses.replace(asked, **open_parts) if open_parts else asked
