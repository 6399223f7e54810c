"""How text looks where this command prints: as wide as the window, in colours where it has them."""

from __future__ import annotations

import sys
from typing import Any

from api.terminal.call import Call


def build_call(question: str, *, as_json: bool = False, **said: Any) -> Call:
    """Return what this command asks, its answer to look as the standard output does; what is None was not said."""
    look: dict[str, Any] = {"form": "json"} if as_json else {}
    if sys.stdout.isatty():
        from rich.console import Console

        console = Console()
        look |= {"width": console.width, "colours": console.color_system, "is_plain": console.no_color}
    return Call(question=question, **look | {name: value for name, value in said.items() if value is not None})
