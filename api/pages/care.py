"""What is to be known before an answer is used, as HTML: the cautions at the end of a page."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from markupsafe import Markup

from api.pages.cells import build_prose

__all__ = ["write_care"]


def write_care(lines: Sequence[str]) -> Markup:
    """Return the cautions of a page; nothing where there are none."""
    return _write(tuple(lines)) if lines else Markup()


# a question has the same ones on all its pages
@lru_cache(maxsize=256)
def _write(lines: tuple[str, ...]) -> Markup:
    told = "".join([f"<li>{build_prose(line)}</li>" for line in lines])
    return Markup(
        f'<aside class="care" aria-labelledby="care"><h2 id="care">Before you use this</h2><ul>{told}</ul></aside>'
    )
