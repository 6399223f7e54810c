"""Words of a sentence that stand out."""

from __future__ import annotations

from collections.abc import Iterable

from markupsafe import Markup, escape

__all__ = ["stress"]


def stress(text: str, phrases: Iterable[str]) -> Markup:
    """Return a sentence with the first place of each phrase in strong letters.

    Examples
    --------
    >>> str(stress("1 of 1 that blocks & 7 of 7", ["7 of 7", "1 of 1", "no"]))
    '<strong>1 of 1</strong> that blocks &amp; <strong>7 of 7</strong>'
    """
    found = sorted((text.find(phrase), phrase) for phrase in phrases if phrase and phrase in text)
    parts, at = [], 0
    for begin, phrase in found:
        if begin >= at:
            parts.append(f"{escape(text[at:begin])}<strong>{escape(phrase)}</strong>")
            at = begin + len(phrase)
    return Markup("".join([*parts, escape(text[at:])]))
