"""A picture in a page: drawn as SVG inside it, so that its links lead on, with its other forms beside it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from api.pages.addresses import add_form
from ontology.errors import NewelError, ProgramMissingError

__all__ = ["Figure", "build_figure"]

_MISSING: Final = "Pictures need the Graphviz program dot, which is not installed here."
_LEFT_OUT: Final = "This picture could not be drawn."


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture: its SVG ("" where it could not be drawn, `missing` says why), what it shows, its other addresses."""

    svg: Markup
    words: str
    paper: str
    png: str
    dot: str
    missing: str = ""


def build_figure(address: str, words: str, draw: Callable[[], bytes]) -> Figure:
    """Return a picture; `address` is that of the picture alone, `draw` makes its SVG."""
    svg, missing = Markup(""), ""
    try:
        svg = embed(draw())
    except ProgramMissingError:
        missing = _MISSING
    except NewelError:
        missing = _LEFT_OUT
    paper = f"{address}{'&' if '?' in address else '?'}layout=paper"
    return Figure(svg, words, paper, add_form(address, "png"), add_form(address, "dot"), missing)


def embed(svg: bytes) -> Markup:
    """Return an SVG document as an element of a page: without what stands before its root."""
    # drawn by Graphviz from texts that were escaped on the way in (api.pictures.text)
    return Markup(svg[svg.index(b"<svg") :].decode())
