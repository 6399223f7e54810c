"""Texts of a picture in another language than its own say in which (SVG 1.1, 5.10.1: xml:lang)."""

from __future__ import annotations

import re
from html import escape, unescape
from typing import Final

from api.desk.text_languages import TextLanguages

__all__ = ["mark_picture"]

_TEXT: Final = re.compile(r"<text\b([^<>]*)>([^<]*)</text>")
#: Lines that one text may take.
_LINES: Final = 8


def mark_picture(svg: str, languages: TextLanguages) -> str:
    """Return a picture on which every text of a record says in which language it is, and every name within another.

    A text may stand in several lines, one behind the other.

    Examples
    --------
    >>> texts = TextLanguages({"Rohr legen": "de"}, {"Rohr": "de"})
    >>> mark_picture('<svg><text x="1">Rohr</text><text x="1">legen</text></svg>', texts)
    '<svg><text xml:lang="de" x="1">Rohr</text><text xml:lang="de" x="1">legen</text></svg>'
    >>> mark_picture("<svg><text>1 Rohr</text></svg>", texts)
    '<svg><text>1 <tspan xml:lang="de">Rohr</tspan></text></svg>'
    """
    drawn = list(_TEXT.finditer(svg))
    told = [unescape(text[2]).strip() for text in drawn]
    written: list[str] = []
    end = place = 0
    while place < len(drawn):
        size, tag = _find_lines(svg, drawn, told, place, languages)
        for text in drawn[place : place + size]:
            written.append(svg[end : text.start()])
            written.append(
                f'<text xml:lang="{escape(tag)}"{text[1]}>{text[2]}</text>' if tag else _mark_names(text, languages)
            )
            end = text.end()
        place += size
    return "".join((*written, svg[end:]))


def _find_lines(
    svg: str, drawn: list[re.Match[str]], told: list[str], place: int, languages: TextLanguages
) -> tuple[int, str | None]:
    """Return of how many lines the longest text is that begins at a place, and its language; one line where none is."""
    last = place
    while last + 1 < min(len(drawn), place + _LINES) and not svg[drawn[last].end() : drawn[last + 1].start()].strip():
        last += 1
    for behind in range(last + 1, place, -1):
        tag = languages.tell_lines(told[place:behind])
        if tag is not None:
            return behind - place, tag
    return 1, None


def _mark_names(text: re.Match[str], languages: TextLanguages) -> str:
    pieces = languages.split(unescape(text[2]))
    if not any(tag for _, tag in pieces):
        return text[0]
    inside = "".join(
        f'<tspan xml:lang="{escape(tag)}">{escape(piece, quote=False)}</tspan>' if tag else escape(piece, quote=False)
        for piece, tag in pieces
    )
    return f"<text{text[1]}>{inside}</text>"
