"""A page before it is written: which template, what it shows, and in which style."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

__all__ = ["Page"]


@dataclass(frozen=True, slots=True)
class Page:
    """A template's name, the values it shows, and the files of its style."""

    template: str
    values: dict[str, Any]
    styles: tuple[str, ...]
