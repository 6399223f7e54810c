"""How text looks where this command prints: as wide as the window, in colours where it has them."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from typing import Final

#: Columns where there is no window.
WIDTH: Final = 100


@dataclass(frozen=True, slots=True)
class Look:
    """Columns, colours (one of rich's colour systems, or None for neither colours nor styles), styles alone."""

    width: int
    colours: str | None
    is_plain: bool


def find_look() -> Look:
    """Return how the standard output looks."""
    if not sys.stdout.isatty():
        return Look(WIDTH, None, False)
    from rich.console import Console

    console = Console()
    return Look(console.width, console.color_system, console.no_color)
