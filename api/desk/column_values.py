"""The value of a column from a text: what a filter of a list asks for, and what is typed into a form."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from api.desk.kinds import parse_choice, parse_date, parse_flag, parse_number, parse_whole
from ontology.model.columns import Column

_PARSERS: Final[Mapping[str, Callable[[str], Any]]] = {
    "integer": parse_whole,
    "number": parse_number,
    "flag": parse_flag,
    "date": parse_date,
}


def parse_value(column: Column, text: str) -> Any:
    """Return the value of a column from the text of an address or of a form; None where it is empty. ValueError."""
    parse = _PARSERS.get(column.kind)
    if parse is not None:
        return parse(text) if text else None
    return parse_choice(text, column.choices) if column.kind == "choice" and text else text
