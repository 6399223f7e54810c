"""Facts in a row below the first sentence of a page, as HTML: each a name, and lines of cells and links."""

from __future__ import annotations

from collections.abc import Iterable

from markupsafe import Markup

from api.desk.sheet import Cell
from api.pages.cells import build_cell
from api.pages.framework_parts import Fact
from api.pages.page import Link
from api.pages.templates import put_out

__all__ = ["write_facts"]


def write_facts(facts: Iterable[Fact]) -> Markup:
    """Return the facts, those of a record of the framework."""
    return Markup(f'<dl class="facts">{"".join(map(_build_fact, facts))}</dl>')


def _build_fact(fact: Fact) -> str:
    lines = "".join([f"<dd>{''.join(map(_build_piece, line))}</dd>" for line in fact.lines])
    return f"<div><dt>{put_out(fact.name)}</dt>{lines}</div>"


def _build_piece(piece: Cell | Link) -> str:
    if isinstance(piece, Link):
        return f'<a href="{put_out(piece.address)}">{put_out(piece.words)}</a>'
    return build_cell(piece, has_unit=False, is_linked=True)
