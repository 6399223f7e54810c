"""Texts as people compare them: case, accents and blanks make no difference."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

#: Letters that decompose into no base letter and a mark, and what stands for them.
_LETTERS: Final = str.maketrans({"ø": "o", "đ": "d", "ł": "l", "ħ": "h", "ı": "i", "æ": "ae", "œ": "oe", "þ": "th"})
_WORD: Final = re.compile(r"[^\W_]+")


def fold(text: str) -> str:
    """Return a text without case, accents and surplus blanks (Unicode default case folding, NFKD without marks).

    Examples
    --------
    >>> fold("  José  ŁUKA ")
    'jose luka'
    """
    if text.isascii():
        return " ".join(text.lower().split())
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(character for character in decomposed if not unicodedata.combining(character))
    return " ".join(bare.casefold().translate(_LETTERS).split())


def split_words(text: str) -> list[str]:
    """Return the folded words of a text, in their order: what stands between signs and blanks.

    Examples
    --------
    >>> split_words("Leak-location (acoustic)")
    ['leak', 'location', 'acoustic']
    """
    return _WORD.findall(fold(text))
