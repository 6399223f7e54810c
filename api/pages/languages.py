"""Languages on a page: in which else names can be read, and which of its texts are in which.

What a page says itself is in English; names and descriptions of records are in the language that is read, or, where
they are not translated, in the main one. A text in another language says so (WCAG 2.2, success criterion 3.1.2).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from html import escape, unescape
from typing import Final, NamedTuple
from urllib.parse import quote, quote_plus

from api.desk.language_words import name_language
from api.desk.states import LANGUAGE
from api.desk.text_languages import TextLanguages
from api.pages.addresses import build_query
from api.pictures.languages import mark_picture

__all__ = ["Choice", "LanguageLink", "build_choice", "mark_texts"]

#: What holds no text that a reader reads in the page, or none that could be marked; then a text between tags.
_TEXT: Final = re.compile(
    r"<(svg|title|option|select|script|style|textarea|datalist)\b.*?</\1>|(?<=>)([^<>]+)(?=<)", re.DOTALL
)


class LanguageLink(NamedTuple):
    """A language that names can be read in: its tag, what it is called in itself, and the page in it."""

    tag: str
    words: str
    address: str
    is_read: bool


class Choice(NamedTuple):
    """The languages that a page can be read in, the main one first."""

    links: tuple[LanguageLink, ...]


def build_choice(
    path: str, asked: Iterable[tuple[str, str]], main: str, others: Iterable[str], language: str
) -> Choice:
    """Return the languages of a page.

    Parameters
    ----------
    path : str
        Of the page, not encoded.
    asked : iterable of (name, text)
        What its address asks.
    main, others : tags
    language : the one that is read
    """
    rest = build_query([(name, text) for name, text in asked if name != LANGUAGE])
    begun = f"{quote(path, safe='/~')}?{rest}{'&' if rest else ''}{LANGUAGE}="

    def link(tag: str) -> LanguageLink:
        return LanguageLink(tag, name_language(tag), f"{begun}{quote_plus(tag)}", tag == language)

    return Choice(tuple([link(tag) for tag in (main, *others)]))


def mark_texts(html: str, languages: TextLanguages) -> str:
    """Return a page on which every text of a record says in which language it is.

    Parameters
    ----------
    html : str
        As the templates write it.
    languages : TextLanguages
        A text between two tags that is one of these is marked, names within a sentence of ours are; in pictures too.

    Examples
    --------
    >>> told = TextLanguages({"Pumpe": "de", "On & off": "en"}, {"Pumpe": "de"})
    >>> mark_texts('<title>Pumpe</title><a>Pumpe</a>, <b>On &amp; off</b>', told)
    '<title>Pumpe</title><a><span lang="de">Pumpe</span></a>, <b><span lang="en">On &amp; off</span></b>'
    >>> mark_texts("<p>1 &lt; 2: Pumpe.</p>", told)
    '<p>1 &lt; 2: <span lang="de">Pumpe</span>.</p>'
    """

    def write(found: re.Match[str]) -> str:
        text = found.group(2)
        if text is None:
            return mark_picture(found.group(), languages) if found.group(1) == "svg" else found.group()
        bare = text.strip()
        tag = languages.tell(unescape(bare)) if bare else None
        if tag is not None:
            start = text.index(bare)
            return f"{text[:start]}{_mark(bare, tag)}{text[start + len(bare) :]}"
        pieces = languages.split(unescape(text)) if bare else []
        if not any(tag for _, tag in pieces):
            return text
        return "".join(_mark(escape(piece, quote=False), tag) for piece, tag in pieces)

    return _TEXT.sub(write, html)


def _mark(written: str, tag: str | None) -> str:
    return f'<span lang="{escape(tag)}">{written}</span>' if tag else written
