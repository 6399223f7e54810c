"""What can be set from outside: sizes and times, each described once. Imports nothing of ours.

A setting comes from an option of `newel serve`, else from the variable NEWEL_ and its name, else it has its default.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, cast

__all__ = ["PREFIX", "Setting", "Settings", "list_settings", "read_settings"]

#: Of the names of variables.
PREFIX: Final = "NEWEL_"


def _setting(default: float, about: str, unit: str) -> Any:
    return dataclasses.field(default=default, metadata={"about": about, "unit": unit})


@dataclass(frozen=True, slots=True)
class Settings:
    """Limits of the service.

    Raises
    ------
    ValueError
        Slow answers could hold every thread, or a default lies above its maximum.
    """

    max_body_bytes: int = _setting(1_000_000, "Largest request body; larger ones get 413.", "bytes")
    page_size_default: int = _setting(50, "Records on one page of a list, where nothing is asked.", "records")
    page_size_max: int = _setting(1000, "Records on one page of a list, at the most.", "records")
    time_limit_default_s: float = _setting(10.0, "How long a slow answer may compute, where nothing is asked.", "s")
    time_limit_max_s: float = _setting(60.0, "How long a slow answer may compute, at the most.", "s")
    answer_cache_bytes: int = _setting(8_000_000, "Answers kept for who asks the same again; 0 keeps none.", "bytes")
    threads: int = _setting(24, "Requests answered side by side.", "threads")
    slow_computing_max: int = _setting(4, "Slow answers that compute at once.", "answers")
    slow_waiting_max: int = _setting(12, "Slow answers that may wait for their turn; further ones get 503.", "answers")

    def __post_init__(self) -> None:
        """Keep threads free for quick answers, and defaults within their limits."""
        if self.slow_computing_max < 1 or self.slow_computing_max + self.slow_waiting_max >= self.threads:
            raise ValueError("slow answers must leave at least one thread free")
        if not 0 < self.time_limit_default_s <= self.time_limit_max_s:
            raise ValueError("the default time limit must be above 0 and at most the maximum")
        if not 0 < self.page_size_default <= self.page_size_max:
            raise ValueError("the default page size must be above 0 and at most the maximum")


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting as it is shown: its name, variable, kind, default, unit and sentence."""

    name: str
    variable: str
    kind: type[int] | type[float]
    default: float
    unit: str
    about: str


def list_settings() -> tuple[Setting, ...]:
    """Return every setting in the order of the class."""
    return tuple(
        Setting(
            name=field.name,
            variable=PREFIX + field.name.upper(),
            kind=float if field.type in (float, "float") else int,
            default=cast(float, field.default),
            unit=field.metadata["unit"],
            about=field.metadata["about"],
        )
        for field in dataclasses.fields(Settings)
    )


def read_settings(environ: Mapping[str, str], given: Mapping[str, float | None] | None = None) -> Settings:
    """Return the settings: what is given, else what the variables say, else the defaults.

    Raises
    ------
    ValueError
        A value is no number of its kind, or the values do not go together; it names the setting.
    """
    values: dict[str, Any] = {}
    for setting in list_settings():
        value = (given or {}).get(setting.name)
        text = environ.get(setting.variable)
        if value is None and text:
            try:
                value = setting.kind(text)
            except ValueError:
                kind = "a whole number" if setting.kind is int else "a number"
                raise ValueError(f"{setting.variable} must be {kind}, not {text!r}") from None
        if value is not None:
            values[setting.name] = value
    return Settings(**values)
