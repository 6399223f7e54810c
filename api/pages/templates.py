"""How templates are read: as Jinja compiles them, but what is put out stays plain text until the page is whole.

Jinja makes a `Markup` of every value it puts out, which costs more than all else of a page, and joins them at once.
"""

from __future__ import annotations

import re
from collections.abc import Callable, MutableMapping
from pathlib import Path
from typing import Any, Final

from jinja2 import Environment, FileSystemLoader, Template
from jinja2.compiler import CodeGenerator, Frame
from jinja2.nodes import Expr
from markupsafe import Markup, escape

__all__ = ["Templates", "put_out"]

_SPECIAL: Final = re.compile("[&<>\"']").search


def put_out(value: object) -> str:
    """Return a value as HTML: what is written as such stays, all else is escaped.

    Examples
    --------
    >>> put_out("A & B"), put_out(Markup("<b>")), put_out(3)
    (Markup('A &amp; B'), Markup('<b>'), Markup('3'))
    """
    if isinstance(value, Markup) or (type(value) is str and not _SPECIAL(value)):
        return value
    return escape(value)


class _PlainOutput(CodeGenerator):
    """Puts every value out by `put_out`, as `jinja2.nativetypes` puts them out by a way of its own."""

    def _output_child_pre(self, node: Expr, frame: Frame, finalize: CodeGenerator._FinalizeInfo) -> None:
        self.write("environment.put_out(")


class Templates(Environment):
    """The templates of a folder, read once, whose values are always escaped."""

    code_generator_class = _PlainOutput
    put_out: Callable[[object], str] = staticmethod(put_out)

    def __init__(self, room: Path, filters: dict[str, Callable[..., Any]], known: dict[str, Any]) -> None:
        super().__init__(loader=FileSystemLoader(room), autoescape=True, auto_reload=False)
        self._read: dict[str | Template, Template] = {}
        self.filters |= filters
        self.globals |= known

    def get_template(
        self, name: str | Template, parent: str | None = None, globals: MutableMapping[str, Any] | None = None
    ) -> Template:
        """Return a template; what was read before without Jinja's lock and its reference to the folder."""
        found = self._read.get(name)
        if found is None:
            found = self._read[name] = super().get_template(name, parent, globals)
        return found

    def make_globals(self, d: MutableMapping[str, Any] | None) -> MutableMapping[str, Any]:
        """Return what every template knows, read several times as fast as through Jinja's chain of mappings."""
        return {**self.globals, **(d or {})}
