"""Several values as one text, with a bar between them, and back."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

__all__ = ["join_values", "split_values"]

#: Several values stand between bars; a bar that belongs to a value has a backslash before it.
_PARTS: Final = re.compile(r"((?:[^\\|]|\\.|\\\Z)*)(?:\||\Z)", re.DOTALL)


def join_values(values: Iterable[str]) -> str:
    """Return several values as the text of one cell.

    Examples
    --------
    >>> join_values(("a", "b")), join_values(("either|or",))
    ('a|b', 'either\\\\|or')
    """
    return "|".join(re.sub(r"\\(?=[\\|]|\Z)", r"\\\\", value).replace("|", r"\|") for value in values)


def split_values(text: str) -> list[str]:
    """Return the values of a cell in the order of their texts, each once; the reverse of `join_values`."""
    if "\\" in text:
        pieces = [re.sub(r"\\([\\|])", r"\1", match[1]) for match in _PARTS.finditer(text)]
    else:
        pieces = text.split("|")
    return sorted({part for part in (piece.strip() for piece in pieces) if part})
