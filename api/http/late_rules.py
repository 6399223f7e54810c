"""Rules of addresses that learn to write an address when one is first asked for: of most, none ever is.

Making all of them ready is most of the time that an application takes to start, and a test makes many.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from werkzeug.routing import Rule


class LateRule(Rule):
    """A rule as Werkzeug makes it, but for the function that writes an address."""

    def _compile_builder(self, append_unknown: bool = True) -> Callable[..., tuple[str, str]]:
        made: list[Callable[..., tuple[str, str]]] = []

        def build(rule: LateRule, **values: Any) -> tuple[str, str]:
            if not made:
                made.append(super()._compile_builder(append_unknown))
            return made[0](rule, **values)

        return build
