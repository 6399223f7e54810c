"""What the N-Triples text of a literal says: its value and its language."""

from __future__ import annotations

import re
from typing import Final

__all__ = ["LITERAL", "get_language", "get_plain_value", "has_language", "is_language_tag", "unescape"]

LITERAL: Final = re.compile(r'"((?:[^"\\]|\\.)*)"(?:@([A-Za-z0-9-]+)|\^\^<([^>]*)>)?', re.DOTALL)
_ESCAPE: Final = re.compile(r"\\(?:u([0-9A-Fa-f]{4})|U([0-9A-Fa-f]{8})|(.))", re.DOTALL)
_ESCAPED: Final = {"n": "\n", "r": "\r", "t": "\t", "b": "\b", "f": "\f", '"': '"', "'": "'", "\\": "\\"}
_LANGUAGE_TAG: Final = re.compile(
    r"(?:[a-z]{2,3}(?:-[a-z]{3}){0,3}|[a-z]{4,8})(?:-[a-z]{4})?(?:-(?:[a-z]{2}|[0-9]{3}))?"
    r"(?:-(?:[a-z0-9]{5,8}|[0-9][a-z0-9]{3}))*(?:-[a-wy-z0-9](?:-[a-z0-9]{2,8})+)*(?:-x(?:-[a-z0-9]{1,8})+)?"
    r"|x(?:-[a-z0-9]{1,8})+",
    re.IGNORECASE,
)


def get_plain_value(text: str) -> str:
    """Return an IRI without its brackets, a literal's lexical form, or the text itself."""
    if text.startswith("<"):
        return text[1:-1]
    match = LITERAL.fullmatch(text)
    return unescape(match.group(1)) if match else text


def get_language(text: str) -> str:
    """Return the language tag of a literal's text in lower case, or the empty string."""
    match = LITERAL.fullmatch(text)
    return (match.group(2) or "").lower() if match else ""


def unescape(lexical: str) -> str:
    """Return the characters an escaped N-Triples string stands for."""
    if "\\" not in lexical:
        return lexical
    return _ESCAPE.sub(_unescape_one, lexical)


def _unescape_one(match: re.Match[str]) -> str:
    short, long, single = match.groups()
    if single is not None:
        return _ESCAPED.get(single, single)
    return chr(int(short or long, 16))


def is_language_tag(text: str) -> bool:
    """Whether this is a well-formed language tag (RFC 5646)."""
    return _LANGUAGE_TAG.fullmatch(text) is not None


def has_language(text: str) -> bool:
    """Whether the text of a term is that of a literal with a language: faster than asking for which."""
    return text.startswith('"') and not text.endswith(('"', ">"))
