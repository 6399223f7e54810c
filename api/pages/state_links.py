"""Pages of another state, or in another language: every link and every form that asks keeps asking so."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from html import escape, unescape
from typing import Final
from urllib.parse import urlencode

from api.desk.states import LANGUAGE
from ontology.model.tables import PERSONAL_TABLES

__all__ = ["PRESENT_REL", "StateBar", "keep_language", "keep_state"]

#: The relation of a link that leads to the present state and stays as it is (RFC 5829).
PRESENT_REL: Final = "latest-version"
_TAG: Final = re.compile(r"<(a|img|form|image|use)\b[^>]*>", re.IGNORECASE)
_ADDRESS: Final = re.compile(r"""(?<![\w-])((?:xlink:)?href|src)=(["'])(/(?!/)[^"'#]*)(#[^"']*)?\2""")
#: What is the same in every state, and what changes something: that is done to the present one.
_TIMELESS: Final = re.compile(
    r"/(?:(?:static|api/browse|edit|new|remove|retire|loads|assess|computing|(?:api/)?(?:drafts|releases))(?:/.*)?"
    r"|words|problems|api/openapi\.json|me|my-data)(?:\?.*)?"
)
#: Forms of what a draft may hold change the draft that is asked.
_PERSONAL: Final = "|".join(name.replace("_", "-") for name in sorted(PERSONAL_TABLES))
_IN_DRAFT: Final = re.compile(rf"/(?:edit|new|remove|retire)/(?!(?:{_PERSONAL})(?:[/?]|$)).*")
_NAMES_STATE: Final = re.compile(r"[?&;](?:as_of|draft)=")
#: What is in no language, or where it is a column: /translations?language=de are those into German.
_UNSPOKEN: Final = re.compile(
    r"/(?:static|api/browse|(?:(?:edit|new|remove)/)?(?:translations|framework/this))(?:[/?].*)?"
)
_NAMES_LANGUAGE: Final = re.compile(r"[?&;]language=")
_ACTION: Final = re.compile(r"""\b(action)=(["'])(/(?!/)[^"'#]*)(#[^"']*)?\2""")
_POST: Final = re.compile(r"""\bmethod=["']?post\b""", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class StateBar:
    """What stands above a page of another state: its words, what does not fit in it, and the present page's address.

    `draft` is the address of the draft that is shown, "" where none is.
    """

    words: str
    remarks: tuple[str, ...]
    present: str
    draft: str = ""


def keep_language(html: str, language: str) -> str:
    """Return a page whose links and forms name the language that the address asks for.

    Examples
    --------
    >>> keep_language('<form method="post" action="/assess"></form><a href="/words" hreflang="en">W</a>', "de")
    '<form method="post" action="/assess?language=de"></form><a href="/words" hreflang="en">W</a>'
    """
    added = escape(urlencode({LANGUAGE: language}))
    hidden = f'<input type="hidden" name="{LANGUAGE}" value="{escape(language)}">'

    def write_address(found: re.Match[str]) -> str:
        name, quote, address, place = found.groups()
        if _NAMES_LANGUAGE.search(address) or _UNSPOKEN.fullmatch(address):
            return found.group()
        return f"{name}={quote}{address}{'&amp;' if '?' in address else '?'}{added}{place or ''}{quote}"

    def write_tag(found: re.Match[str]) -> str:
        tag = found.group()
        if found.group(1).lower() != "form":
            return tag if "hreflang=" in tag else _ADDRESS.sub(write_address, tag)
        return _ACTION.sub(write_address, tag) if _POST.search(tag) else tag + hidden

    return _TAG.sub(write_tag, html)


def keep_state(html: str, asked: Mapping[str, str]) -> str:
    """Return a page whose links and asking forms name the state that is asked; of a draft, forms that change it, too.

    Parameters
    ----------
    html : str
        As the templates write it: attributes in quotes, addresses of this site beginning with a slash.
    asked : Mapping of parameter to text
        Left out where an address says it already.

    Examples
    --------
    >>> keep_state('<a href="/roles/a?on=x#b">A</a>', {"as_of": "1.2"})
    '<a href="/roles/a?on=x&amp;as_of=1.2#b">A</a>'
    """
    added = escape(urlencode(asked))
    hidden = "".join(f'<input type="hidden" name="{name}" value="{escape(text)}">' for name, text in asked.items())

    def write_address(found: re.Match[str]) -> str:
        name, quote, address, place = found.groups()
        is_of_draft = "draft" in asked and _IN_DRAFT.fullmatch(unescape(address))
        if _NAMES_STATE.search(address) or (_TIMELESS.fullmatch(address) and not is_of_draft):
            return found.group()
        return f"{name}={quote}{address}{'&amp;' if '?' in address else '?'}{added}{place or ''}{quote}"

    def write_tag(found: re.Match[str]) -> str:
        tag = found.group()
        if found.group(1).lower() == "form" and _POST.search(tag):
            action = _ACTION.search(tag)
            return _ACTION.sub(write_address, tag) if action and _IN_DRAFT.fullmatch(unescape(action[3])) else tag
        if found.group(1).lower() == "form":
            return tag + hidden
        return tag if f'rel="{PRESENT_REL}"' in tag else _ADDRESS.sub(write_address, tag)

    return _TAG.sub(write_tag, html)
