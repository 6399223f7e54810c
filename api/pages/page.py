"""A page before it is written: which template, what it shows, where in the site it stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal, NamedTuple

__all__ = ["WAYS", "Link", "Page", "Way"]

#: The three ways in: what one comes to do, and where that begins.
Way = Literal["framework", "stand", "cover", ""]
WAYS: Final[Mapping[Way, tuple[str, str]]] = {
    "framework": ("Framework", "/framework"),
    "stand": ("Where I stand", "/me"),
    "cover": ("Team cover", "/teams"),
}


class Link(NamedTuple):
    """Words that lead somewhere: a step on the way to a page, an act, all of a list."""

    words: str
    address: str


@dataclass(frozen=True, slots=True)
class Page:
    """A template's name and the values it shows.

    `styles` are files of `static/`; `way` is the way in that the page belongs to, `trail` what stands above it, the
    outermost first. What is private is kept by no browser: whoever sits down next could leaf back to it.
    """

    template: str
    values: Mapping[str, Any]
    styles: tuple[str, ...] = ("newel.css",)
    way: Way = ""
    trail: tuple[Link, ...] = ()
    is_private: bool = True
