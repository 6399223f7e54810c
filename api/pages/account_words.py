"""What an account was made, in plain words: to its owner, and in a line for who administers it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Final
from urllib.parse import parse_qs, unquote, urlsplit

from api.access.accounts import Account, Grant
from api.access.actor import Role
from api.access.rights import Kind, Verb
from api.desk.names import Names
from api.questions import list_questions

__all__ = [
    "VERBS",
    "list_kinds",
    "list_rights",
    "tell_browser",
    "tell_grant",
    "tell_moment",
    "tell_page",
    "tell_state",
    "to_moment",
]

_READS: Final = "You see the framework: competencies, roles, courses."
_ROLES: Final = {
    Role.ARCHITECT: "You keep the framework, courses and teams. You see people by name for a stated purpose only.",
    Role.ADMINISTRATOR: "You look after accounts and rights. You see nobody's levels.",
}
#: What a token may do with what it sees: its word, what it is.
VERBS: Final = {
    "see": ("See", frozenset({Verb.SEE})),
    "change": ("See and change", frozenset({Verb.SEE, Verb.CHANGE})),
    "remove": ("See, change and remove", frozenset(Verb)),
}
#: What browsers call themselves, those first that also name another.
_BROWSERS: Final = {"Edg": "Edge", "Firefox/": "Firefox", "Chrome/": "Chrome", "Safari/": "Safari"}
_SYSTEMS: Final = {
    "Android": "Android",
    "iPhone": "iPhone",
    "iPad": "iPad",
    "Windows": "Windows",
    "Mac OS": "macOS",
    "Linux": "Linux",
}
_LONGEST_ABOUT: Final = 60
#: What is done with a browser alone.
_NOT_FOR_TOKENS: Final = frozenset({Kind.ADMINISTRATION, Kind.OWN_ACCOUNT, Kind.LOOKS, Kind.PURPOSES})


def list_rights(account: Account, names: Names) -> tuple[str, ...]:
    """Return what an account may, each a sentence to its owner."""
    return tuple(_iterate_rights(account, names))


def _iterate_rights(account: Account, names: Names) -> Iterator[str]:
    yield _READS
    if account.person:
        yield f"You are {names.person(account.person)}: you see what is kept about you, and where to from here."
    for grant in account.grants:
        if grant.role is Role.LEAD:
            below = " and the teams below it" if grant.with_below else ""
            yield f"You lead {names.team(grant.team)}{below}: you see its people and cover, and record levels."
        elif grant.role is Role.ASSESSOR:
            yield f"You assess {names.competency(grant.competency)} in {names.team(grant.team)}, nothing else there."
        elif grant.role in _ROLES:
            yield _ROLES[grant.role]


def tell_grant(grant: Grant, names: Names) -> str:
    """Return one right in a few words."""
    if grant.role is Role.LEAD:
        return f"leads {names.team(grant.team)}{' and below' if grant.with_below else ''}"
    if grant.role is Role.ASSESSOR:
        return f"assesses {names.competency(grant.competency)} in {names.team(grant.team)}"
    return str(grant.role.value)


def tell_state(account: Account) -> str:
    """Return how it stands with an account."""
    if account.is_ended:
        return "ended"
    if account.is_stopped:
        return "stopped: too many wrong passwords"
    return "can sign in" if account.has_password or account.has_provider else "invited"


def list_kinds() -> tuple[tuple[str, str], ...]:
    """Return what a token can be for: its name in a form, and its words."""
    return tuple((kind.name, kind.value) for kind in Kind if kind not in _NOT_FOR_TOKENS)


def to_moment(seconds: float) -> dt.datetime:
    """Return a moment from seconds since 1970."""
    return dt.datetime.fromtimestamp(seconds, dt.UTC)


def tell_browser(about: str) -> str:
    """Return what a browser says it is in the words of its owner (RFC 9110, section 10.1.5: tokens without order).

    Examples
    --------
    >>> tell_browser("Mozilla/5.0 (X11; Linux x86_64) (KHTML, like Gecko) Chrome/131.0 Safari/537.36")
    'Chrome on Linux'
    >>> tell_browser("curl/8.5"), tell_browser("")
    ('curl/8.5', 'a browser that does not say what it is')
    """
    name = next((word for token, word in _BROWSERS.items() if token in about), "")
    system = next((word for token, word in _SYSTEMS.items() if token in about), "")
    told = " on ".join(filter(None, (name, system))) if name else about[:_LONGEST_ABOUT]
    return told or "a browser that does not say what it is"


def tell_moment(moment: dt.datetime) -> str:
    """Return a moment as one writes it.

    Examples
    --------
    >>> tell_moment(dt.datetime(2026, 11, 4, 7, 5))
    '4 November 2026, 07:05 UTC'
    """
    return f"{moment.day} {moment:%B %Y, %H:%M} UTC"


def tell_page(address: str, names: Names) -> str:
    """Return what a page of a person is called, from its address."""
    parts = urlsplit(address)
    segment = parts.path.rsplit("/", 1)[1]
    titles = {
        question.segment: question.title
        for question in list_questions()
        for kind in question.asks
        if kind.value == "people"
    }
    title = titles.get(segment, segment.replace("-", " ")).rstrip(".")
    asked = parse_qs(parts.query)
    role = next((asked[name][0] for name in ("role", "to") if name in asked), "")
    return f"{title}: {names.role(unquote(role))}" if role else title
